"""MusicXML that breaks off or is damaged: as far as its measures are whole."""

from __future__ import annotations

import io
from contextlib import suppress

from lxml import etree

from analysis.language import _
from engraving.errors import ScoreFileError
from engraving.limits import LIMITS, Limits
from engraving.xmltext import check_markup


def torn_score(data: bytes, name: str, limits: Limits = LIMITS) -> bytes:
    """The MusicXML text up to the last measure before the first fault, in UTF-8.

    ScoreFileError where not a single measure is whole, and for more elements than the limits allow.
    """
    check_markup(data, name, limits)
    root, whole = None, list[etree._Element]()
    events = etree.iterparse(
        io.BytesIO(data), events=("start", "end"), resolve_entities=False, load_dtd=False, no_network=True
    )
    with suppress(etree.XMLSyntaxError):  # here it breaks off, and what was read until then is wanted
        for event, element in events:
            if root is None:
                root = element
            if event == "end" and element.tag == "measure":
                whole.append(element)
    if root is None or not whole:
        raise ScoreFileError(_("{name} breaks off before its first measure ends").format(name=name))
    _cut_after(whole[-1], root)
    return etree.tostring(root, encoding="UTF-8", xml_declaration=True)


def _cut_after(last: etree._Element, root: etree._Element) -> None:
    """Take out all that follows an element anywhere below the root."""
    here = last
    while here is not root:
        parent = here.getparent()
        if parent is None:
            return
        for follower in list(here.itersiblings()):
            parent.remove(follower)
        here.tail, here = None, parent
