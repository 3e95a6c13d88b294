"""XML text to tree and back: reads nothing but the text itself, and writes it back as it was declared.

No entity is expanded, no DTD is loaded and nothing is fetched. The XML declaration, the DOCTYPE, comments,
processing instructions and the encoding are kept.
"""

from __future__ import annotations

import codecs
import re
from typing import Any

from lxml import etree

from analysis.language import _
from engraving.errors import ScoreFileError
from engraving.limits import LIMITS, Limits

_UTF8 = "UTF-8"
_UNTOLD = ("UTF-7", "UTF-32", "UCS-4", "ISO-10646-UCS-4")
_SHORT_MARKS = (codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_BYTE_ORDER_MARKS = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE, *_SHORT_MARKS)
# Not the longer ones: the zeros in them are no blanks.
_BLANK = b" \t\r\n" + b"".join(_SHORT_MARKS)
_DECLARATION = "<?xml"
_DECLARES_UTF_16 = re.compile(rb"""<\?xml[^>]*\sencoding\s*=\s*["']utf-?16""", re.IGNORECASE)
# What libxml2 adds to its messages for programmers.
_ASIDES = re.compile(r",? (?:use|see|try) \w*(?:XML_|xml)\w+.*$|, line \d+, column \d+.*$", re.DOTALL)


def looks_like_xml(data: bytes) -> bool:
    """Whether the bytes begin as XML does: a ``<`` after blanks and a byte order mark."""
    return _head(data).startswith("<")


def is_blank(data: bytes) -> bool:
    """Whether there is nothing in the bytes but blanks and a byte order mark."""
    return not data.strip(_BLANK)


def parse_xml(data: bytes, name: str, limits: Limits = LIMITS) -> etree._ElementTree:
    """The tree of an XML text; ScoreFileError when it is empty, not well-formed, too much or declares entities."""
    if is_blank(data):
        raise ScoreFileError(_("{name} is empty").format(name=name))
    check_markup(data, name, limits)
    parser = etree.XMLParser(
        encoding=_undeclared_encoding(data), resolve_entities=False, load_dtd=False, no_network=True, huge_tree=False
    )
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        # What libxml2 itself puts an end to: entities that grow beyond measure or hold themselves, and its own depth.
        if "ntity" in (error.msg or "") and any(word in error.msg for word in ("amplification", "loop")):
            raise _own_entities(name) from error
        if "Excessive depth" in (error.msg or ""):
            raise _too_deep(name, limits) from error
        raise ScoreFileError(
            _("{name} is not readable XML: line {line}: {why}").format(
                name=name, line=error.lineno or 1, why=_reason(error)
            )
        ) from error
    tree = root.getroottree()
    if _declares_entities(tree):
        raise _own_entities(name)
    if tree.xpath("boolean(" + "/*" * (limits.depth + 1) + ")"):
        raise _too_deep(name, limits)
    return tree


def check_markup(data: bytes, name: str, limits: Limits) -> None:
    """ScoreFileError for a text of so many tags and attributes that their tree would fill the memory."""
    if data.count(b"<") + data.count(b"=") > limits.markup:
        raise ScoreFileError(_("{name} holds more elements than any score").format(name=name))


def xml_bytes(tree: etree._ElementTree, *, declared: bool) -> bytes:
    """The tree as bytes in its own encoding, with its DOCTYPE, and with an XML declaration if ``declared``.

    UTF-8 stands in for encodings by which a text cannot be told to be XML (XML 1.0, appendix F).
    """
    encoding = tree.docinfo.encoding or _UTF8
    if encoding.upper().startswith(_UNTOLD):
        encoding = _UTF8
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


def _undeclared_encoding(data: bytes) -> str | None:
    """The encoding of a text that does not declare it, or declares another; ``None`` where XML's own rules find it.

    UTF-16 needs a byte order mark by the rules. A text without a zero in it is none, whatever its declaration says.
    """
    start = data[:256]
    if start.startswith(b"<\0") and not start.startswith(b"<\0\0\0"):
        return "UTF-16LE"
    if start.startswith(b"\0<"):
        return "UTF-16BE"
    return _UTF8 if _DECLARES_UTF_16.match(start) else None


def _own_entities(name: str) -> ScoreFileError:
    return ScoreFileError(
        _("{name} declares XML entities of its own, which are not expanded here for safety").format(name=name)
    )


def _too_deep(name: str, limits: Limits) -> ScoreFileError:
    return ScoreFileError(
        _("{name} nests its elements more than {depth} deep, which no score does").format(name=name, depth=limits.depth)
    )


def _declares_entities(tree: etree._ElementTree) -> bool:
    dtd: Any = tree.docinfo.internalDTD
    return dtd is not None and next(dtd.iterentities(), None) is not None


def _reason(error: etree.XMLSyntaxError) -> str:
    return " ".join(_ASIDES.sub("", error.msg or "").split()) or _("the text ends too early")
