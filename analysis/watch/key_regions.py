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
from analysis.keys.signatures import Key
from analysis.language import _, n_
from analysis.music import Note, Part, altered_by
from analysis.pitch_names import inflection_word, pitch_name
from analysis.watch.finding import SUGGESTION, Finding, found
from analysis.watch.inflections import measures_listed
from analysis.watch.study import Study
from analysis.wording import listed

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
    letters = _letters(notes, speaking)
    if speaking[0].measure > passage.first:
        measure = measures_listed([part.measures[speaking[0].measure].label])
        letters = _("{letters}, first in {measure}").format(letters=letters, measure=measure)
    back = _back(part, passage, [note for note in speaking if passage.changes(note)])
    if back:
        letters = _("{letters}; {back}").format(letters=letters, back=back)
    one = passage.first == passage.last
    return n_(
        "Measure {numbers} is really in {keys}, though no new key is printed: {letters}.",
        "Measures {numbers} are really in {keys}, though no new key is printed: {letters}.",
        1 if one else 2,
    ).format(numbers=first if one else f"{first}–{last}", keys=_keys(passage), letters=letters)


def _keys(passage: _Passage) -> str:
    """The keys of a passage that are heard for long, in their order."""
    lengths = Counter[Key]()
    for region in passage.regions:
        measures = min(region.last_measure, passage.last) - max(region.first_measure, passage.first) + 1
        lengths[region.key] += measures
    longest = max(lengths.values())
    whole = sum(lengths.values())
    return listed(key.words for key, count in lengths.items() if count == longest or _NAMED * count >= whole)


def _letters(notes: Sequence[Note], speaking: Sequence[Note]) -> str:
    """How the letters are altered, and in how many notes."""
    every = Counter(note.pitch.step for note in notes)
    altered = Counter((note.pitch.step, int(note.pitch.alter)) for note in speaking)
    return listed(_letter(step, alter, count, every[step]) for (step, alter), count in altered.items())


def _letter(step: str, alter: int, count: int, of: int) -> str:
    if count < of:
        words = _("{letter} is {inflection} in {count} of {total} notes")
    elif count == 1:
        words = _("the {letter} is {inflection}")
    else:
        words = n_(
            "every {letter} is {inflection} ({count} note)", "every {letter} is {inflection} ({count} notes)", count
        )
    return words.format(letter=pitch_name(step), inflection=inflection_word(alter), count=count, total=of)


def _back(part: Part, passage: _Passage, changed: Sequence[Note]) -> str:
    """Where letters are soon as printed again after a passage."""
    steps = {note.pitch.step for note in changed}
    again: dict[int, dict[str, int]] = {}
    for note in struck(part, passage.last + 1, min(passage.last + _SOON, len(part.measures) - 1)):
        step = note.pitch.step
        if step in steps:
            steps.remove(step)
            if not _is_altered(part, note):
                again.setdefault(note.measure, {})[step] = int(note.pitch.alter)
    return listed(_again(part, measure, letters) for measure, letters in again.items()) if again else ""


def _again(part: Part, measure: int, letters: dict[str, int]) -> str:
    """Which letters are as printed again in a measure."""
    by_alter: dict[int, list[str]] = {}
    for step, alter in letters.items():
        by_alter.setdefault(alter, []).append(pitch_name(step))
    said = listed(
        n_("{letters} is {inflection}", "{letters} are {inflection}", len(names)).format(
            letters=listed(names), inflection=inflection_word(alter)
        )
        for alter, names in by_alter.items()
    )
    where = measures_listed([part.measures[measure].label])
    return _("in {where} {letters} again").format(where=where, letters=said)
