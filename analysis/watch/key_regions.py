"""Passages that are really in another key than the printed signature says.

Where accidentals alter a letter through many measures, the danger lies on both edges: the first measure that changes
and the first that changes back (common practice, no source). How the keys are found: ``analysis.keys``.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from analysis.keys.evidence import fifth_of
from analysis.keys.regions import Region, certainty, struck
from analysis.music import Note, Part, altered_by
from analysis.watch.finding import SUGGESTION, Finding, found
from analysis.watch.inflections import inflection_word, listed, measures_listed
from analysis.watch.study import Study

# So many notes of letters that the other signature has otherwise make a passage worth telling; fewer are accidentals.
_FEWEST = 3
# Other keys of the same signature are named where they take up one measure in so many.
_NAMED = 3
# A letter that is as printed again within so many measures is worth telling.
_SOON = 4


@dataclass(frozen=True, slots=True)
class _Passage:
    """Regions in a row whose keys have the same signature, from measure ``first`` to ``last``, printed otherwise."""

    regions: tuple[Region, ...]
    first: int
    last: int
    printed: int

    @property
    def fifths(self) -> int:
        """The signature of the keys."""
        return self.regions[0].fifths

    def changes(self, note: Note) -> bool:
        """Whether the signature of the keys alters the letter of a note otherwise than the printed one."""
        return altered_by(self.fifths, note.pitch.step) != altered_by(self.printed, note.pitch.step)

    def holds(self, note: Note) -> bool:
        """Whether a note belongs to the scale of its key."""
        fifth = fifth_of(note.pitch)
        region = next(one for one in self.regions if note.measure <= one.last_measure)
        return fifth is not None and region.key.holds(fifth)


def watch_key_regions(study: Study) -> Iterator[Finding]:
    """Where the accidentals amount to another key signature than the printed one."""
    part = study.part
    for passage in _passages(part, study.regions):
        notes = list(struck(part, passage.first, passage.last))
        speaking = _speaking(passage, notes)
        against = sum(not _is_altered(part, note) and not passage.holds(note) for note in notes)
        sure = certainty(len(speaking), against)
        if sum(map(passage.changes, speaking)) >= _FEWEST and sure >= SUGGESTION:
            yield found("key-region", speaking, _sentence(part, passage, notes, speaking), sure)


def _speaking(passage: _Passage, notes: Sequence[Note]) -> list[Note]:
    """The notes that speak for the keys of a passage, without letters that are only now and then so altered."""
    named = {note_id for region in passage.regions for note_id in region.speaking}
    every = Counter(note.pitch.step for note in notes)
    altered = Counter((note.pitch.step, note.pitch.alter) for note in notes if note.id in named)
    usual = {(step, alter) for (step, alter), count in altered.items() if 2 * count >= every[step]}
    return [note for note in notes if note.id in named and (note.pitch.step, note.pitch.alter) in usual]


def _is_altered(part: Part, note: Note) -> bool:
    return note.pitch.alter != altered_by(part.key_at(note.onset), note.pitch.step)


def _passages(part: Part, regions: Sequence[Region]) -> Iterator[_Passage]:
    """The passages whose signature is not the printed one, from the first to the last measure that the part plays."""
    by_measure = [region for region in regions for _ in range(region.first_measure, region.last_measure + 1)]
    printed = [part.key_at(measure.onset) for measure in part.measures]

    def signatures(measure: int) -> tuple[int, int]:
        return by_measure[measure].fifths, printed[measure]

    for (fifths, key), run in itertools.groupby(range(len(by_measure)), signatures):
        played = [measure for measure in run if part.notes_in(measure)]
        if played and fifths != key:
            inside = dict.fromkeys(by_measure[measure] for measure in range(played[0], played[-1] + 1))
            yield _Passage(tuple(inside), played[0], played[-1], key)


def _sentence(part: Part, passage: _Passage, notes: Sequence[Note], speaking: Sequence[Note]) -> str:
    first, last = part.measures[passage.first].label, part.measures[passage.last].label
    where = f"Measure {first} is" if passage.first == passage.last else f"Measures {first}–{last} are"
    begins = ""
    if speaking[0].measure > passage.first:
        begins = f", first in {measures_listed([part.measures[speaking[0].measure].label])}"
    said = f"{where} really in {_keys(passage)}, though no new key is printed: {_letters(notes, speaking)}{begins}"
    back = _back(part, passage, [note for note in speaking if passage.changes(note)])
    return f"{said}; {back}." if back else f"{said}."


def _keys(passage: _Passage) -> str:
    """The keys of a passage that are heard for long, in their order."""
    lengths = Counter[str]()
    for region in passage.regions:
        measures = min(region.last_measure, passage.last) - max(region.first_measure, passage.first) + 1
        lengths[region.key.words] += measures
    longest = max(lengths.values())
    whole = sum(lengths.values())
    return listed(words for words, count in lengths.items() if count == longest or _NAMED * count >= whole)


def _letters(notes: Sequence[Note], speaking: Sequence[Note]) -> str:
    """How the letters are altered, and in how many notes."""
    every = Counter(note.pitch.step for note in notes)
    altered = Counter((note.pitch.step, int(note.pitch.alter)) for note in speaking)
    return listed(_letter(step, alter, count, every[step]) for (step, alter), count in altered.items())


def _letter(step: str, alter: int, count: int, of: int) -> str:
    word = inflection_word(alter)
    if count < of:
        return f"{step} is {word} in {count} of {of} notes"
    return f"every {step} is {word} ({count} notes)" if count > 1 else f"the {step} is {word}"


def _back(part: Part, passage: _Passage, changed: Sequence[Note]) -> str:
    """Where letters are soon as printed again after a passage."""
    steps = {note.pitch.step for note in changed}
    again: dict[int, dict[str, str]] = {}
    for note in struck(part, passage.last + 1, min(passage.last + _SOON, len(part.measures) - 1)):
        step = note.pitch.step
        if step in steps:
            steps.remove(step)
            if not _is_altered(part, note):
                word = inflection_word(int(note.pitch.alter))
                again.setdefault(note.measure, {})[step] = word
    return listed(_again(part, measure, letters) for measure, letters in again.items()) if again else ""


def _again(part: Part, measure: int, letters: dict[str, str]) -> str:
    """Which letters are as printed again in a measure."""
    by_word: dict[str, list[str]] = {}
    for step, word in letters.items():
        by_word.setdefault(word, []).append(step)
    said = listed(f"{listed(steps)} {'is' if len(steps) == 1 else 'are'} {word}" for word, steps in by_word.items())
    return f"in {measures_listed([part.measures[measure].label])} {said} again"
