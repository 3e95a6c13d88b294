"""Changes of clef at a new time signature, which the engraver draws within the measure before.

It looks for the place of such a clef by the length of the new measure, and the notes behind that place are read by the
wrong clef where the measure before is longer. At the end of that measure, where it is printed anyway, it stands right.
"""

from __future__ import annotations

from itertools import pairwise

from lxml import etree

_OTHER_VOICES = ("backup", "forward")


def put_clefs_before_times(part: etree._Element) -> None:
    """Move such clefs of a copied ``<part>`` to the end of the measure before, where it has one voice.

    After a lone note or rest there is no wrong place, and a measure of rest stays one that can be gathered.
    """
    for before, measure in pairwise(part.findall("measure")):
        opening = measure.find("attributes")
        if opening is None or opening.find("time") is None or list(opening.itersiblings("note", preceding=True)):
            continue
        clefs, notes = opening.findall("clef"), before.findall("note")
        if len(clefs) == 1 and len(notes) > 1 and all(before.find(tag) is None for tag in _OTHER_VOICES):
            closing = etree.Element("attributes")
            closing.append(clefs[0])
            notes[-1].addnext(closing)
