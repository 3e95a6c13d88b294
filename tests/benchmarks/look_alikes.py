"""How well music that comes again is found: copies planted in random music, growth, and time.

Run from the project's root: ``python -m tests.benchmarks.look_alikes``. Recall is the share of the planted notes that
are found beside the very notes they copy, precision the share of what is found that has been planted. Times are ratios
of medians of runs taken in turn.
"""

from __future__ import annotations

import random
import statistics
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import music21

from analysis.again.recurrences import recurrences
from analysis.music import LETTERS, Part, Pitch
from engraving.document import open_document
from engraving.extract import part_for_engraving
from engraving.reading import read_score
from tests.analysis.lines import line

CORPUS = Path(music21.__file__).parent / "corpus"
PIECE = "mozart/k458/movement1.mxl"
KINDS = ("exact", "fifth", "moved", "in key", "shortened", "extended", "left out", "put in", "changed",
         "moved, changed", "other part")  # fmt: skip
PIECES = 60
RUNS = 9
_LENGTHS = (Fraction(1, 4), Fraction(1, 2), Fraction(1, 2), Fraction(1), Fraction(1), Fraction(3, 2))
_STEPS = (-4, -3, -2, -2, -1, -1, -1, 0, 1, 1, 1, 2, 2, 3, 4)
_LOW, _HIGH = Pitch("G", 0, 3).letter, Pitch("E", 0, 6).letter
# Letter steps and semitones.
_MOVES = ((1, 1), (1, 2), (2, 3), (2, 4), (3, 5), (5, 9), (7, 12), (-1, -2), (-2, -3), (-3, -5), (-7, -12))
_FIFTHS = ((4, 7), (-4, -7))


@dataclass(frozen=True, slots=True)
class Tone:
    """One note of a random line; ``copies`` is the place of the note it copies in its own line."""

    pitch: Pitch
    quarters: Fraction
    copies: int | None = None


@dataclass(frozen=True, slots=True)
class Planted:
    """A part in which something comes again, the parts beside it, and for each copied note's id that of the first."""

    part: Part
    others: tuple[Part, ...]
    pairs: frozenset[tuple[str, str]]


def planted(kind: str, dice: random.Random) -> Planted:
    """Random music with one passage in it twice."""
    # What only another part has had has to be longer to be told.
    passage = random_line(dice, dice.randint(32, 48) if kind == "other part" else dice.randint(14, 34))
    before, between, after = (random_line(dice, dice.randint(10, 40)) for _ in range(3))
    copy = _copied(kind, passage, dice)
    if kind == "other part":
        return _in_another_part(before, passage, between, copy, after, random_line(dice, 10))
    start = len(before)
    tones = [*before, *passage, *between, *copy, *after]
    later = start + len(passage) + len(between)
    pairs = {
        (f"n{later + place + 1}", f"n{start + tone.copies + 1}")
        for place, tone in enumerate(copy)
        if tone.copies is not None
    }
    return Planted(as_part(tones), (), frozenset(pairs))


def _in_another_part(
    before: list[Tone],
    passage: list[Tone],
    between: list[Tone],
    copy: list[Tone],
    after: list[Tone],
    after_first: list[Tone],
) -> Planted:
    """The first time in another part, which begins with it; the part in hand waits until it is over."""
    waits = sum(tone.quarters for tone in passage)
    own = [*before, *between, *copy, *after]
    text = f"r/{waits} " + _text(own)
    other = as_part([*passage, *after_first], "Violin II")
    # Ids are of a file: those of the other part are others.
    other = replace(other, id="P2", notes=tuple(replace(note, id=f"o{note.id}") for note in other.notes))
    later = len(before) + len(between)
    pairs = {
        (f"n{later + place + 1}", f"on{tone.copies + 1}") for place, tone in enumerate(copy) if tone.copies is not None
    }
    return Planted(line(text), (other,), frozenset(pairs))


def _copied(kind: str, passage: list[Tone], dice: random.Random) -> list[Tone]:
    """The passage as it comes again."""
    copy = [replace(tone, copies=place) for place, tone in enumerate(passage)]
    middle = dice.randint(6, len(copy) - 6)
    match kind:
        case "fifth":
            return moved(copy, *dice.choice(_FIFTHS))
        case "moved":
            return moved(copy, *dice.choice(_MOVES))
        case "in key":
            return in_key(copy, dice.choice((-3, -2, -1, 1, 2, 3)))
        case "shortened":
            return copy[: max(12, len(copy) * 2 // 3)]
        case "extended":
            return [*copy, *random_line(dice, 8)]
        case "left out":
            return copy[:middle] + copy[middle + dice.randint(1, 2) :]
        case "put in":
            return copy[:middle] + random_line(dice, dice.randint(1, 2)) + copy[middle:]
        case "changed":
            pitch = _at_letter(copy[middle].pitch.letter + dice.choice((-2, 2)))
            return [*copy[:middle], replace(copy[middle], pitch=pitch, copies=None), *copy[middle + 1 :]]
        case "moved, changed":
            return _copied("changed", moved(copy, *dice.choice(_MOVES)), dice)
    return copy


def random_line(dice: random.Random, count: int) -> list[Tone]:
    """A line in C major in the violin's range."""
    letter = dice.randint(_LOW + 4, _HIGH - 4)
    tones = []
    for _ in range(count):
        step = dice.choice(_STEPS)
        letter = letter + step if _LOW <= letter + step <= _HIGH else letter - step
        tones.append(Tone(_at_letter(letter), dice.choice(_LENGTHS)))
    return tones


def moved(tones: Iterable[Tone], letters: int, semitones: int) -> list[Tone]:
    """The same music by an interval."""
    return [replace(tone, pitch=_moved(tone.pitch, letters, semitones)) for tone in tones]


def in_key(tones: Iterable[Tone], letters: int) -> list[Tone]:
    """The same music by letter steps in C major."""
    return [replace(tone, pitch=_at_letter(tone.pitch.letter + letters)) for tone in tones]


def _moved(pitch: Pitch, letters: int, semitones: int) -> Pitch:
    natural = _at_letter(pitch.letter + letters)
    return replace(natural, alter=pitch.midi + semitones - natural.midi)


def _at_letter(letter: int) -> Pitch:
    octave, step = divmod(letter, 7)
    return Pitch(LETTERS[step], 0, octave)


def as_part(tones: Sequence[Tone], name: str = "Violin") -> Part:
    """A part of these notes, with the ids n1, n2 and so on."""
    return line(_text(tones), name=name)


def _text(tones: Iterable[Tone]) -> str:
    return " ".join(f"{tone.pitch.name}/{tone.quarters}" for tone in tones)


def found_in(piece: Planted) -> frozenset[tuple[str, str]]:
    """The notes found to come again, each with the one it repeats."""
    return frozenset(
        (later.id, earlier.id)
        for one in recurrences(piece.part, piece.others)
        for row, source in one.pairs()
        for later, earlier in zip(one.lines.heads[row], one.lines.heads[source], strict=True)
    )


def precision_and_recall(kind: str, pieces: int, seed: int = 1) -> tuple[float, float]:
    """Of all notes of some random pieces together."""
    right = found = wanted = 0
    for number in range(pieces):
        piece = planted(kind, random.Random(f"{kind} {seed} {number}"))
        pairs = found_in(piece)
        right += len(pairs & piece.pairs)
        found += len(pairs)
        wanted += len(piece.pairs)
    return right / max(found, 1), right / wanted


def long_part(count: int) -> Part:
    """Random music of ``count`` notes in which passages of 24 notes keep coming again."""
    dice = random.Random(count)
    tones: list[Tone] = []
    while len(tones) < count:
        start = dice.randint(0, max(0, len(tones) - 40))
        passage = tones[start : start + 24]
        again = len(passage) == 24 and dice.random() < 0.4
        tones += passage if again else random_line(dice, 30)
    return as_part(tones[:count])


def main() -> None:
    print(f"planted in random music, {PIECES} pieces a kind")
    print(" precision     recall")
    for kind in KINDS:
        print("{:10.3f} {:10.3f}  {}".format(*precision_and_recall(kind, PIECES), kind))
    for name, value in measures():
        print(f"{value:10.3f}  {name}")


def measures() -> Iterable[tuple[str, float]]:
    document = open_document(CORPUS / PIECE)
    first, *others = read_score(document).parts
    text = part_for_engraving(document, first.id)

    def parse() -> None:
        music21.converter.parseData(text, format="musicxml")

    yield (
        f"{PIECE}, violin I beside the other parts / music21's parse of it",
        ratio(lambda: recurrences(first, others), parse),
    )
    yield (
        "violin I by itself / beside the other parts",
        ratio(lambda: recurrences(first), lambda: recurrences(first, others)),
    )
    some, twice = long_part(5_000), long_part(10_000)
    yield "10,000 notes / 5,000 notes", ratio(lambda: recurrences(twice), lambda: recurrences(some))


def ratio(one: Callable[[], object], other: Callable[[], object]) -> float:
    """The median time of ``one`` over that of ``other``, run in turn."""
    times: tuple[list[float], list[float]] = ([], [])
    for _ in range(RUNS):
        for call, taken in zip((one, other), times, strict=True):
            start = time.perf_counter()
            call()
            taken.append(time.perf_counter() - start)
    return statistics.median(times[0]) / statistics.median(times[1])


if __name__ == "__main__":
    main()
