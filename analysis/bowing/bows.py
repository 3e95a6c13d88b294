"""Which way the bow goes, as printed: down and up by turns, but for slurs, printed bows and places to begin anew.

Where the bow has time to begin on either side, a player counts on to the next first beat and begins so that it falls on
a down-bow: down on the first beat itself, up on a single upbeat. This is the rule of the down-bow, as Georg Muffat
(preface to Florilegium secundum, 1698) and Leopold Mozart (Versuch einer gründlichen Violinschule, 1756, chapter IV)
teach it (from memory). How long a rest has to be for it: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from analysis.bowing.strokes import Return, Stroke, Weight, strokes
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import Stage, stages, voices
from analysis.music import Part

DOWN, UP = "down", "up"


@dataclass(frozen=True, slots=True)
class Bow:
    """The bow of one attacked note: ``direction`` is "down" or "up"; ``begins``: the bow changes at this note."""

    direction: str
    begins: bool


@dataclass(frozen=True, slots=True)
class Bowing:
    """One voice: its strokes, the repeats that lead back among them, and the direction of each stroke as printed."""

    strokes: tuple[Stroke, ...]
    returns: tuple[Return, ...]
    printed: tuple[str, ...]


def bowing_of(part: Part, line: Sequence[Stage], tempo: float) -> Bowing:
    """The bowing of one voice of ``part`` as printed; ``tempo`` in quarter notes a minute before the first mark."""
    made = strokes(part, line, tempo)
    return Bowing(made.every, made.returns, printed(made.every))


def bows(part: Part, tempo: float | None = None) -> Mapping[str, Bow]:
    """The bow of every note that the bow attacks, by note id; none where strings are plucked.

    ``tempo`` in quarter notes a minute holds before the first mark, that of the usual house rules where it is ``None``.
    """
    return {note_id: bow for bowing in _bowings(part, tempo) for note_id, bow in _by_note(bowing)}


def directions_of(part: Part, tempo: float | None = None) -> Mapping[str, str]:
    """Which way the bow goes, "down" or "up", by the note over which it would be printed; ``tempo`` as for `bows`."""
    return {
        stroke.note.id: direction
        for bowing in _bowings(part, tempo)
        for stroke, direction in zip(bowing.strokes, bowing.printed, strict=True)
    }


def _bowings(part: Part, tempo: float | None) -> Iterator[Bowing]:
    default = HouseRules().tempo if tempo is None else tempo
    for notes in voices(part).values():
        yield bowing_of(part, stages(part, notes, default), default)


def _by_note(bowing: Bowing) -> Iterator[tuple[str, Bow]]:
    for stroke, direction in zip(bowing.strokes, bowing.printed, strict=True):
        for stage in stroke.stages:
            begins = stage is stroke.main
            for number, head in enumerate(stage.heads):
                if number not in stage.held:
                    yield head.id, Bow(direction, begins)


def other(direction: str) -> str:
    """The other way of the bow."""
    return UP if direction == DOWN else DOWN


def printed(every: Sequence[Stroke]) -> tuple[str, ...]:
    """The direction of each stroke, played just as printed."""
    wanted = _wanted(every)
    made: list[str] = []
    for stroke, free in zip(every, wanted, strict=True):
        if stroke.mark:
            made.append(stroke.mark)
        elif stroke.loose or stroke.before is None:
            made.append(free)
        else:
            made.append(other(made[stroke.before]))
    return tuple(made)


def _wanted(every: Sequence[Stroke]) -> list[str]:
    """How each stroke has to go for the next first beat, or else the next half of a measure, to fall on a down-bow."""
    wanted: list[str] = []
    ahead: tuple[Weight, str] | None = None
    for number in range(len(every) - 1, -1, -1):
        stroke = every[number]
        follows = number + 1 < len(every) and every[number + 1].before == number and not every[number + 1].loose
        later = (ahead[0], other(ahead[1])) if ahead is not None and follows else None
        if stroke.mark or stroke.weight is Weight.FIRST:
            ahead = Weight.FIRST, stroke.mark or DOWN
        elif stroke.weight is Weight.HALF and (later is None or later[0] is not Weight.FIRST):
            ahead = Weight.HALF, DOWN
        else:
            ahead = later
        wanted.append(ahead[1] if ahead is not None else DOWN if stroke.on_the_beat else UP)
    return wanted[::-1]
