"""The keys that a part is in, region by region, whatever signature is printed."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from analysis.keys.evidence import evidence, fifth_of, fifth_words
from analysis.keys.signatures import KEYS, Key, Mode, change_costs, key_costs, least_cost_keys
from analysis.music import Note, Part, altered_by


@dataclass(frozen=True, slots=True)
class Region:
    """Measures ``first_measure`` to ``last_measure`` (indices, both included) in one key.

    ``fifths`` is the signature of the key, ``tonic`` its name as printed ("B♭"). ``speaking`` are the struck notes of
    the part that the printed signature alters otherwise and that belong to the key. ``certainty``: see
    :func:`certainty`.
    """

    first_measure: int
    last_measure: int
    fifths: int
    tonic: str
    mode: Mode
    speaking: tuple[str, ...]
    certainty: float

    @property
    def key(self) -> Key:
        """The key."""
        return Key(self.fifths, self.mode)


def key_regions(part: Part, others: Sequence[Part] = ()) -> tuple[Region, ...]:
    """The keys of least cost, exactly, as regions that cover all measures of ``part``.

    ``others`` are the parts that sound with it; they count as evidence, moved to the pitch at which
    ``part`` is written.
    """
    count = len(part.measures)
    if not count:
        return ()
    heard = [evidence(other, count, other.transpose - part.transpose) for other in others if other.notes]
    printed = [part.key_at(measure.onset) for measure in part.measures]
    path = least_cost_keys(key_costs(evidence(part, count), heard), change_costs(printed))
    regions, first = [], 0
    for number, run in itertools.groupby(path):
        last = first + len(list(run)) - 1
        regions.append(_region(part, first, last, KEYS[number]))
        first = last + 1
    return tuple(regions)


def _region(part: Part, first: int, last: int, key: Key) -> Region:
    speaking, against = [], 0
    for note in struck(part, first, last):
        fifth = fifth_of(note.pitch)
        if fifth is None:
            continue
        if note.pitch.alter != altered_by(part.key_at(note.onset), note.pitch.step):
            if key.holds(fifth):
                speaking.append(note.id)
        elif not key.holds(fifth):
            against += 1
    tonic = fifth_words(key.tonic)
    return Region(first, last, key.fifths, tonic, key.mode, tuple(speaking), certainty(len(speaking), against))


def struck(part: Part, first: int, last: int) -> Iterator[Note]:
    """The notes of some measures in written order, without those that a tie holds on."""
    return (note for measure in range(first, last + 1) for note in part.notes_in(measure) if not note.tied_from)


def certainty(speaking: int, against: int) -> float:
    """How sure it is that notes are in another signature than the printed one: their share, with one more against.

    ``speaking`` notes are as the other signature has them and ``against`` as only the printed one has them. The one
    more keeps few notes from being sure.

    >>> certainty(3, 0), certainty(9, 1)
    (0.75, 0.8181818181818182)
    """
    return speaking / (speaking + against + 1)
