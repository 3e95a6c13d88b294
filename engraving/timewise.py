"""Scores ordered by measures (``score-timewise``) put into the order by parts that everything else reads.

MusicXML 4.0 has both orders with the same content: in one a measure holds the parts, in the other a part the measures.
"""

from __future__ import annotations

from typing import Any

from lxml import etree

from analysis.language import _
from engraving.errors import ScoreFileError


def partwise(tree: etree._ElementTree, name: str) -> bytes:
    """The same score as ``score-partwise`` text; a measure that a part has no share in becomes an empty one.

    ScoreFileError when a measure holds a part twice, or one without an id.
    """
    old = tree.getroot()
    score = etree.Element("score-partwise", _attributes(old))
    measures = list(old.iterfind("measure"))
    score.extend([child for child in old if child.tag != "measure"])
    ids = list(dict.fromkeys(part.get("id") for measure in measures for part in measure.iterfind("part")))
    parts = {part_id: etree.SubElement(score, "part", {} if part_id is None else {"id": part_id}) for part_id in ids}
    for number, measure in enumerate(measures, start=1):
        shares: dict[str | None, etree._Element] = {}
        for share in measure.iterfind("part"):
            if share.get("id") in shares:
                label = measure.get("number", str(number))
                raise ScoreFileError(
                    _("{name}, measure {label}: two parts share the id {part_id}").format(
                        name=name, label=label, part_id=share.get("id")
                    )
                )
            shares[share.get("id")] = share
        for place, (part_id, part) in enumerate(parts.items()):
            twin = etree.SubElement(part, "measure", _attributes(measure))
            if place:
                twin.attrib.pop("id", "")  # an id is one element's own
            if part_id in shares:
                twin.extend(list(shares[part_id]))
    text: Any = etree.tostring(score, encoding=tree.docinfo.encoding or "UTF-8", xml_declaration=True)
    return bytes(text)


def _attributes(element: etree._Element) -> dict[str, str]:
    return {str(name): str(value) for name, value in element.attrib.items()}
