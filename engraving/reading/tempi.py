"""The tempi of a score: metronome marks and sounding tempi first, tempo words where no number stands.

A tempo stands in one part and holds for all; of two at once the upper part's counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction

from analysis.music import Tempo
from engraving.reading.partwalk import WalkedMeasure
from engraving.reading.tempowords import TempoWord, counted_beat, tempo_word

_COMMON_TIME = (4, 4)


def tempi(parts: Sequence[Sequence[WalkedMeasure]], onsets: Sequence[Fraction], title: str) -> tuple[Tempo, ...]:
    """The tempi in the order of time; ``onsets`` are those of the measures.

    ``title`` is the movement's, "" for none: a tempo word in it holds from the beginning where nothing else does.
    """
    found: dict[Fraction, Tempo] = {}
    for onset, number in _numbers(parts, onsets):
        found.setdefault(onset, Tempo(onset, number))
    for onset, word, time in _words(parts, onsets):
        found.setdefault(onset, _by_word(onset, word, time))
    heading = tempo_word(title)
    if heading is not None:
        found.setdefault(Fraction(0), _by_word(Fraction(0), heading, _time(parts[0][0]) if parts[0] else _COMMON_TIME))
    return tuple(found[onset] for onset in sorted(found))


def _by_word(onset: Fraction, word: TempoWord, time: tuple[int, int]) -> Tempo:
    return Tempo(onset, word.beats_a_minute * float(counted_beat(time)), word.text)


def _time(measure: WalkedMeasure) -> tuple[int, int]:
    return _COMMON_TIME if measure.metre is None else measure.metre.time


def _numbers(parts: Sequence[Sequence[WalkedMeasure]], onsets: Sequence[Fraction]) -> Iterator[tuple[Fraction, float]]:
    for part in parts:
        # Of two marks at one place in a part the later one counts.
        mine = {
            onsets[index] + direction.onset: direction.said.tempo
            for index, measure in enumerate(part)
            for direction in measure.directions
            if direction.said.tempo is not None
        }
        yield from mine.items()


def _words(
    parts: Sequence[Sequence[WalkedMeasure]], onsets: Sequence[Fraction]
) -> Iterator[tuple[Fraction, TempoWord, tuple[int, int]]]:
    for part in parts:
        for index, measure in enumerate(part):
            for direction in measure.directions:
                if direction.said.word is not None:
                    yield onsets[index] + direction.onset, direction.said.word, _time(measure)
