"""Random parts, house rules and locks for hypothesis."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.terms import TERM_NAMES
from analysis.music import Part
from tests.analysis.lines import line

_NATURALS = tuple(f"{step}{octave}" for octave in (3, 4, 5) for step in "CDEFGAB")
SINGLES = (
    *_NATURALS[4:], "C6", "D6", "Bb3", "C#4", "Eb4", "F#4", "G#4", "Ab4", "Bb4", "B#4", "C#5", "Db5", "D#5", "Eb5",
    "F#5", "G#5", "Bb5", "Cb5", "E#5", "A#4",
)  # fmt: skip
CHORDS = (
    "D4 A4", "G3 D4", "A4 E5", "B4 E4", "B4 D4", "C5 E4", "F#5 A4", "G4 B4", "D4 B4 G5", "G3 D4 B4", "C4 E4", "G4 D5",
    "F4 D5", "A4 A4", "E4 C5", "A3 E4 C#5 E5", "B3 G4", "C5 G5",
)  # fmt: skip
LENGTHS = ("1/4", "1/2", "3/4", "1", "3/2", "2", "3")


@st.composite
def words(draw: st.DrawFn, *, singles: tuple[str, ...] = SINGLES, chords: bool = True) -> str:
    """One attack or rest of a line, with what may be tied or graced."""
    kind = draw(st.sampled_from("nnnnnnnnctrg"))
    length = draw(st.sampled_from(LENGTHS))
    name = draw(st.sampled_from(singles))
    if kind == "r":
        return f"r/{length}"
    if kind == "g":
        return f"*{name}"
    if kind == "t":
        return f"{name}/{length}~ {name}/1"
    if kind == "c" and chords:
        chord = draw(st.sampled_from(CHORDS))
        return draw(st.sampled_from((f"[{chord}]/{length}", _held(chord, length))))
    return f"{name}/{length}"


def _held(chord: str, length: str) -> str:
    """A chord of which the lowest note is tied on into the same chord."""
    first, *others = chord.split()
    return f"[{' '.join((first + '~', *others))}]/{length} [{chord}]/1"


@st.composite
def texts(draw: st.DrawFn, *, least: int = 1, most: int = 12, chords: bool = True) -> str:
    """A line of words with slurs."""
    found = draw(st.lists(words(chords=chords), min_size=least, max_size=most))
    # Slurs begin and end at whole words.
    at = 0
    while at < len(found):
        size = draw(st.integers(0, 4))
        if size > 1 and at + size <= len(found):
            found[at] = "(" + found[at]
            found[at + size - 1] += ")"
        at += max(size, 1)
    return " ".join(found)


@st.composite
def parts(draw: st.DrawFn, *, least: int = 1, most: int = 12, voices: int = 1, chords: bool = True) -> Part:
    """A violin part of one or more voices."""
    lines = [draw(texts(least=least, most=most, chords=chords)) for _ in range(draw(st.integers(1, voices)))]
    return line(*lines, tempo=draw(st.sampled_from((None, 50.0, 88.0, 144.0))))


@st.composite
def rules(draw: st.DrawFn, *, positions: int = 3) -> HouseRules:
    """House rules of up to so many positions."""
    allowed = draw(st.lists(st.sampled_from((0, 1, 2, 3, 4, 5)), min_size=1, max_size=positions, unique=True))
    weights = draw(st.dictionaries(st.sampled_from(TERM_NAMES), st.sampled_from((0.0, 0.5, 2.0, 7.25)), max_size=4))
    return HouseRules(
        positions=tuple(allowed),
        home=draw(st.sampled_from(allowed)),
        longest_open=Fraction(draw(st.sampled_from(LENGTHS))),
        never_open=tuple(draw(st.sets(st.integers(1, 4), max_size=2))),
        fourth_saves_crossing=draw(st.booleans()),
        avoid_shrill_open=draw(st.booleans()),
        extensions=draw(st.booleans()),
        weights=tuple(weights.items()),
    )


def locks() -> st.SearchStrategy[Lock]:
    """A lock on any of string, position and finger; many ask for what a note does not have."""
    return st.builds(
        Lock,
        string=st.none() | st.integers(1, 4),
        position=st.none() | st.integers(0, 5),
        finger=st.none() | st.integers(0, 4),
    )


@st.composite
def locked(draw: st.DrawFn, part: Part, *, most: int = 3) -> dict[str, Lock]:
    """Locks on some notes of a part."""
    ids = [note.id for note in part]
    if not ids:
        return {}
    return draw(st.dictionaries(st.sampled_from(ids), locks(), max_size=most))
