"""The upper note of each trill: the next letter up, as key, measure and the sign beside the trill alter it.

A trill is a note with a trill sign, or one under the wavy line that such a note begins. A wavy line with no trill at
its beginning is something else, vibrato for one, unless it goes on with the trill of the note before. The note at
which a line stops is under it only if it is tied to a trilled note or repeats one: else it is where the trill ends.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from analysis.music import LETTERS, Pitch
from engraving.elements import fifths_in, number_in, ties_of
from engraving.reading.partwalk import WalkedMeasure
from engraving.reading.placed import Placed
from engraving.reading.slurs import Moment

_SHARPS = "FCGDAEB"
_ALTERS: Mapping[str, int | Fraction] = {
    "sharp": 1, "natural": 0, "flat": -1, "natural-sharp": 1, "natural-flat": -1,
    "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2, "double-flat": -2,
    "quarter-sharp": Fraction(1, 2), "quarter-flat": Fraction(-1, 2),
    "three-quarters-sharp": Fraction(3, 2), "three-quarters-flat": Fraction(-3, 2),
}  # fmt: skip
_TRILL_TAGS = frozenset(("trill-mark", "wavy-line"))

Alters = Mapping[str, int | Fraction]


@dataclass(frozen=True, slots=True)
class _Key:
    """A key signature from a place on; ``staff`` as the file numbers it, ``None`` for all."""

    measure: int
    onset: Fraction
    staff: str | None
    alters: Alters


def trills(notes: Sequence[Placed], measures: Sequence[WalkedMeasure]) -> dict[str, Pitch]:
    """The upper notes of the trills among the notes of one part, by the id of the trilled note."""
    if not any("ornaments" in one.walked.notations for one in notes):
        return {}
    voices: dict[str, list[Placed]] = defaultdict(list)
    in_measure: dict[int, list[Placed]] = defaultdict(list)
    for one in notes:
        if one.pitch is not None:
            voices[one.voice].append(one)
            in_measure[one.measure].append(one)
    keys = _keys(measures)
    uppers: dict[str, Pitch] = {}
    for voice in voices.values():
        for one, begins in _trilled(voice):
            if one is not begins and one.pitch == begins.pitch:
                uppers[one.id] = uppers[begins.id]
            elif one.pitch is not None:
                uppers[one.id] = _upper(one, one.pitch, in_measure[one.measure], keys)
    return uppers


def key_alters(key: etree._Element) -> Alters | None:
    """What a ``<key>`` alters, by letter; ``None`` when it cannot be read."""
    steps = [step.text or "" for step in key.iterfind("key-step")]
    if steps:
        alters = [number_in(alter.text) for alter in key.iterfind("key-alter")]
        return {step.strip(): alter for step, alter in zip(steps, alters, strict=False) if alter is not None}
    fifths = fifths_in(key)
    if fifths is None:
        return None
    order, sign = (_SHARPS, 1) if fifths > 0 else (_SHARPS[::-1], -1)
    found: dict[str, int] = defaultdict(int)
    for place in range(abs(fifths)):
        found[order[place % 7]] += sign
    return found


def _trill_signs(one: Placed) -> Iterator[etree._Element]:
    for ornaments in one.walked.notations.get("ornaments", ()):
        yield from (sign for sign in ornaments if sign.tag in _TRILL_TAGS)


def _trilled(voice: Sequence[Placed]) -> list[tuple[Placed, Placed]]:
    """The trilled notes of a voice, each with the note whose trill it goes on with (itself where it begins one)."""
    begins: dict[int, int] = {}
    lines: dict[str, int] = {}
    for place, one in enumerate(voice):
        for sign in sorted(_trill_signs(one), key=lambda sign: sign.tag == "wavy-line"):
            number = sign.get("number", "1")
            match sign.get("type") if sign.tag == "wavy-line" else "trill":
                case "trill":
                    begins[place] = place
                case "start":
                    if place not in begins and place - 1 in begins and voice[place - 1].pitch == one.pitch:
                        begins[place] = begins[place - 1]
                    lines.pop(number, None)
                    if place in begins:
                        lines[number] = place
                case "continue" if number in lines:
                    begins.setdefault(place, begins[lines[number]])
                case "stop" if number in lines:
                    _spread(begins, voice, lines.pop(number), place)
    return [(voice[place], voice[begins[place]]) for place in sorted(begins)]


def _spread(begins: dict[int, int], voice: Sequence[Placed], start: int, stop: int) -> None:
    """Let the line from one place to another make trills of the notes under it, but for grace notes."""
    for place in range(start + 1, stop):
        one = voice[place]
        if not one.walked.grace and one.moment != voice[start].moment:
            begins.setdefault(place, begins[start])
    last = voice[stop]
    if stop > start and (last.pitch == voice[stop - 1].pitch or "stop" in ties_of(last.walked.element)):
        begins.setdefault(stop, begins[start])


def _upper(one: Placed, pitch: Pitch, measure: Sequence[Placed], keys: Sequence[_Key]) -> Pitch:
    step = LETTERS[(LETTERS.index(pitch.step) + 1) % 7]
    octave = pitch.octave + (step == "C")
    alter = _beside_trill(one)
    if alter is None:
        alter = _earlier_alter(one, Pitch(step, 0, octave).letter, measure)
    if alter is None:
        alter = _key_at(one, keys).get(step, 0)
    return Pitch(step, alter, octave)


def _beside_trill(one: Placed) -> int | Fraction | None:
    """What the accidental beside the trill sign says: the one that follows it, or one of the note as a whole."""
    signs: list[etree._Element] = []
    for ornaments in one.walked.notations.get("ornaments", ()):
        is_trill = False
        for sign in ornaments:
            if sign.tag == "accidental-mark":
                signs += [sign] if is_trill else []
            else:
                is_trill = sign.tag in _TRILL_TAGS
    signs += one.walked.notations.get("accidental-mark", ())
    known = (_ALTERS.get((sign.text or "").strip()) for sign in signs)
    return next((alter for alter in known if alter is not None), None)


def _earlier_alter(one: Placed, letter: int, measure: Sequence[Placed]) -> int | Fraction | None:
    """The alteration of the latest note of that letter and octave before this one, in its measure and on its staff.

    A note tied over from the measure before keeps its accidental for itself.
    """
    latest: tuple[Moment, int | Fraction] | None = None
    for other in measure:
        if other is one or other.pitch is None or other.pitch.letter != letter or other.moment >= one.moment:
            continue
        if other.walked.staff != one.walked.staff or _is_carried_over(other.walked.element):
            continue
        if latest is None or other.moment >= latest[0]:
            latest = other.moment, other.pitch.alter
    return None if latest is None else latest[1]


def _is_carried_over(note: etree._Element) -> bool:
    return note.find("accidental") is None and "stop" in ties_of(note)


def _keys(measures: Sequence[WalkedMeasure]) -> list[_Key]:
    found = (
        _Key(index, onset, key.get("number"), alters)
        for index, measure in enumerate(measures)
        for onset, key in measure.keys
        if (alters := key_alters(key)) is not None
    )
    return sorted(found, key=lambda key: (key.measure, key.onset))


def _key_at(one: Placed, keys: Sequence[_Key]) -> Alters:
    in_force: Alters = {}
    for key in keys:
        is_before = (key.measure, key.onset) <= (one.measure, one.walked.onset)
        if is_before and key.staff in (None, str(one.walked.staff)):
            in_force = key.alters
    return in_force
