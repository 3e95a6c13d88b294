"""Raised notes that lead to the tonic: a half step under it, beside the next finger.

That the leading note lies close under its tonic, and beside the next finger: common practice, no source.
"""

from __future__ import annotations

import bisect
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from analysis.keys.evidence import comes_to_rest, fifth_of, melodies
from analysis.keys.regions import Region, certainty
from analysis.keys.signatures import Key
from analysis.language import _, p_
from analysis.music import Note, altered_by
from analysis.watch.finding import Finding, found
from analysis.watch.gathering import finger_words
from analysis.watch.inflections import letters_words, measures_listed
from analysis.watch.study import Study
from analysis.wording import listed

_FIFTHS_BELOW = 5
# Notes that lead to one tonic are told at once, so long as no more measures lie between two of them.
_ONE_PASSAGE = 8
_HIGHEST_FINGER = 4


@dataclass(frozen=True, slots=True)
class _Leading:
    """A raised note, the ``tonic`` it leads to, the key of that, and whether the line rests there."""

    note: Note
    tonic: Note
    key: Key
    closes: bool


def watch_leading_notes(study: Study) -> Iterator[Finding]:
    """Where raised notes lead to the tonic of the key that the music is in."""
    places = {note.id: number for number, note in enumerate(study.part.notes)}
    for notes in _together(sorted(_leading(study), key=lambda one: places[one.note.id])):
        if len(notes) > 1 or notes[0].closes:
            sure = certainty(len(notes), 0)
            yield found("leading-note", (one.note for one in notes), _sentence(study, notes), sure)


def _leading(study: Study) -> Iterator[_Leading]:
    """Notes raised above the key signature that step up by a half step to the tonic."""
    part, regions = study.part, study.regions
    for line in melodies(part):
        for at in range(1, len(line)):
            note, after = line[at - 1 : at + 1]
            below, above = fifth_of(note.pitch), fifth_of(after.pitch)
            if below is None or above is None or below - above != _FIFTHS_BELOW:
                continue
            raised = note.pitch.alter > altered_by(part.key_at(note.onset), note.pitch.step)
            # A note may lead to a region from the measure before.
            key = next((key for key in _keys(regions, note, after) if key.tonic == above), None)
            if raised and key is not None and after.pitch.letter == note.pitch.letter + 1:
                closes = comes_to_rest(note, after, line[at + 1] if at + 1 < len(line) else None)
                yield _Leading(note, after, key, closes)


def _keys(regions: Sequence[Region], *notes: Note) -> Iterator[Key]:
    """The key in which each note stands."""
    for note in notes:
        yield regions[bisect.bisect_right(regions, note.measure, key=lambda region: region.first_measure) - 1].key


def _together(every: Iterable[_Leading]) -> list[list[_Leading]]:
    """Notes that lead to one tonic without a long time between."""
    groups: list[list[_Leading]] = []
    latest: dict[int, list[_Leading]] = {}
    for one in every:
        tonic = one.key.tonic
        if tonic in latest and one.note.measure - latest[tonic][-1].note.measure <= _ONE_PASSAGE:
            latest[tonic].append(one)
        else:
            latest[tonic] = [one]
            groups.append(latest[tonic])
    return groups


def _sentence(study: Study, notes: Sequence[_Leading]) -> str:
    where = measures_listed(list(dict.fromkeys(study.label(one.note) for one in notes)))
    raised, tonic = notes[0].note.pitch, notes[0].tonic.pitch.words
    leading = letters_words([(raised.step, int(raised.alter))])
    keys = listed(key.words for key in dict.fromkeys(one.key for one in notes))
    return _close(study, notes).format(letter=leading, where=where, tonic=tonic, keys=keys)


def _close(study: Study, notes: Sequence[_Leading]) -> str:
    """The sentence for notes by how their fingers lie, with the notes still to be put in.

    Nothing is said of fingers where the string or the hand always changes.
    """
    fingers = {pair for one in notes if (pair := _fingers(study, one)) is not None}
    if len(fingers) != 1:
        if fingers or study.plan is None:
            return _(
                "{letter} in {where} leads to {tonic}, the home note of {keys}: "
                "only a half step, close to the next finger."
            )
        return _("{letter} in {where} leads to {tonic}, the home note of {keys}: only a half step.")
    ((low, high),) = fingers
    if low == high:
        words = _(
            "{letter} in {where} leads to {tonic}, the home note of {keys}: "
            "only a half step, so the {finger} moves up only a little."
        )
    else:
        words = _(
            "{letter} in {where} leads to {tonic}, the home note of {keys}: "
            "only a half step, so put the {finger} close to the {next}."
        )
    kept = {name: f"{{{name}}}" for name in ("letter", "where", "tonic", "keys")}
    return words.format(**kept, finger=finger_words(low), next=_named_after(high))


def _named_after(finger: int) -> str:
    """A finger after another one has been named: ``second``."""
    return (p_("finger", "first"), p_("finger", "second"), p_("finger", "third"), p_("finger", "fourth"))[finger - 1]


def _fingers(study: Study, one: _Leading) -> tuple[int, int] | None:
    """The fingers that stop both notes in one place of the hand; ``None`` where there are not two such."""
    below, above = study.placement(one.note), study.placement(one.tonic)
    if below is None or above is None or below.harmonic or above.harmonic:
        return None
    together = (below.string, below.position, below.hand) == (above.string, above.position, above.hand)
    stopped = 1 <= below.finger <= above.finger <= _HIGHEST_FINGER
    return (below.finger, above.finger) if together and stopped else None
