"""The sound files that are damaged: mini scores of every kind of sign, small scores of the corpus, other formats."""

from __future__ import annotations

from functools import cache

from engraving.document import open_document
from tests.engraving.corpus import corpus_folder
from tests.engraving.foreign import ABC, KERN, MEI, midi
from tests.engraving.strange import STRANGE
from tests.scores import full_score, part, score

_SMALL = (
    "bach/bwv136.6.mxl",
    "bach/bwv248.64-6.mxl",
    "beethoven/opus133.mxl",
    "corelli/opus3no1/1grave.xml",
    "mozart/k80/movement3.mxl",
    "schumann_clara/opus17/movement3.xml",
)
_LARGEST = 700_000
_MINI = (
    score("Violin", "4/4", "D5/1~ D5 (E5/0.5 F#5) *G5 A5/1 | [D4 A4]/2 r/1 B5^3%tr | : G4/4 : | {1.} A4/4 {.}", key=2),
    score("Violoncello", "3/4", "!p !< C3/1/3 D3 E3 F3/2 !. | \"pizz.\" G3/1^2 A3@a B3 & C2/3 | {2/4} C4/2%fermata"),
    score("Viola", "4/4", "r/3 C4/1 | !=60 D4/1%down E4%up F4/0.5 G4 A4/1%w1 | B4/4%w0", pickup=True),
    full_score(
        part("Violin I", "4/4", "D5/1 E5 F#5 G5 | A5/4"),
        part("Contrabass", "4/4", "E3/2 G3 | [E2 B2]/4"),
        part("Flute", "4/4", "x/4 | C+0.5,6/4"),
        title="Three",
    ),
)  # fmt: skip


@cache
def musicxml_seeds() -> tuple[bytes, ...]:
    """Sound MusicXML, and some that is strange but legal; the small ones come more often."""
    every = (open_document(corpus_folder() / name).source for name in _SMALL if (corpus_folder() / name).exists())
    large = tuple(text for text in every if len(text) < _LARGEST)
    small = (*_MINI, *(one.data for one in STRANGE if not one.refused))
    return (*small, *_MINI, *_MINI, *large)


def foreign_seeds() -> tuple[tuple[str, bytes], ...]:
    """Scores in the other formats, as (suffix, bytes)."""
    return (
        (".abc", ABC.encode()),
        (".krn", KERN.encode()),
        (".mei", MEI.encode()),
        (".mid", midi(62, 64, 66, 67)),
    )
