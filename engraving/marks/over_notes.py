"""Each kind of mark that reaches from one note to another, written as the standard element for it.

A hooked bow is a slur with a staccato dot at each of its notes, a finger that stays down a ``<bracket>`` without hooks.
MusicXML has no element for a circle: it is ``<other-notation>``, "circle", from its first note to its last.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from lxml import etree

from engraving.marks.directions import add_direction, belongs_to, meaning, meanings
from engraving.marks.fingerings import sign
from engraving.marks.lines import Line, PartLines
from engraving.marks.notations import add_notation, signs_at
from engraving.marks.sites import Site, chords_between
from engraving.marks.teacher import MARK_KINDS, TeacherMark

_CIRCLE = "circle"
_SWELLS = ("crescendo", "diminuendo")


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """A mark on its way into the tree, from ``first`` to ``last``, among the ``lines`` of its part.

    ``look``: the attributes of what is written. ``yields``: it ends as its last note begins, since there another
    dynamic or hairpin takes over.
    """

    mark: TeacherMark
    first: Site
    last: Site
    lines: PartLines
    look: Mapping[str, str]
    yields: bool

    def here(self, tag: str) -> Iterator[tuple[Line, etree._Element, etree._Element]]:
        """The whole lines over the first measure that share their numbers with ``tag``, with both ends."""
        for line in self.lines.over(tag, self.first.measure, self.first.measure):
            if line.start is not None and line.stop is not None:
                yield line, line.start, line.stop

    def number(self, start: etree._Element, stop: etree._Element) -> None:
        """Number the two ends of a new line."""
        places = (self.first.begins, self.last.begins, self.last.ends)
        self.lines.add(start, stop, (min(places), max(places)), (self.first.measure, self.last.measure))


def _slur(reach: Reach) -> None:
    dashed = reach.mark.kind == "dashed-slur"
    for _, start, stop in reach.here("slur"):
        if start.tag != "slur" or (start.get("line-type") == "dashed") != dashed:
            continue
        if _note(start) in reach.first.chord and _note(stop) in reach.last.chord:
            return
    kind = {"line-type": "dashed"} if dashed else {}
    start = sign("slur", {"type": "start", **kind, **reach.look})
    stop = sign("slur", {"type": "stop", **reach.look})
    reach.number(start, stop)
    add_notation(reach.first.head, start)
    add_notation(reach.last.head, stop)


def _hooked_bow(reach: Reach) -> None:
    _slur(reach)
    for head in chords_between(reach.first, reach.last):
        is_held = any(tie.get("type") == "stop" for tie in head.iterfind("tie"))
        if not is_held and not any(True for _ in signs_at(head, "articulations/staccato")):
            add_notation(head, sign("staccato", reach.look), "articulations")


def _wedge(reach: Reach) -> None:
    _line(reach, [], {"type": reach.mark.kind}, {"type": "stop"}, "below")


def _bracket(reach: Reach) -> None:
    hook = {"line-end": "none" if reach.mark.kind == "held-finger" else "down"}
    _line(reach, [], {"type": "start", **hook}, {"type": "stop", **hook}, "above")


def _held_position(reach: Reach) -> None:
    words = sign("words", reach.look, reach.mark.text)
    _line(reach, [words], {"type": "start"}, {"type": "stop"}, "above")


def _line(
    reach: Reach,
    words: Sequence[etree._Element],
    start_type: Mapping[str, str],
    stop_type: Mapping[str, str],
    placement: str,
) -> None:
    """A line between two directions, the first with ``words`` before the line."""
    tag = MARK_KINDS[reach.mark.kind].element
    start, stop = sign(tag, {**start_type, **reach.look}), sign(tag, {**stop_type, **reach.look})
    if _stands(reach, [*words, start]):
        return
    reach.number(start, stop)
    add_direction(reach.first, [*words, start], placement)
    add_direction(reach.last, [stop], placement, after=not reach.yields)


def _stands(reach: Reach, signs: Sequence[etree._Element]) -> bool:
    wanted = {meaning(one) for one in signs}
    begins = [one for one in reach.first.before() if belongs_to(one, reach.first)]
    behind = reach.last.before() if reach.yields else reach.last.after()
    ends = [one for one in behind if belongs_to(one, reach.last)]
    return any(
        _direction(start) in begins and _direction(stop) in ends and wanted <= meanings(_direction(start))
        for _, start, stop in reach.here(str(signs[-1].tag))
        if start.tag == signs[-1].tag
    )


def _circle(reach: Reach) -> None:
    first, last = reach.first.note, reach.last.note
    if first is last:
        single = sign("other-notation", {"type": "single", "placement": "above", **reach.look}, _CIRCLE)
        if meaning(single) not in map(meaning, signs_at(first, "other-notation")):
            add_notation(first, single)
        return
    start = sign("other-notation", {"type": "start", **reach.look}, _CIRCLE)
    stop = sign("other-notation", {"type": "stop", **reach.look}, _CIRCLE)
    for _, there, end in reach.here("other-notation"):
        if meaning(there) == meaning(start) and _note(there) is first and _note(end) is last:
            return
    reach.number(start, stop)
    add_notation(first, start)
    add_notation(last, stop)


def _note(sign_in_notations: etree._Element) -> etree._Element | None:
    return next(sign_in_notations.iterancestors("note"), None)


def _direction(sign_in_direction: etree._Element) -> etree._Element:
    return next(sign_in_direction.iterancestors("direction"))


OVER_NOTES: Mapping[str, Callable[[Reach], None]] = MappingProxyType(
    {
        "slur": _slur,
        "dashed-slur": _slur,
        "hooked-bow": _hooked_bow,
        "crescendo": _wedge,
        "diminuendo": _wedge,
        "bracket": _bracket,
        "circle": _circle,
        "held-finger": _bracket,
        "held-position": _held_position,
    }
)
