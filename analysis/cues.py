"""Cues: what a player who has rested long should hear right before the entry, so as not to depend on counting alone.

Common practice, no source: a cue stands in the last measure of the rest, shows one line of one part that is heard well,
and runs up to the entry; where a measure has too little to recognise it by, the cue takes one more.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.music import Measure, Note, Part, Score

# Parts are printed with cues after six to ten measures of rest; players at school lose count early, hence the least.
LEAST_REST = 6
# With fewer attacks in the last measure the cue takes one more; with fewer than two it would tell nothing.
_ENOUGH, _FEWEST = 3, 2
# The reader goes in from what sounded so many beats ago as from what sounds now.
_PAUSE = 1


@dataclass(frozen=True, slots=True)
class Cue:
    """Notes of another part that lead a player who has rested to the entry.

    They stand in ``part_id``; ``source_id`` is the part that plays them. ``first_measure`` and ``last_measure`` are
    indices: measures of the rest, and also that of the entry where it comes late in its measure. ``note_ids`` are in
    order of time: one line, of a chord its highest note.
    """

    part_id: str
    source_id: str
    first_measure: int
    last_measure: int
    note_ids: tuple[str, ...]


def cues_of(score: Score, part: Part, least_rest: int = LEAST_REST) -> tuple[Cue, ...]:
    """The cues that ``part`` needs, by place: one before every entry after ``least_rest`` whole measures of rest.

    A measure shorter than its metre counts as the share of it. None where no other part is heard to move.
    """
    others = [other for other in score.parts if other.id != part.id]
    cues: list[Cue] = []
    taken: set[int] = set()
    for entry, last in _entries(part, least_rest):
        cue = _cue(part, others, entry, last)
        if cue is not None and taken.isdisjoint(range(cue.first_measure, cue.last_measure + 1)):
            taken.update(range(cue.first_measure, cue.last_measure + 1))
            cues.append(cue)
    return tuple(sorted(cues, key=lambda cue: cue.first_measure))


# Where the part rests and enters


def _entries(part: Part, least_rest: int) -> Iterator[tuple[int, int]]:
    """The measure of each entry with the measure of rest that is played before it: written neighbours, then jumps."""
    steps = [(index, before) for index in range(len(part.measures)) if (before := _before(part, index)) is not None]
    for entry, last in (*steps, *_jumps_back(part.measures)):
        if part.notes_in(entry) and _has_rested(part, last, least_rest):
            yield entry, last


def _before(part: Part, index: int) -> int | None:
    """The measure that is played before another one as one reads on: before a later ending, that before the first."""
    before = index - 1
    if index and part.measures[index].endings and part.measures[index].endings != part.measures[before].endings:
        while before >= 0 and part.measures[before].endings:
            before -= 1
    return before if before >= 0 else None


def _jumps_back(measures: Sequence[Measure]) -> Iterator[tuple[int, int]]:
    """The first measure of each repeated section, with each measure from which playing goes back to it."""
    start = 0
    for measure in measures:
        if measure.repeat_from:
            start = measure.index
        if measure.repeat_back:
            yield start, measure.index
            following = measures[measure.index + 1] if measure.index + 1 < len(measures) else None
            if not (measure.endings and following is not None and following.endings):
                start = measure.index + 1


def _has_rested(part: Part, last: int, least_rest: int) -> bool:
    """Whether the part has been silent for so long when measure ``last`` is over."""
    rested, at = Fraction(0), part.measures[last]
    while not part.notes_in(at.index):
        rested += min(Fraction(1), at.length * at.time[1] / (4 * at.time[0]))
        before = _before(part, at.index)
        if rested >= least_rest or before is None:
            return rested >= least_rest
        at = part.measures[before]
    return False


# What is heard


@dataclass(frozen=True, slots=True)
class _Line:
    """One line of a part before the entry; ``place`` is that of the part in the score."""

    source: Part
    place: int
    notes: tuple[Note, ...]

    @property
    def attacks(self) -> int:
        """How many times something begins."""
        return sum(not note.tied_from for note in self.notes)

    def merit(self, end: Fraction, beat: Fraction) -> tuple[bool | float, ...]:
        """What speaks for it, the first thing most, ``end`` being the time of the entry.

        It moves; it sounds right before the entry; it is a solo; it is loud; it is high.
        """
        pitches = [note.pitch.midi + self.source.transpose_at(note.onset) for note in self.notes]
        ends = self.notes[-1].onset + self.notes[-1].duration
        return (
            len(set(pitches)) > 1,
            end - ends <= _PAUSE * beat,
            any(note.players == "solo" for note in self.notes),
            max(_loudness(note.dynamic) for note in self.notes),
            float(sum(pitches) / len(pitches)),
            -self.place,
        )


def _loudness(level: str) -> float:
    """Steps from the middle between mp and mf, above it where a part has no dynamic of its own."""
    return (level.count("f") - level.count("p")) / (2 if "m" in level else 1)


def _cue(part: Part, others: Sequence[Part], entry: int, last: int) -> Cue | None:
    """The cue for the entry in measure ``entry`` after measure ``last``: of one measure, or two where that says little.

    The measure of the entry itself is looked at as far as the part still rests in it, if the two follow each other.
    """
    onset = min(note.onset for note in part.notes_in(entry))
    end = onset if entry == last + 1 else part.measures[last].onset + part.measures[last].length
    line = _best(part, others, last, last, end)
    earlier = _before(part, last)
    if (line is None or line.attacks < _ENOUGH) and earlier == last - 1 and not part.notes_in(earlier):
        line = _best(part, others, earlier, last, end) or line
    if line is None or line.attacks < _FEWEST:
        return None
    ids = tuple(note.id for note in line.notes)
    return Cue(part.id, line.source.id, line.notes[0].measure, max(last, line.notes[-1].measure), ids)


def _best(part: Part, others: Sequence[Part], first: int, last: int, end: Fraction) -> _Line | None:
    """The line that is best to enter from, of all that attack something and sound in measure ``last``."""
    at = part.measures[last]
    lines = (_Line(source, place, _notes(source, first, last, end)) for place, source in enumerate(others))
    heard = [
        line
        for line in lines
        if line.attacks
        and any(note.measure == last for note in line.notes)
        # The two notes of a fingered tremolo are both written as long as the two together.
        and not any(note.tremolo == "fingered" for note in line.notes)
    ]
    return max(heard, key=lambda line: line.merit(end, Fraction(4, at.time[1])), default=None)


def _notes(source: Part, first: int, last: int, end: Fraction) -> tuple[Note, ...]:
    """The upper line of a part in measures ``first`` to ``last``, and on to ``end``, where the player enters."""
    found: list[Note] = []
    for index in range(first, last + 2):
        for note in _upper_line(source.notes_in(index)):
            if index > last and note.onset + note.duration > end:
                return tuple(found)
            found.append(note)
    return tuple(found)


def _upper_line(notes: Sequence[Note]) -> list[Note]:
    """Of the notes of a measure those of the voice that lies highest, of each chord the highest, in order of time."""
    voices: dict[tuple[int, str], dict[Fraction, Note]] = {}
    for note in notes:
        if not note.grace and note.duration:
            line = voices.setdefault((note.staff, note.voice), {})
            if note.onset not in line or note.pitch.midi > line[note.onset].pitch.midi:
                line[note.onset] = note
    upper = max(voices.values(), key=_height, default={})
    return [upper[onset] for onset in sorted(upper)]


def _height(line: dict[Fraction, Note]) -> Fraction:
    return sum((Fraction(note.pitch.midi) for note in line.values()), Fraction(0)) / len(line)
