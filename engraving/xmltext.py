"""XML text to tree and back: reads nothing but the text itself, and writes it back as it was declared.

No entity is expanded, no DTD is loaded and nothing is fetched. The XML declaration, the DOCTYPE, comments,
processing instructions and the encoding are kept.
"""

from __future__ import annotations

import codecs
import re
from typing import Any

from lxml import etree

from engraving.errors import ScoreFileError

_UTF8 = "UTF-8"
_BYTE_ORDER_MARKS = (codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_DECLARATION = "<?xml"
_COLUMN = re.compile(r", line \d+, column \d+.*$")


def looks_like_xml(data: bytes) -> bool:
    """Whether the bytes begin as XML does: a ``<`` after blanks and a byte order mark."""
    return _head(data).startswith("<")


def parse_xml(data: bytes, name: str) -> etree._ElementTree:
    """The tree of an XML text; ScoreFileError when it is empty, not well-formed or declares entities of its own."""
    if not data.strip():
        raise ScoreFileError(f"{name} is empty")
    parser = etree.XMLParser(resolve_entities=False, load_dtd=False, no_network=True, huge_tree=False)
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise ScoreFileError(f"{name} is not readable XML: line {error.lineno or 1}: {_reason(error)}") from error
    tree = root.getroottree()
    if _declares_entities(tree):
        raise ScoreFileError(f"{name} declares XML entities of its own, which are not expanded here for safety")
    return tree


def xml_bytes(tree: etree._ElementTree, *, declared: bool) -> bytes:
    """The tree as bytes in its own encoding, with its DOCTYPE, and with an XML declaration if ``declared``."""
    encoding = tree.docinfo.encoding or _UTF8
    standalone = tree.docinfo.standalone
    # Any mention of standalone makes lxml write a declaration, so it is named only where the file had it.
    wish: dict[str, Any] = {"standalone": standalone} if declared and standalone is not None else {}
    text: Any = etree.tostring(tree, encoding=encoding, xml_declaration=declared, **wish)
    return bytes(text)


def has_declaration(data: bytes) -> bool:
    """Whether the XML text begins with an XML declaration."""
    return _head(data).startswith(_DECLARATION)


def _head(data: bytes) -> str:
    """The first characters of a text in any encoding XML begins in, as far as plain letters tell it."""
    start = data[:256]
    for mark in _BYTE_ORDER_MARKS:
        start = start.removeprefix(mark)
    return start.replace(b"\0", b"").lstrip().decode("latin-1")


def _declares_entities(tree: etree._ElementTree) -> bool:
    dtd: Any = tree.docinfo.internalDTD
    return dtd is not None and next(dtd.iterentities(), None) is not None


def _reason(error: etree.XMLSyntaxError) -> str:
    return _COLUMN.sub("", error.msg or "the text ends too early")
