"""Marks from note to note: circles, lines, slurs and wedges, cut at the ends of systems."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from engraving.drawing import UNITS_A_MM, Mark
from engraving.headroom import LIFT_SPACES
from engraving.marks.teacher import TeacherMark
from engraving.page import NotePlace, Rect
from engraving.placing import signs
from engraving.placing.board import Board
from engraving.placing.figures import DIGIT_SPACES
from engraving.placing.painted import LIFTED_KINDS, PaintedMark, painted
from engraving.placing.signs import Sign
from engraving.placing.spans import Span, spans

# In staff spaces.
_AROUND = (0.55, 0.42, 0.7)  # from heads to the circle around them
_AFTER_DIGIT = 0.35
_OPENING = 1.2  # of a wedge
_HOOK = 0.8
_FROM_HEAD = 0.4  # from a note to the end of a slur
_RISE, _RISE_PER_SPACE, _HIGHEST = 0.7, 0.07, 2.6
_THICK = 0.25  # of a slur's middle
_WORDS_GAP = 0.5
_SHORTEST = 2.0  # of a line
_SLURS = ("slur", "dashed-slur", "hooked-bow")
_WEDGES = ("crescendo", "diminuendo")


@dataclass(frozen=True, slots=True)
class Held:
    """The line of a finger that stays down, and where the digit at its beginning stands: the edge near the staff."""

    line: PaintedMark
    note_id: str
    level: float


def range_mark(board: Board, mark: TeacherMark) -> Iterator[PaintedMark]:
    """A mark over notes, one for each system; none where neither end lies on the page."""
    for span in spans(board.page, mark.first, mark.last):
        if mark.kind == "circle":
            yield _circle(board, mark, span)
        elif mark.kind == "held-finger":
            yield held_finger(board, mark, span).line
        elif mark.kind in _SLURS:
            yield painted(mark, _slur(board, mark, span), board.ink)
        elif mark.kind in _WEDGES:
            yield _lying(board, mark, span, _wedge(board, mark, span), below=True)
        else:
            yield _lying(board, mark, span, _line(board, mark, span), below=False)


def held_finger(board: Board, mark: TeacherMark, span: Span) -> Held:
    """A line at the height of the digit at its beginning, as near to the notes as a digit may stand."""
    space, shelf, below = board.space, board.shelf(span.system), any(note.lower_voice for note in span.notes)
    height = DIGIT_SPACES * space
    x0, x1 = span.x0, max(span.x1, span.x0 + _SHORTEST * space)
    start = _start(board, span, below=below)
    level = shelf.slide(x0, x1, height, start, below=below)
    if span.begins:
        head = board.page.notes[mark.first].head.centre[0]
        x0 = head + (0.5 * DIGIT_SPACES + _AFTER_DIGIT) * space
        x1 = max(x1, x0 + _SHORTEST * space)
    y = level + height / 2 if below else level - height / 2
    sign = signs.level(*_units(x0, x1, y), space=space * UNITS_A_MM)
    return Held(painted(mark, sign, board.ink), mark.first if span.begins else "", level)


def _circle(board: Board, mark: TeacherMark, span: Span) -> PaintedMark:
    """A line round the heads, as wide as may be without striking others."""
    system = board.page.systems[span.system]
    bare = Rect(span.x0, system.staff_top, span.x1, system.staff_bottom)  # of a line of rests
    heads = [note.head for note in span.notes] or [bare]
    others = [note.head for note in board.page.notes.values() if note.system == span.system and note.head not in heads]
    made: list[tuple[int, int, PaintedMark]] = []
    for around in _AROUND:
        room = around * board.space
        box = (
            min(head.x0 for head in heads) - room,
            min(head.y0 for head in heads) - room,
            max(head.x1 for head in heads) + room,
            max(head.y1 for head in heads) + room,
        )
        one = painted(mark, signs.loop(*_units(*box), space=board.space * UNITS_A_MM), board.ink)
        made.append((sum(rect.touches(head) for rect in one.rects for head in others), len(made), one))
    return min(made, key=lambda item: item[:2])[2]


def _slur(board: Board, mark: TeacherMark, span: Span) -> Sign:
    """From note to note, beyond all notes between: over them as a rule, under them where stems point up."""
    space = board.space
    stems = {note.stem for note in span.notes}
    below = any(note.lower_voice for note in span.notes) or stems == {"up"}
    out = 1.0 if below else -1.0

    def edge(note: NotePlace) -> float:
        return note.column.y1 + _FROM_HEAD * space if below else note.column.y0 - _FROM_HEAD * space

    system = board.page.systems[span.system]
    bare = system.staff_bottom if below else system.staff_top  # of a line of rests
    edges = [edge(note) for note in span.notes] or [bare + out * _FROM_HEAD * space]
    x0 = span.notes[0].head.centre[0] if span.begins and span.notes else span.x0
    x1 = span.notes[-1].head.centre[0] if span.ends and span.notes else span.x1
    x1 = max(x1, x0 + _SHORTEST * space)
    start, end = (x0, edges[0]), (x1, edges[-1])
    rise = min(_RISE * space + _RISE_PER_SPACE * (x1 - x0), _HIGHEST * space)
    for x, y in ((x, edge(note)) for note in span.notes[1:-1] for x in (note.head.x0, note.head.x1)):
        along = min(max((x - x0) / (x1 - x0), 0.05), 0.95)
        chord = start[1] + (end[1] - start[1]) * along
        rise = max(rise, ((y - chord) * out + _THICK * space) / (4 * along * (1 - along)))
    ends = _units(*start), _units(*end)
    sign = signs.curve(
        (ends[0][0], ends[0][1]),
        (ends[1][0], ends[1][1]),
        rise * -out * UNITS_A_MM,
        space=space * UNITS_A_MM,
        dashed=mark.kind == "dashed-slur",
    )
    return sign if mark.kind != "hooked-bow" else (*sign, *_dots(board, mark, span, below=below))


def _dots(board: Board, mark: TeacherMark, span: Span, *, below: bool) -> Iterator[Mark]:
    """A dot at each note under the slur."""
    for note in span.notes:
        dot = painted(mark, signs.glyph("staccato", board.space * UNITS_A_MM), board.ink)
        gap = 0.25 * board.space
        y = note.column.y1 + gap + dot.rect.height if below else note.column.y0 - gap
        yield from dot.moved(note.head.centre[0] - dot.rect.centre[0], y - dot.rect.y1).drawn


def _wedge(board: Board, mark: TeacherMark, span: Span) -> Sign:
    opening = _OPENING * board.space * UNITS_A_MM
    narrow = 0.0 if span.begins and span.ends else opening / 3
    opens = (0.0 if span.begins else narrow, opening if span.ends else opening * 2 / 3)
    if mark.kind == "diminuendo":
        opens = (opening if span.begins else opening * 2 / 3, 0.0 if span.ends else narrow)
    x0, x1 = _units(span.x0, max(span.x1, span.x0 + _SHORTEST * board.space))
    return signs.wedge(x0, x1, 0.0, opens, space=board.space * UNITS_A_MM)


def _line(board: Board, mark: TeacherMark, span: Span) -> Sign:
    """A bracket with both its hooks, or words with a dashed line and a hook at its end."""
    space, hook = board.space * UNITS_A_MM, _HOOK * board.space * UNITS_A_MM
    x0, x1 = _units(span.x0, max(span.x1, span.x0 + _SHORTEST * board.space))
    sign: Sign = ()
    if mark.text and span.begins:
        said = painted(mark, signs.words(mark.text, space), board.ink)
        sign = said.moved(x0 / UNITS_A_MM - said.rect.x0, 0.0).drawn
        x0 += (said.rect.width + _WORDS_GAP * board.space) * UNITS_A_MM
        x1 = max(x1, x0 + _SHORTEST * space)
    y = -hook / 2 if mark.text else 0.0
    sign = (*sign, *signs.level(x0, x1, y, space=space, dashed=bool(mark.text)))
    if span.ends:
        sign = (*sign, *signs.hook(x1, y, hook, space=space))
    if span.begins and not mark.text:
        sign = (*sign, *signs.hook(x0, y, hook, space=space))
    return sign


def _lying(board: Board, mark: TeacherMark, span: Span, sign: Sign, *, below: bool) -> PaintedMark:
    """A sign at its x slid outwards until it touches nothing."""
    made, shelf = painted(mark, sign, board.ink), board.shelf(span.system)
    rect = made.rect
    lift = LIFT_SPACES * board.space if mark.kind in LIFTED_KINDS else 0.0
    y = shelf.slide(rect.x0, rect.x1, rect.height, _start(board, span, below=below) - lift, below=below)
    return made.moved(0.0, y - (rect.y0 if below else rect.y1))


def _start(board: Board, span: Span, *, below: bool) -> float:
    system = board.page.systems[span.system]
    gap = board.shelf(span.system).gap
    starts = [board.start(note, below=below) for note in span.notes]
    return max([system.staff_bottom + gap, *starts]) if below else min([system.staff_top - gap, *starts])


def _units(*lengths: float) -> tuple[float, ...]:
    return tuple((np.array(lengths) * UNITS_A_MM).tolist())
