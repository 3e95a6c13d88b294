"""Marks at one note: beside its digit or over it, in the margin for words that belong there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from engraving.drawing import UNITS_A_MM
from engraving.headroom import LIFT_SPACES
from engraving.marks.teacher import TeacherMark
from engraving.page import NotePlace, Rect
from engraving.placing import signs
from engraving.placing.board import Board
from engraving.placing.figures import Placed
from engraving.placing.painted import LIFTED_KINDS, PaintedMark, painted
from engraving.placing.shelves import Shelf
from engraving.placing.signs import Sign

# In staff spaces.
_ARROW = (0.6, 1.3)
_CROSS = 0.7
_BESIDE = 0.16  # between a digit and what stands beside it
_SHIFTS = (0.0, -0.5, 0.5, -1.0, 1.0)
_SIDEWAYS = 0.8
_MARGIN_GAP, _PAPER_EDGE_MM = 0.8, 4.0
_SMALLEST = 0.8  # of small words, in parts of their usual size
_BREATH = 0.6  # from the head to a breath mark
_BELOW = frozenset(("dynamic",))
_BY_HEAD = frozenset(("tenuto", "accent", "staccato"))
_LEFT = frozenset(("retake",))  # before the note rather than over it


def note_mark(board: Board, mark: TeacherMark, digits: Mapping[str, Placed]) -> PaintedMark | None:
    """A mark at its note, with the digit that stands there; ``None`` for a note elsewhere, or nothing inked."""
    note = board.page.notes.get(mark.first)
    if note is None:
        return None
    digit = digits.get(mark.first)
    if mark.kind == "margin-text":
        return _in_margin(board, mark, note)
    made = painted(mark, _sign(mark, board.space * UNITS_A_MM), board.ink)
    if not len(made.boxes):
        return None
    if mark.kind in ("high", "low", "extension") and digit is not None:
        beside = _beside(board, made, note, digit)
        if beside is not None:
            return beside
    if mark.kind in _BY_HEAD:
        return _by_head(board, made, note)
    if mark.kind == "breath":
        return _at(made, note.head.x1 + _BREATH * board.space + made.rect.width / 2, note.staff_top)
    return _over(board, made, note, digit)


def _sign(mark: TeacherMark, space: float) -> Sign:
    if mark.kind in ("high", "low"):
        width, height = (side * space for side in _ARROW)
        return signs.arrow(0.0, -height, width, 0.0, up=mark.kind == "high", space=space)
    if mark.kind == "extension":
        return signs.cross(0.0, -_CROSS * space, _CROSS * space, 0.0, space=space)
    if mark.kind == "retake":
        return signs.retake(space)
    if mark.kind == "string":
        return signs.numeral(mark.text, space)
    if mark.kind == "dynamic" and signs.is_dynamic(mark.text):
        return signs.dynamic(mark.text, space)
    return signs.glyph(mark.kind, space) if signs.has_glyph(mark.kind) else signs.words(mark.text, space)


def _at(made: PaintedMark, x: float, y: float) -> PaintedMark:
    """The mark with its middle at ``x`` and its bottom at ``y``."""
    rect = made.rect
    return made.moved(x - rect.centre[0], y - rect.y1)


def _beside(board: Board, made: PaintedMark, note: NotePlace, digit: Placed) -> PaintedMark | None:
    """Right behind the digit, a cross right before it, where that is free; else on the other side of it."""
    near, gap, half = digit.digit.rect, _BESIDE * board.space, made.rect.width / 2
    places = [near.x1 + gap + half, near.x0 - gap - half]
    if made.mark.kind == "extension":
        places.reverse()
    shelf = board.shelf(note.system)
    for x in places:
        there = _at(made, x, near.y1)
        if not _touched(shelf, there.rect, near):
            return there
    return None


def _touched(shelf: Shelf, rect: Rect, own: Rect) -> bool:
    """Whether anything but the digit itself is near; a sign may stand closer to its digit than to all else."""
    x0, x1 = (own.x1 + shelf.gap, rect.x1) if rect.x0 > own.x0 else (rect.x0, own.x0 - shelf.gap)
    close = (min(x0, x1), rect.y0, max(x0, x1), rect.y1)
    return not shelf.is_free(close) or shelf.meets(rect.corners)


def _over(board: Board, made: PaintedMark, note: NotePlace, digit: Placed | None) -> PaintedMark:
    """Over the note, outside its digit; under the staff for dynamics, and for a lower voice."""
    below = made.mark.kind in _BELOW or note.lower_voice
    shelf, space, rect = board.shelf(note.system), board.space, made.rect
    start = board.start(note, below=below)
    if made.mark.kind in LIFTED_KINDS:
        start -= LIFT_SPACES * space
    if digit is not None and (digit.digit.rect.y0 > note.head.y1) is below:
        inks = [figure.box for figure in digit.figures]
        outer = max(ink.y1 for ink in inks) if below else min(ink.y0 for ink in inks)
        start = max(start, outer + shelf.gap) if below else min(start, outer - shelf.gap)
    middle = note.head.centre[0] - (space if made.mark.kind in _LEFT else 0.0)
    if made.mark.text and made.mark.kind not in ("string", "dynamic"):
        middle = note.head.x0 + rect.width / 2  # words begin at their note
    middle = min(middle, board.page.width - rect.width / 2 - shelf.gap)
    spots = []
    for shift in _SHIFTS:
        x = middle + shift * space
        y = shelf.slide(x - rect.width / 2, x + rect.width / 2, rect.height, start, below=below)
        near, far = (y, y + rect.height) if below else (y - rect.height, y)
        out = 0.0 if shelf.holds(near, far) else board.page.height
        spots.append((out + abs(y - start) / space + abs(shift) * _SIDEWAYS, x, far))
    _, x, bottom = min(spots)
    return _at(made, x, bottom)


def _by_head(board: Board, made: PaintedMark, note: NotePlace) -> PaintedMark:
    """Close to the head, on the side without a stem."""
    x, gap = note.head.centre[0], 0.5 * board.space
    if note.stem == "up":
        return _at(made, x, note.head.y1 + gap + made.rect.height)
    return _at(made, x, note.head.y0 - gap)


def _in_margin(board: Board, mark: TeacherMark, note: NotePlace) -> PaintedMark:
    """Small words in the nearer margin beside the line, else in the other; over the note where they are too wide."""
    page, shelf = board.page, board.shelf(note.system)
    system, gap = page.systems[note.system], _MARGIN_GAP * board.space
    left = (_PAPER_EDGE_MM, system.rect.x0 - gap)
    right = (system.rect.x1 + gap, page.width - _PAPER_EDGE_MM)
    sides = [left, right] if note.head.x0 < page.width / 2 else [right, left]
    for x0, x1 in sides:
        lines, scale = _wrapped(board, mark.text, x1 - x0)
        made = painted(mark, signs.margin_words(lines, board.space * UNITS_A_MM, scale), board.ink)
        rect = made.rect
        x = x1 - rect.width if x0 == _PAPER_EDGE_MM else x0
        y = (note.staff_top + note.staff_bottom - rect.height) / 2
        there = made.moved(x - rect.x0, y - rect.y0)
        if rect.width <= x1 - x0 and not board.is_taken(there.rect) and shelf.holds(there.rect.y0, there.rect.y1):
            return there
    return _over(board, painted(mark, signs.words(mark.text, board.space * UNITS_A_MM), board.ink), note, None)


def _wrapped(board: Board, text: str, width: float) -> tuple[list[str], float]:
    """Words in lines that fit a width, set smaller if one word alone is too wide; and how much smaller."""
    parts = text.split()
    widest = max(_small(board, [word]) for word in parts)
    scale = max(min(1.0, width / widest if width > 0 else _SMALLEST), _SMALLEST)
    lines: list[list[str]] = [[]]
    for word in parts:
        if lines[-1] and _small(board, [*lines[-1], word]) * scale > width:
            lines.append([])
        lines[-1].append(word)
    return [" ".join(line) for line in lines], scale


def _small(board: Board, words: Iterable[str]) -> float:
    return signs.margin_width(" ".join(words), board.space, board.metrics)
