"""Music whose keys are known, out of the corpus that music21 carries: annotated scores, tunes, movements."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import Any

from music21 import converter

from analysis.keys.evidence import fifth_of
from analysis.keys.signatures import SIGNATURES, Key
from analysis.music import Measure, Note, Part, Pitch, Score
from engraving.document import open_document
from engraving.reading import read_score
from tests.engraving.corpus import corpus_folder

# The chorales of the annotated collection, by their numbers in it, and the files that hold them. Left out are 11 and
# 15: score and annotation count the measures of a repeat differently.
_CHORALES: Mapping[int, str] = MappingProxyType(
    {
        1: "269", 2: "347", 3: "153.1", 4: "86.6", 5: "267", 6: "281", 7: "17.7", 8: "40.8", 9: "248.12-2", 10: "38.6",
        12: "65.2", 13: "33.6", 14: "184.5", 16: "311", 17: "145.5", 18: "318", 19: "351", 20: "302",
    }
)  # fmt: skip
# Two are annotated in another key than the score is in: fifths up from the annotation.
_TRANSPOSED: Mapping[int, int] = MappingProxyType({14: 1, 17: 2})
# Every so many files of one-tune files, and whole files of many tunes.
_TUNE_FILES = ("ryansMammoth", 12)
_TUNE_BOOKS = ("oneills1850/0101-0200.abc", "essenFolksong/kinder0.abc")
MOVEMENTS = tuple(
    f"{work}/movement{number}.mxl"
    for work, count in (("haydn/opus1no1", 5), ("mozart/k80", 4), ("mozart/k155", 3), ("mozart/k156", 4))
    for number in range(1, count + 1)
)


@dataclass(frozen=True, slots=True)
class Annotated:
    """A score, and the keys that its annotation gives: quarter by quarter the index of the measure and the key."""

    name: str
    path: Path
    score: Score
    quarters: tuple[tuple[int, Key], ...]


@dataclass(frozen=True, slots=True)
class Tune:
    """A single line without its signature, the key printed over it, and the stream that music21 reads."""

    part: Part
    key: Key
    stream: Any


def annotated_scores() -> list[Annotated]:
    """The annotated scores, 18 chorales and 48 madrigals, always in the same order."""
    folder = corpus_folder()
    found = []
    for number, name in _CHORALES.items():
        analysis = folder / f"bach/choraleAnalyses/riemenschneider{number:03}.rntxt"
        found.append(_annotated(analysis, folder / f"bach/bwv{name}.mxl", _TRANSPOSED.get(number, 0)))
    for analysis in sorted((folder / "monteverdi").glob("*.rntxt")):
        found.append(_annotated(analysis, analysis.with_suffix(".mxl"), 0))
    return found


def _annotated(analysis: Path, path: Path, up: int) -> Annotated:
    score = read_score(open_document(path))
    changes: dict[int, list[tuple[Fraction, Key]]] = {}
    for measure in converter.parse(analysis, format="romantext").parts[0].getElementsByClass("Measure"):
        for chord in measure.getElementsByClass("RomanNumeral"):
            key = key_of(chord.key)
            changes.setdefault(measure.number, []).append(
                (Fraction(chord.offset), replace(key, fifths=key.fifths + up))
            )
    return Annotated(path.stem, path, score, tuple(_quarters(score.parts[0].measures, changes)))


def _quarters(
    measures: tuple[Measure, ...], changes: dict[int, list[tuple[Fraction, Key]]]
) -> Iterator[tuple[int, Key]]:
    """The key in force at each quarter note, up to the last measure that is annotated."""
    key, number, passed = None, -1, Fraction(0)
    for measure in measures:
        # A repeat that ends within a measure makes two of one: 7 and 7a.
        counted = int(re.findall(r"\d+", measure.label)[0])
        passed = passed if counted == number else Fraction(0)
        number = counted
        if number > max(changes):
            return
        for quarter in range(-int(-measure.length // 1)):
            for at, change in changes.get(number, ()):
                key = change if at <= passed + quarter else key
            if key is not None:
                yield measure.index, key
        passed += measure.length


def key_of(key: Any) -> Key:
    """A key as music21 has it."""
    fifth = fifth_of(Pitch(key.tonic.step, int(key.tonic.alter), 4))
    if fifth is None or key.mode not in ("major", "minor"):
        raise ValueError(f"{key} is neither major nor minor")
    return Key(fifth - (3 if key.mode == "minor" else 0), key.mode)


def tunes() -> list[Tune]:
    """Single lines printed in a major or minor key."""
    folder, every = corpus_folder() / _TUNE_FILES[0], _TUNE_FILES[1]
    streams = [converter.parse(path) for path in sorted(folder.glob("*.abc"))[::every]]
    for book in _TUNE_BOOKS:
        streams += converter.parse(corpus_folder() / book).scores
    return [tune for stream in streams for tune in _tune(stream)]


def _tune(stream: Any) -> Iterator[Tune]:
    printed = list(stream.recurse().getElementsByClass("Key"))
    if len(printed) != 1 or printed[0].mode not in ("major", "minor"):
        return
    key = key_of(printed[0])
    part = part_of(stream)
    if part.notes and key.fifths in SIGNATURES:
        yield Tune(part, key, stream)


def part_of(stream: Any) -> Part:
    """The notes of a single line that music21 has read, in its measures, without a key signature."""
    measures, notes, onset = [], [], Fraction(0)
    for index, measure in enumerate(stream.recurse().getElementsByClass("Measure")):
        length = Fraction(measure.duration.quarterLength)
        measures.append(Measure(index, str(measure.number), onset, length))
        for note in measure.recurse().getElementsByClass("Note"):
            pitch = Pitch(note.pitch.step, int(note.pitch.alter), note.pitch.octave)
            at = onset + Fraction(note.getOffsetInHierarchy(measure))
            held = note.tie is not None and note.tie.type != "start"
            notes.append(
                Note(f"n{len(notes)}", pitch, at, Fraction(note.quarterLength), index, grace=note.duration.isGrace,
                     tied_from=held)
            )  # fmt: skip
        onset += length
    return Part("P1", "Violin", tuple(measures), tuple(notes))
