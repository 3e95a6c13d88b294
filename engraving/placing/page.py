"""Places on a page for digits and for marks painted by us.

Digits stand above the staff, those of a lower voice below (common practice for bowed strings, no source). They stay
outside the note's own stem, beam and articulations, but come under a slur where there is room.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from analysis.fingering.ticking import Tick, no_tick, part_of
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.metrics import FontMetrics
from engraving.page import PageMap
from engraving.placing.board import Board, Upright
from engraving.placing.figures import Placed, Wanted
from engraving.placing.ground import Ground
from engraving.placing.notemarks import note_mark
from engraving.placing.painted import PaintedMark
from engraving.placing.rangemarks import held_finger, range_mark
from engraving.placing.spans import spans

Overlay = Placed | PaintedMark

# Lines and circles find their places before the digits, which then stand around them.
_BEFORE_DIGITS = ("circle", "held-finger")


def place(page: PageMap, wanted: Sequence[Wanted], metrics: FontMetrics) -> tuple[Placed, ...]:
    """A place for every wanted digit whose note lies on this page; those of other pages are passed over.

    The digits of a chord stand over each other in the order of its notes.
    """
    return Board(page, metrics).set_digits(wanted, {})


def place_marks(
    page: PageMap, marks: Iterable[TeacherMark], metrics: FontMetrics, digits: Sequence[Placed] = ()
) -> tuple[PaintedMark, ...]:
    """Places for ``marks``, all painted, among digits that stand; those of other pages are passed over.

    A mark lies clear of all ink, digits and other marks, a circle crosses what it must; one that was moved by hand
    lies so far from the place nearest to its notes, whatever is there. A mark over several systems is painted at
    each of them.
    """
    board = Board(page, metrics)
    for one in digits:
        board.take([figure.box.corners for figure in one.figures])
    wanted = tuple(marks)
    found = [*_by_hand(board, wanted), *_lines(board, wanted, {})]
    return (*found, *_others(board, wanted, digits))


def mark_page(
    page: PageMap,
    wanted: Sequence[Wanted],
    marks: Iterable[TeacherMark],
    metrics: FontMetrics,
    ground: Ground | None = None,
    tick: Tick = no_tick,
    uprights: Sequence[Upright] = (),
) -> tuple[Overlay, ...]:
    """Digits and ``marks``, all painted, placed together: digits keep clear of what was moved by hand.

    The digit at which a line for a held finger begins stands at its height. With the ``ground`` of the page only the
    systems where something has changed are set anew. ``tick`` is called at each of them. No name of a position
    stands across ``uprights`` where it has room beside them.
    """
    board = Board(page, metrics, ground, uprights, part_of(tick, 0, 2))
    painted, levels = tuple(marks), dict[str, float]()
    first = [*_by_hand(board, painted), *_lines(board, painted, levels)]
    digits = board.set_digits(wanted, levels, part_of(tick, 1, 2))
    return (*digits, *first, *_others(board, painted, digits))


def _by_hand(board: Board, marks: Iterable[TeacherMark]) -> list[PaintedMark]:
    """Marks that were moved, from where they would lie if there were nothing but the notes.

    All else comes and goes with other marks, with the room on another paper, and with the mark itself as the engraver
    draws it: it would throw what was put to its place by hand.
    """
    space, by_hand = board.space, [mark for mark in marks if _was_moved(mark)]
    if not by_hand:
        return []
    bare = Board(_without_ink(board.page), board.metrics)
    found = [one.moved(mark.dx * space, -mark.dy * space) for mark in by_hand for one in _made(bare, mark)]
    for one in found:
        board.take(one.room)
    return found


def _without_ink(page: PageMap) -> PageMap:
    """The page with nothing on it but its staves and its notes with their stems and beams."""
    notes = {note_id: replace(note, column=note.body) for note_id, note in page.notes.items()}
    return replace(page, ink=np.empty((0, 4)), notes=notes)


def _made(board: Board, mark: TeacherMark, digits: Mapping[str, Placed] | None = None) -> Iterator[PaintedMark]:
    if MARK_KINDS[mark.kind].scope == "range":
        yield from range_mark(board, mark)
    else:
        one = note_mark(board, mark, digits or {})
        if one is not None:
            yield one


def _lines(board: Board, marks: Sequence[TeacherMark], levels: dict[str, float]) -> Iterator[PaintedMark]:
    """Circles, then lines of held fingers; notes the heights of the digits at which these begin."""
    for kind in _BEFORE_DIGITS:
        for mark in marks:
            if mark.kind != kind or _was_moved(mark):
                continue
            for span in spans(board.page, mark.first, mark.last) if kind == "held-finger" else ():
                held = held_finger(board, mark, span)
                levels[held.note_id] = held.level
                board.take(held.line.room)
                yield held.line
            for one in range_mark(board, mark) if kind == "circle" else ():
                board.take(one.room)
                yield one


def _others(board: Board, marks: Sequence[TeacherMark], digits: Iterable[Placed]) -> Iterator[PaintedMark]:
    """Every other mark, from left to right, system by system."""
    by_note = {one.note_id: one for one in digits}
    notes = board.page.notes
    for mark in sorted(
        (mark for mark in marks if not _was_moved(mark) and mark.kind not in _BEFORE_DIGITS),
        key=lambda mark: (notes[mark.first].system, notes[mark.first].head.x0) if mark.first in notes else (-1, 0.0),
    ):
        for one in _made(board, mark, by_note):
            board.take(one.room)
            yield one


def _was_moved(mark: TeacherMark) -> bool:
    return bool(mark.dx or mark.dy)
