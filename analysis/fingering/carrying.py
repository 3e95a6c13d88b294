"""Carrying a fingering to music that comes again: the fingers of the earlier notes as locks on the later ones.

Where the music has moved by the interval between strings, the same fingers in the same position lie on another string
(common practice, no source); where it has moved otherwise, the fingers stay and the hand goes where they need it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from analysis.fingering.locks import Lock
from analysis.fingering.placements import Placement, finger_text
from analysis.fingering.plan import Plan
from analysis.instruments import Instrument
from analysis.language import _, p_
from analysis.music import Note, Part

# Letter steps and semitones, up or down.
Move = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Carried:
    """``locks`` for later notes by id; ``left_out``: by id why a note gets none, in words with its place."""

    locks: Mapping[str, Lock]
    left_out: Mapping[str, str]


def carried(source: Plan, plan: Plan, note_ids: Sequence[str], again: Sequence[str]) -> Carried:
    """The fingering that notes have in ``source``, carried to the notes of ``plan`` that repeat them.

    ``note_ids`` are of the part of ``plan``; ``again`` has for each of them the note of the part of ``source`` that it
    repeats. Each note goes by its own move: by an interval of the strings, or not at all, to the same finger in the
    same position on the string with that open note; by another one to the same finger where the rules have a way with
    it. Notes that are tied on follow the one they are tied from. ValueError when the two rows are not equally long,
    KeyError for a note that its part does not have.
    """
    locks: dict[str, Lock] = {}
    left_out: dict[str, str] = {}
    for later_id, earlier_id in zip(note_ids, again, strict=True):
        later, earlier = plan.part.note(later_id), source.part.note(earlier_id)
        if later.tied_from:
            continue
        played = source.choice(earlier_id)
        if played is None:
            words = _("{note} has no fingering to take over from {earlier}")
            left_out[later_id] = words.format(note=_named(plan, later), earlier=_named(source, earlier))
            continue
        found = _carried(source, plan, later, earlier, played)
        if isinstance(found, Lock):
            locks[later_id] = found
        else:
            left_out[later_id] = found
    return Carried(MappingProxyType(locks), MappingProxyType(left_out))


def move(part: Part, note: Note, source_part: Part, source: Note) -> Move | None:
    """From the sound of ``source`` to that of ``note``; ``None`` where a quarter tone is in it."""
    letter, midi = _sound(part, note)
    source_letter, source_midi = _sound(source_part, source)
    semitones = midi - source_midi
    return (letter - source_letter, int(semitones)) if semitones == int(semitones) else None


def string_over(here: Instrument, string: int, there: Instrument, moved: Move) -> int | None:
    """The string of the instrument ``there`` whose open note lies that far above a string's ``here``, if any."""
    steps, semitones = moved
    low = here.string(string).pitch
    wanted = low.letter + steps, low.midi + semitones
    return next((one.number for one in there.strings if (one.pitch.letter, one.pitch.midi) == wanted), None)


def strings_over(instrument: Instrument, moved: Move) -> int:
    """How many strings over, to either side, music goes that moves so with the fingers it has; 0 where it cannot."""
    numbers = (
        abs(over - string.number)
        for string in instrument.strings
        if (over := string_over(instrument, string.number, instrument, moved)) is not None
    )
    return next(numbers, 0)


def moved_over(source: Plan, plan: Plan, later: Note, earlier: Note) -> Placement | None:
    """The way of ``later`` that has the finger and position of ``earlier``, on the string the move leads to."""
    played, moved = source.choice(earlier.id), move(plan.part, later, source.part, earlier)
    if played is None or moved is None:
        return None
    string = string_over(source.setting.instrument, played.string, plan.setting.instrument, moved)
    if string is None:
        return None
    found = _same(plan.setting.ways_of(later), played, string)
    # Chords may ask for another spelling, and a trill may be left out: such ways only the plan knows.
    return found or _same(plan.placements(later.id), played, string)


def _carried(source: Plan, plan: Plan, later: Note, earlier: Note, played: Placement) -> Lock | str:
    """The lock for one note, or why there is none."""
    found = moved_over(source, plan, later, earlier)
    if found is not None:
        return Lock.on(found)
    here, there = source.setting.instrument, plan.setting.instrument
    moved = move(plan.part, later, source.part, earlier)
    note = _named(plan, later)
    finger = (
        _("finger {number}").format(number=finger_text(played.finger))
        if played.finger
        else p_("played with", "the open string")
    )
    if moved is None:
        return _("{note} has not the pitch for {finger}").format(note=note, finger=finger)
    if moved == (0, 0) or strings_over(there, moved):
        letter = here.string(played.string).letter
        if string_over(here, played.string, there, moved) is None:
            return _("{note} has no string to go over to from the {letter} string").format(note=note, letter=letter)
        return _("{note} cannot be played with {finger} in the same position").format(note=note, finger=finger)
    if played.is_open:
        return _("{note} is on no open string").format(note=note)
    not_so = _("{note} cannot be played with {finger} under the house rules")
    return _in_key(here, plan, later, moved, played) or not_so.format(note=note, finger=finger)


def _in_key(here: Instrument, plan: Plan, later: Note, moved: Move, played: Placement) -> Lock | None:
    """The same finger: in the same position where the letters lead to a string, else anywhere the rules allow."""
    wanted = here.string(played.string).pitch.letter + moved[0]
    string = next((one.number for one in plan.setting.instrument.strings if one.pitch.letter == wanted), None)
    ways = [way for way in plan.placements(later.id) if way.finger == played.finger and way.harmonic == played.harmonic]
    for way in ways:
        if way.string == string and way.position == played.position:
            return Lock.on(way)
    return Lock(finger=played.finger) if ways else None


def _same(ways: Iterable[Placement], played: Placement, string: int) -> Placement | None:
    """The way on that string with the same hand and finger; over an open string the hand may wait anywhere."""
    wanted = string, *_hand(played)
    return next((way for way in ways if (way.string, *_hand(way)) == wanted), None)


def _hand(way: Placement) -> tuple[int, bool, int | None, float | None]:
    place = (None, None) if way.is_open else (way.position, way.hand)
    return way.finger, way.harmonic, *place


def _sound(part: Part, note: Note) -> tuple[int, float]:
    transpose = part.transpose_at(note.onset)
    return note.pitch.letter + round(transpose * 7 / 12), float(note.pitch.midi + transpose)


def _named(plan: Plan, note: Note) -> str:
    return _("{place}: {pitch}").format(place=plan.part.place(note), pitch=note.pitch.said)
