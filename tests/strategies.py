"""Random parts, house rules and locks for hypothesis, and files of them that are edited at random."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import fields, replace
from fractions import Fraction
from functools import lru_cache
from typing import Any

import tomlkit
from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.rules.house import HouseRules, PassageRules
from analysis.fingering.terms import TERM_NAMES
from analysis.instruments import BASS, BASS5, CELLO, INSTRUMENTS, VIOLA, VIOLIN, Instrument
from analysis.music import LETTERS, Part, Pitch, Transposition
from tests.analysis.lines import line, repeated

LENGTHS = ("1/4", "1/2", "3/4", "1", "3/2", "2", "3")
_ALTERED = frozenset({"F#", "C#", "G#", "D#", "A#", "E#", "B#", "Bb", "Eb", "Ab", "Db", "Cb"})
# How far above the highest open string lines go, in semitones.
_RANGE = 12
_WORDS = "nnnnnnnnctrgTHTFd"


@lru_cache(maxsize=8)
def singles(instrument: Instrument) -> tuple[str, ...]:
    """Names of the written pitches that lines for an instrument are made of; naturals come twice."""
    low = instrument.strings[-1].pitch.midi - instrument.octave
    high = instrument.strings[0].pitch.midi - instrument.octave + _RANGE
    every = [Pitch(step, alter, octave) for octave in range(1, 8) for step in LETTERS for alter in (-1, 0, 1)]
    known = [pitch for pitch in every if low <= pitch.midi <= high]
    naturals = [pitch.name for pitch in known if pitch.alter == 0]
    return (*naturals, *naturals, *(pitch.name for pitch in known if pitch.spelling in _ALTERED))


@st.composite
def chords(draw: st.DrawFn, instrument: Instrument) -> str:
    """Two to four notes on neighbouring strings, open or within what a hand may cover; not every one can be held."""
    size = draw(st.sampled_from((2, 2, 2, 3, 4)))
    top = draw(st.integers(1, len(instrument.strings) - size + 1))
    hand = draw(st.integers(1, 5))
    span = 6 if instrument.letter_frame else 4 if instrument.frame == "cello" else 2
    names = []
    for number in range(top + size - 1, top - 1, -1):
        stop = draw(st.sampled_from((0, hand, *range(hand, hand + span + 1))))
        midi = int(instrument.string(number).pitch.midi) - instrument.octave + stop
        names.append(draw(st.sampled_from(_spelled(midi))))
    return " ".join(names)


@lru_cache(maxsize=128)
def _spelled(midi: int) -> tuple[str, ...]:
    """The usual spellings of a pitch."""
    near = [Pitch(step, alter, octave) for octave in range(9) for step in LETTERS for alter in (-1, 0, 1)]
    found = [pitch for pitch in near if pitch.midi == midi]
    return tuple(pitch.name for pitch in found if not pitch.alter) or tuple(pitch.name for pitch in found)


def _above(name: str, semitones: int) -> str:
    """The note a second above, minor or major."""
    pitch = Pitch.parse(name)
    octave, step = divmod(pitch.letter + 1, 7)
    natural = Pitch(LETTERS[step], 0, octave)
    return Pitch(natural.step, pitch.midi + semitones - natural.midi, octave).name


@st.composite
def words(draw: st.DrawFn, instrument: Instrument, *, with_chords: bool = True) -> str:
    """One attack or rest of a line, with what may be tied, graced, trilled, plucked or touched."""
    kind = draw(st.sampled_from(_WORDS))
    length = draw(st.sampled_from(LENGTHS))
    name = draw(st.sampled_from(singles(instrument)))
    if kind == "r":
        return f"r/{length}"
    if kind == "g":
        return f"*{name}"
    if kind == "t":
        return f"{name}/{length}~ {name}/1"
    if kind == "T":
        return f"{name}/{length}^{_above(name, draw(st.integers(1, 2)))}"
    if kind == "F":
        return f"{name}/{length}= {_above(name, draw(st.integers(1, 2)))}"
    if kind == "H":
        return draw(_harmonics(instrument)).format(length)
    if kind == "d":
        sign = draw(st.sampled_from(("pp", "mf", "ff", "pizz", "arco", "div", "unis")))
        return f"{{{sign}}} {name}/{length}"
    if kind == "c" and with_chords:
        chord = draw(chords(instrument))
        return draw(st.sampled_from((f"[{chord}]/{length}", _held(chord, length))))
    return f"{name}/{length}"


def _harmonics(instrument: Instrument) -> st.SearchStrategy[str]:
    """A natural harmonic, by what sounds or by what is touched; the length stands open."""
    bottoms = [int(string.pitch.midi) - instrument.octave for string in instrument.strings]
    sounding = [f"{name}/{{}}o" for low in bottoms for over in (12, 19, 24) for name in _spelled(low + over)]
    touched = [f"{name}/{{}}x" for low in bottoms for over in (4, 5, 7, 12) for name in _spelled(low + over)]
    return st.sampled_from((*sounding, *touched))


def _held(chord: str, length: str) -> str:
    """A chord of which the lowest note is tied on into the same chord."""
    first, *others = chord.split()
    return f"[{' '.join((first + '~', *others))}]/{length} [{chord}]/1"


@st.composite
def texts(
    draw: st.DrawFn, *, least: int = 1, most: int = 12, chords: bool = True, instrument: Instrument = VIOLIN
) -> str:
    """A line of words with slurs."""
    found = draw(st.lists(words(instrument, with_chords=chords), min_size=least, max_size=most))
    # Slurs begin and end at whole words.
    at = 0
    while at < len(found):
        size = draw(st.integers(0, 4))
        if size > 1 and at + size <= len(found) and not any("{" in word for word in found[at : at + size]):
            found[at] = "(" + found[at]
            found[at + size - 1] += ")"
        at += max(size, 1)
    return " ".join(found)


@st.composite
def parts(
    draw: st.DrawFn,
    *,
    least: int = 1,
    most: int = 12,
    voices: int = 1,
    chords: bool = True,
    instrument: Instrument = VIOLIN,
    seams: bool = False,
) -> Part:
    """A part for an instrument, of one or more voices; with ``seams`` in short measures with repeats and endings."""
    lines = [
        draw(texts(least=least, most=most, chords=chords, instrument=instrument))
        for _ in range(draw(st.integers(1, voices)))
    ]
    time = draw(st.sampled_from(((1, 4), (2, 4), (3, 4)))) if seams else (4, 4)
    tempo = draw(st.sampled_from((None, 50.0, 88.0, 144.0)))
    part = line(*lines, time=time, tempo=tempo, transpose=instrument.octave, name=instrument.name)
    return draw(with_repeats(part)) if seams else part


@st.composite
def with_repeats(draw: st.DrawFn, part: Part) -> Part:
    """The part with repeated sections, with or without signs at their beginning, and with up to three endings."""
    starts: set[int] = set()
    backs: dict[int, int] = {}
    endings: dict[int, tuple[int, ...]] = {}
    at, count = draw(st.integers(0, 1)), len(part.measures)
    while at < count:
        length = draw(st.integers(1, 4))
        kind = draw(st.sampled_from("prree"))
        if kind != "p" and (at > 0 or draw(st.booleans())) and draw(st.integers(0, 4)):
            starts.add(at)
        at += length
        if kind == "r":
            backs[min(at, count) - 1] = draw(st.integers(2, 3))
        if kind == "e":
            at = _endings(draw, at, count, backs, endings)
    return repeated(part, starts=starts, backs=backs, endings=endings)


def _endings(draw: st.DrawFn, at: int, count: int, backs: dict[int, int], endings: dict[int, tuple[int, ...]]) -> int:
    """Two or three endings from measure ``at`` on; the first measure after them."""
    last = draw(st.integers(2, 3))
    for number in range(1, last + 1):
        length = draw(st.integers(1, 2))
        endings.update(dict.fromkeys(range(at, min(at + length, count)), (number,)))
        at += length
        if number < last and at <= count:
            backs[at - 1] = 2
    return at


@st.composite
def transposed(draw: st.DrawFn, part: Part) -> Part:
    """The part with a change of transposition in it; it sounds as before until then."""
    half = part.measures[len(part.measures) // 2].onset
    return replace(part, transpositions=(Transposition(half, part.transpose + draw(st.sampled_from((-12, -2, 3)))),))


_POSITIONS = (0, 1, 2, 3, 4, 5)


@st.composite
def _tables(draw: st.DrawFn) -> dict[str, object]:
    """Other rules for an instrument, a part or a passage."""
    rules: dict[str, st.SearchStrategy[object]] = {
        "longest_open": st.sampled_from(("1", "3")),
        "never_open": st.sampled_from(((), (2,))),
        "open_or_fourth": st.sampled_from(("open", "fourth")),
        "extensions": st.booleans(),
        "keep_on": st.sampled_from(((1, 2), (2, 3), (3,))),
        "reach": st.sampled_from(("small", "large")),
        "weights": st.dictionaries(st.sampled_from(TERM_NAMES), st.sampled_from((0.0, 3.0)), max_size=2),
    }
    names = draw(st.sets(st.sampled_from(sorted(rules)), max_size=3))
    return {name: draw(rules[name]) for name in sorted(names)}


@st.composite
def _passages(draw: st.DrawFn) -> list[dict[str, object] | PassageRules]:
    """Passages of other rules, in measures that a part may or may not have."""
    found: list[dict[str, object] | PassageRules] = []
    for _ in range(draw(st.sampled_from((0, 0, 1, 2)))):
        first = draw(st.integers(1, 6))
        found.append({"measures": f"{first}-{first + draw(st.integers(0, 3))}", **draw(_tables())})
    return found


@st.composite
def rules(draw: st.DrawFn, *, positions: int = 3, tables: bool = True) -> HouseRules:
    """House rules of up to so many positions, with ``tables`` for instruments, parts and passages."""
    # The low positions reach the most of what lines are made of.
    first = draw(st.sampled_from((1, 1, 1, *_POSITIONS)))
    others = draw(st.sets(st.sampled_from(_POSITIONS), max_size=positions - 1))
    allowed = sorted({first, *others})
    weights = draw(st.dictionaries(st.sampled_from(TERM_NAMES), st.sampled_from((0.0, 0.5, 2.0, 7.25)), max_size=4))
    instruments, names = [one.key for one in INSTRUMENTS], [one.name for one in INSTRUMENTS]
    return HouseRules(
        positions=tuple(allowed),
        home=draw(st.sampled_from(allowed)),
        longest_open=Fraction(draw(st.sampled_from(LENGTHS))),
        never_open=tuple(draw(st.sets(st.integers(1, 4), max_size=2))),
        open_or_fourth=draw(st.sampled_from(("open", "fourth", "either"))),
        fourth_saves_crossing=draw(st.booleans()),
        avoid_shrill_open=draw(st.booleans()),
        extensions=draw(st.booleans()),
        keep_on=draw(st.sampled_from((*((),) * 8, (1, 2, 3), (2, 3, 4)))),
        same_again=draw(st.booleans()),
        size=draw(st.sampled_from(("4/4", "4/4", "3/4", "1/4", "15 in"))),
        reach=draw(st.sampled_from(("usual", "usual", "small", "large"))),
        weights=tuple(weights.items()),
        instrument=draw(st.dictionaries(st.sampled_from(instruments), _tables(), max_size=2)) if tables else (),
        part=draw(st.dictionaries(st.sampled_from(names), _tables(), max_size=1)) if tables else (),
        passage=draw(_passages()) if tables else (),
    )


def locks(instrument: Instrument = VIOLIN) -> st.SearchStrategy[Lock]:
    """A lock on any of string, position, finger and hand; many ask for what a note does not have."""
    hands = st.just(None) if instrument.letter_frame else st.sampled_from((None, None, None, 2.0, 3.0, 4.0))
    return st.builds(
        Lock,
        string=st.none() | st.integers(1, len(instrument.strings)),
        position=st.none() | st.integers(0, 5),
        finger=st.none() | st.integers(0, 4),
        hand=hands,
    )


@st.composite
def locked(draw: st.DrawFn, part: Part, *, most: int = 3, instrument: Instrument = VIOLIN) -> dict[str, Lock]:
    """Locks on some notes of a part."""
    ids = [note.id for note in part]
    if not ids:
        return {}
    return draw(st.dictionaries(st.sampled_from(ids), locks(instrument), max_size=most))


def instruments() -> st.SearchStrategy[Instrument]:
    """Any instrument."""
    return st.sampled_from((VIOLIN, VIOLA, CELLO, BASS, BASS5))


# Files

_ODD = st.sampled_from((
    None, True, 0, -1, 2, 7, 10**30, 0.5, -1e300, float("nan"), float("inf"), "", "1", "3/2", "1-4", "open", "cello",
    "a\nb", "\0", "\ud800", "x" * 300, [], {}, [1], [[]], {"a": 1}, [None], {"": {}}, "two-homes", "every-note", "1e9",
    "violin",
))  # fmt: skip
_PLAIN = st.recursive(
    _ODD,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text("ab1 .", max_size=4), inner, max_size=3),
    max_leaves=5,
)


@st.composite
def edited(draw: st.DrawFn, plain: Any, *, most: int = 3) -> Any:
    """Plain values as JSON holds them, with a few of them, anywhere, dropped, doubled, or something else altogether."""
    changed = copy.deepcopy(plain)
    for _ in range(draw(st.integers(1, most))):
        places = list(_places(changed))
        if not places:
            return draw(_PLAIN)
        holder, key = draw(st.sampled_from(places))
        match draw(st.sampled_from("drooooom")):
            case "d":
                del holder[key]
            case "r" if isinstance(holder, dict):
                holder[draw(st.text("ab-1 ", max_size=3))] = holder.pop(key)
            case "m":
                holder[key] = copy.deepcopy(draw(st.sampled_from(places))[0])
            case _:
                holder[key] = draw(_PLAIN)
    return changed


def _places(plain: Any) -> Iterator[tuple[Any, Any]]:
    """Everything that can be changed, as what holds it and its key there."""
    if isinstance(plain, dict | list):
        for key in list(plain) if isinstance(plain, dict) else range(len(plain)):
            yield plain, key
            yield from _places(plain[key])


@st.composite
def rules_texts(draw: st.DrawFn, sound: str) -> str:
    """TOML that is ``sound`` with tables and values edited, or with its text cut and spoilt, or is nested too deep."""
    match draw(st.sampled_from("tttcd")):
        case "t":
            names = [rule.name for rule in fields(HouseRules)]
            values = draw(edited(tomlkit.parse(sound).unwrap(), most=4))
            added = draw(st.dictionaries(st.sampled_from(names), _PLAIN, max_size=2))
            whole = {**values, **added} if isinstance(values, dict) else added
            return tomlkit.dumps(_for_toml(whole))
        case "c":
            begin, end = sorted(draw(st.tuples(*[st.integers(0, len(sound))] * 2)))
            spoilt = draw(st.text("[]{}=\"'#\n\0.,-1a\ud800", max_size=6))
            return sound[:begin] + spoilt + sound[end:]
        case _:
            depth = draw(st.sampled_from((50, 5_000)))
            return f"positions = {'[' * depth}{']' * depth}"


def _for_toml(plain: Any) -> Any:
    """The same without what TOML has no word for."""
    if isinstance(plain, dict):
        return {str(name).encode("utf-8", "replace").decode(): _for_toml(value) for name, value in plain.items()}
    if isinstance(plain, list):
        return [_for_toml(value) for value in plain]
    if plain is None:
        return "none"
    return plain.encode("utf-8", "replace").decode() if isinstance(plain, str) else plain
