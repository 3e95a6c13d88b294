"""Accidentals that have ended: notes without a sign where the page lets a player go on altering the letter.

An accidental holds on its own line or space to the bar line; over a tie it holds for the tied note alone. So say
Gardner Read, "Music Notation", and Elaine Gould, "Behind Bars", in their chapters on accidentals (from memory); both
advise a sign as a reminder after the bar line and in another octave. How many measures back a player still minds:
common practice, no source.
"""

from __future__ import annotations

import enum
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from analysis.language import _
from analysis.music import Note, Part
from analysis.pitch_names import inflection_word, pitch_name, sign_word
from analysis.watch.finding import Finding, found
from analysis.watch.inflections import (
    Inflection,
    as_written,
    inflections,
    letters_words,
    measures_listed,
)
from analysis.watch.study import Study

# How many measures back an accidental is still minded, in its own octave and in another; measures of rest do not count.
_MINDED, _MINDED_IN_ANOTHER_OCTAVE = 2, 1
# What misleads over the same letter again within so many measures is told at once.
_ONE_RUN = 4


class _Trap(enum.Enum):
    """Why a player may go on altering the letter."""

    BAR_LINE = enum.auto()
    OCTAVE = enum.auto()
    TIE = enum.auto()


@dataclass(frozen=True, slots=True)
class _Misled:
    """A note without a sign, and the altered ``cause`` of the same letter that misleads."""

    at: Inflection
    cause: Inflection
    trap: _Trap

    @property
    def told(self) -> tuple[_Trap, str, int]:
        """What two of them have alike when they are one thing to say."""
        return self.trap, self.at.step, self.at.alter


def watch_bar_lines(study: Study) -> Iterator[Finding]:
    """Where an accidental no longer holds, or not in this octave, and no sign says so."""
    part = study.part
    runs = _runs(_misled(inflections(part)))
    yield from as_written(part, (found("bar-line", (one.at.note for one in run), _sentence(part, run)) for run in runs))


def courtesies(part: Part) -> tuple[str, ...]:
    """The ids of the notes that are worth an accidental as a reminder, in the order in which they are played."""
    return misleading(inflections(part))


def misleading(read: Iterable[Inflection]) -> tuple[str, ...]:
    """The same, of all notes of a part as they are read."""
    return tuple(one.at.note.id for one in _misled(read))


def _misled(read: Iterable[Inflection]) -> Iterator[_Misled]:
    """Every note without a sign that a player may alter by mistake, in the order in which they are played."""
    measure, in_force = -1, dict[tuple[int, int], int]()
    on_line, of_letter = dict[tuple[int, int], Inflection](), dict[tuple[int, str], Inflection]()
    for one in read:
        note, line = one.note, one.line
        if note.measure != measure:
            measure = note.measure
            in_force.clear()
        letter = (note.staff, one.step)
        if not note.tied_from:
            if note.sign or in_force.get(line, one.usual) != one.alter:
                in_force[line] = one.alter
            elif one.alter == one.usual and letter in of_letter:
                yield from _trap(one, on_line.get(line), of_letter[letter])
        on_line[line] = of_letter[letter] = one


def _trap(at: Inflection, on_line: Inflection | None, of_letter: Inflection) -> Iterator[_Misled]:
    """What misleads at a note without a sign: the last note on its line, or the last one of its letter."""
    if of_letter.alter == at.alter and of_letter.note.sign:
        return
    if on_line is not None and _minded(at, on_line, _MINDED):
        # Within a measure only a tie brings in an alteration that does not hold on.
        same = on_line.note.measure == at.note.measure
        yield _Misled(at, on_line, _Trap.TIE if same else _Trap.BAR_LINE)
    elif _minded(at, of_letter, _MINDED_IN_ANOTHER_OCTAVE):
        yield _Misled(at, of_letter, _Trap.OCTAVE)


def _minded(at: Inflection, before: Inflection, measures: int) -> bool:
    """Whether a player still has another inflection of the letter in mind; a new key signature makes them look."""
    return before.alter != at.alter and before.fifths == at.fifths and at.played - before.played <= measures


def _runs(every: Iterable[_Misled]) -> Iterator[list[_Misled]]:
    """What is told in one sentence: the letters of one measure, or one letter in measures close together."""
    run: list[_Misled] = []
    for one in every:
        if run and not _joins(run, one):
            yield run
            run = []
        run.append(one)
    if run:
        yield run


def _joins(run: list[_Misled], one: _Misled) -> bool:
    alike = all(other.told == one.told for other in run)
    if one.at.note.measure == run[-1].at.note.measure == run[0].at.note.measure:
        return alike or one.trap is run[0].trap is _Trap.BAR_LINE
    return alike and one.at.played - run[-1].at.played <= _ONE_RUN


def _sentence(part: Part, run: list[_Misled]) -> str:
    first, where = run[0], _measures(part, [one.at.note for one in run])
    if first.trap is _Trap.BAR_LINE and len({one.told for one in run}) > 1:
        letters = letters_words((one.at.step, one.at.alter) for one in run)
        words = _("{letters} again in {where}: the accidentals of {causes} no longer hold.")
        return words.format(letters=letters, where=where, causes=_causes(part, run))
    match first.trap:
        case _Trap.TIE:
            words = _("The {letter} after the tie in {where} is {inflection}: the {sign} ends with the tied note.")
        case _Trap.OCTAVE if first.at.line > first.cause.line:
            words = _("The high {letter} in {where} is {inflection}: the {sign} holds only in its own octave.")
        case _Trap.OCTAVE:
            words = _("The low {letter} in {where} is {inflection}: the {sign} holds only in its own octave.")
        case _ if len({one.at.note.measure for one in run}) > 1:
            words = _("The {letter} is {inflection} again in {where}: no {sign} holds beyond its bar line.")
        case _:
            words = _("The {letter} is {inflection} again in {where}: the {sign} of {causes} no longer holds.")
    return words.format(
        letter=pitch_name(first.at.step),
        where=where,
        inflection=inflection_word(first.at.alter),
        sign=sign_word(first.cause.alter),
        causes=_causes(part, run),
    )


def _causes(part: Part, run: Iterable[_Misled]) -> str:
    """Where the accidentals stand that mislead."""
    return _measures(part, sorted((one.cause.note for one in run), key=lambda note: note.measure))


def _measures(part: Part, notes: Iterable[Note]) -> str:
    return measures_listed(list(dict.fromkeys(part.measures[note.measure].label for note in notes)))
