"""Room for digits: a row of them between the staff and the words over it, and stacks of them over chords.

The engraver sets tempo marks, words, rehearsal marks and ending brackets close above the staff and its notes. A digit
belongs between a note and such a mark, so all of them are lifted by the same distance: they keep their places to one
another, and the room for it comes from the distance of the systems. Over a chord of three notes and more that is not
enough, nor over one of two notes with words above it: the engraver is given digits of its own there, which keep the
room and are left out of the drawing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from lxml import etree

from engraving.drawing import Drawing, Glyph, Group, Lettering, Mark, Shape, moved
from engraving.marks.fingerings import sign
from engraving.marks.notations import add_notation
from engraving.outlines import bounds

LIFT_SPACES = 1.9  # a digit and its clearance on both sides, in staff spaces
_HIGH_CHORD = 3  # notes
_WORDS = ("words", "metronome", "rehearsal")
_PLACEHOLDER = "fing"
_LIFTED = ("tempo", "dir", "reh", "voltaBracket")


def keep_room_over_chords(score: etree._Element) -> None:
    """Give every note of a high chord a digit, so that the engraver leaves room for a stack; nothing else changes.

    Between the staves of a full score that is every chord.
    """
    is_full = len(score.findall("part")) > 1
    for measure in score.iterfind("part/measure"):
        for chord, under_words in _chords(measure):
            if len(chord) >= _HIGH_CHORD or (len(chord) > 1 and (under_words or is_full)):
                _keep_room_over(chord)


def _chords(measure: etree._Element) -> Iterator[tuple[list[etree._Element], bool]]:
    """The chords and single notes of a measure, and whether words stand right before them."""
    chord: list[etree._Element] = []
    under_words = said = False
    for child in measure:
        if child.tag == "direction":
            said |= any(sign.tag in _WORDS for sign in child.iterfind("direction-type/*"))
        elif child.tag == "note" and child.find("chord") is None:
            if chord:
                yield chord, under_words
            chord, under_words, said = [child], said, False
        elif child.tag == "note":
            chord.append(child)
    if chord:
        yield chord, under_words


def _keep_room_over(notes: list[etree._Element]) -> None:
    for note in notes:
        add_notation(note, sign("fingering", {"placement": "above"}, "1"), "technical")


def without_placeholders(drawing: Drawing) -> Drawing:
    """The drawing without the digits that only keep room."""
    return replace(drawing, marks=tuple(mark for mark in drawing.marks if mark.group.within(_PLACEHOLDER) is None))


def lifted(drawing: Drawing, *, staff_space: float) -> Drawing:
    """The drawing with the marks above each staff lifted; ``staff_space`` in units of the drawing."""
    up = -LIFT_SPACES * staff_space
    tops = _staff_tops(drawing)
    bottoms = _lowest(drawing)
    high = {group for group, bottom in bottoms.items() if bottom <= tops.get(_system(group), 0.0)}
    marks = tuple(moved(mark, 0.0, up) if _lifted_group(mark.group) in high else mark for mark in drawing.marks)
    return replace(drawing, marks=marks)


def _lifted_group(group: Group) -> Group | None:
    return next((outer for outer in group.lineage() if outer.kind in _LIFTED), None)


def _system(group: Group) -> Group | None:
    return group.within("system")


def _staff_tops(drawing: Drawing) -> dict[Group | None, float]:
    """The uppermost staff line of every system."""
    tops: dict[Group | None, float] = {}
    for mark in drawing.marks:
        if mark.group.kind == "staff" and isinstance(mark, Shape):
            y = mark.outline[0][1][1]
            system = _system(mark.group)
            tops[system] = min(y, tops.get(system, y))
    return tops


def _lowest(drawing: Drawing) -> dict[Group, float]:
    """The lowest baseline or edge of every mark that may be lifted."""
    lowest: dict[Group, float] = {}
    for mark in drawing.marks:
        group = _lifted_group(mark.group)
        if group is not None:
            lowest[group] = max(_bottom(mark), lowest.get(group, _bottom(mark)))
    return lowest


def _bottom(mark: Mark) -> float:
    if isinstance(mark, Lettering):
        return mark.y
    if isinstance(mark, Glyph):
        return mark.matrix[5]
    box = bounds([mark.outline])
    return box[3] if box else 0.0
