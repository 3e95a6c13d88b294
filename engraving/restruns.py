"""Runs of empty measures, gathered into one long rest as in any printed part.

The id of a measure element becomes ``measure.FIRST.LAST`` (indices in the part, counted from 0), so that the
engraved page can tell how many measures a long rest stands for.
"""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

_UNSEEN = {"sound", "listening", "grouping"}
_LONG_RESTS_FROM = 2


def measure_id(first: int, last: int) -> str:
    """The id of the measure element that stands for measures ``first`` to ``last``."""
    return f"measure.{first}.{last}"


def measure_span(element_id: str) -> tuple[int, int]:
    """The first and last measure index of such an id; ValueError for any other id.

    >>> measure_span("measure.4.9")
    (4, 9)
    """
    prefix, first, last = element_id.split(".")
    if prefix != "measure":
        raise ValueError(f"'{element_id}' is no measure id")
    return int(first), int(last)


def label_measures(part: etree._Element) -> None:
    """Give every measure its id."""
    for index, measure in enumerate(part.findall("measure")):
        measure.set("id", measure_id(index, index))


def drop_rest_counts(part: etree._Element) -> None:
    """Take out the file's own gathering, which may disagree with what stands in the measures."""
    for count in list(part.iter("multiple-rest")):
        style = count.getparent()
        holder = style.getparent() if style is not None else None
        if style is None or holder is None:
            continue
        style.remove(count)
        if not len(style):
            holder.remove(style)
        if not len(holder) and (measure := holder.getparent()) is not None:
            measure.remove(holder)


def gather_rests(part: etree._Element) -> None:
    """Mark every run of two or more empty measures as one long rest (MusicXML ``multiple-rest``)."""
    measures = part.findall("measure")
    for first, last in rest_runs(measures):
        measures[first].set("id", measure_id(first, last))
        _count_rests(measures[first], last - first + 1)


def rest_runs(measures: list[etree._Element]) -> Iterator[tuple[int, int]]:
    """First and last index of each run. Only the first measure of a run may carry a new key, clef or time."""
    start: int | None = None
    for index, measure in enumerate(measures):
        attributes = measure.find("attributes") is not None
        if start is not None and (attributes or not _is_empty(measure)):
            yield from _long_enough(start, index - 1)
            start = None
        if start is None and _is_empty(measure):
            start = index
    if start is not None:
        yield from _long_enough(start, len(measures) - 1)


def _long_enough(first: int, last: int) -> Iterator[tuple[int, int]]:
    if last - first + 1 >= _LONG_RESTS_FROM:
        yield first, last


def _is_empty(measure: etree._Element) -> bool:
    """One bare rest fills the measure, and nothing else in it would be seen on the page."""
    if measure.get("implicit") == "yes":
        return False
    seen = [child for child in measure if isinstance(child.tag, str) and child.tag not in _UNSEEN]
    while seen and seen[0].tag in ("attributes", "barline"):
        seen.pop(0)
    if not seen or not _fills_the_measure(seen[0]) or any(child.tag != "barline" for child in seen[1:]):
        return False
    return all(_is_plain(barline) for barline in measure.findall("barline"))


def _fills_the_measure(note: etree._Element) -> bool:
    rest = note.find("rest") if note.tag == "note" else None
    if (
        rest is None
        or note.get("print-object") == "no"
        or note.find("notations") is not None
        or note.find("lyric") is not None
    ):
        return False
    return rest.get("measure") == "yes" or note.findtext("type", "whole") == "whole"


def _is_plain(barline: etree._Element) -> bool:
    return all(child.tag == "bar-style" and child.text == "regular" for child in barline)


def _count_rests(measure: etree._Element, measures: int) -> None:
    """Say at the rest of ``measure`` how many measures it stands for.

    This stands in ``<attributes>`` of its own: the engraver takes what else stands beside it for a change after the
    barline, and draws the clef a part begins with once more, small and over the rest.
    """
    attributes = etree.Element("attributes")
    style = etree.SubElement(attributes, "measure-style")
    etree.SubElement(style, "multiple-rest").text = str(measures)
    rest = measure.find("note")
    if rest is not None:
        rest.addprevious(attributes)
