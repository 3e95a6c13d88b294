"""A straight part's notes as tones: ties joined, ornaments played out, short and long as the bow would make them.

Trills begin on the written note; they and tremolos have twelve notes a second; grace notes come before the beat, 0.12 s
each or less where there is no time; bowed notes that no slur joins are set off a little: common practice, no source.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache

from analysis.fingering.stages import GRACE_SECONDS
from analysis.instruments import Instrument
from analysis.music import Note, Part
from analysis.sounding.clock import Clock
from analysis.sounding.levels import Levels
from analysis.sounding.pitches import artificial, sounding, upper

# From quarter notes to seconds; the loudness of a dynamic at an onset.
_Seconds = Callable[[Fraction], float]
_Level = Callable[[str, Fraction], float]
_A_SECOND = 12
# Between separate bows so much of a note, but no more than so many seconds, is silent; after a breath mark more.
_GAP, _LONGEST_GAP = 0.15, 0.03
_BREATH, _LONGEST_BREATH = 0.3, 0.2
# A plucked string rings no longer.
_RING = 0.7
_SHORTEST = 0.01


@dataclass(frozen=True, slots=True)
class Tone:
    """One tone of a part: ``start`` and ``length`` in seconds, ``pitch`` in MIDI semitones with fractions.

    ``loudness`` and ``swell`` are those at its beginning and end, 0 to 1. ``note_ids``: the notes it is written as,
    several where they are tied. ``joined``: a slur leads into it.
    """

    part: str
    start: float
    length: float
    pitch: float
    loudness: float
    swell: float
    note_ids: tuple[str, ...]
    plucked: bool = False
    joined: bool = False

    @property
    def end(self) -> float:
        """The second at which it is let go."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class Head:
    """From ``start`` to ``end``, in seconds, a written note is being played."""

    note_id: str
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class _Attack:
    """What is struck together in one voice, with its times in seconds."""

    heads: tuple[Note, ...]
    start: float
    end: float

    @property
    def onset(self) -> Fraction:
        return self.heads[0].onset

    @property
    def close(self) -> Fraction:
        """Where it ends, in quarter notes."""
        return self.onset + max(note.duration for note in self.heads)


@dataclass(slots=True)
class _Open:
    """A tone that a tie may still make longer; ``last`` is its note so far."""

    tone: Tone
    last: Note
    children: list[Tone] = field(default_factory=list)


def tones_of(part: Part, clock: Clock, instrument: Instrument | None) -> tuple[tuple[Tone, ...], tuple[Head, ...]]:
    """The tones of a straight part and its notes as they are played, each in the order of time."""
    tones: list[Tone] = []
    heads: list[Head] = []
    # The same onsets are asked for again and again.
    seconds, level = cache(clock.at), cache(Levels(part).at)
    for notes in _voices(part).values():
        voice = _Voice(part, seconds, level, instrument)
        voice.play(list(_attacks(notes, seconds)))
        tones += voice.tones
        heads += voice.heads
    return tuple(sorted(tones, key=lambda tone: tone.start)), tuple(sorted(heads, key=lambda head: head.start))


def _voices(part: Part) -> Mapping[tuple[int, str], list[Note]]:
    found: dict[tuple[int, str], list[Note]] = {}
    for note in part.notes:
        found.setdefault((note.staff, note.voice), []).append(note)
    for notes in found.values():
        # Grace notes stand at the onset of the note they lead to, written before it.
        notes.sort(key=lambda note: float(note.onset))
    return found


def _attacks(notes: Sequence[Note], seconds: _Seconds) -> Iterator[_Attack]:
    """Notes and chords in the order of time, grace notes before the beat that they lead to."""
    before = 0.0
    for (onset, is_grace), together in itertools.groupby(notes, key=lambda note: (note.onset, note.grace)):
        chords = [tuple(chord) for _, chord in itertools.groupby(together, key=lambda note: note.chord or note.id)]
        beat = seconds(onset)
        if is_grace:
            each = min(GRACE_SECONDS, (beat - before) / 2 / len(chords))
            starts = [beat - each * (len(chords) - k) for k in range(len(chords))]
            yield from (_Attack(heads, start, start + each) for heads, start in zip(chords, starts, strict=True))
        else:
            for heads in chords:
                yield _Attack(heads, beat, seconds(onset + max(note.duration for note in heads)))
            before = beat


class _Voice:
    """One voice on its way to tones."""

    def __init__(self, part: Part, seconds: _Seconds, level: _Level, instrument: Instrument | None) -> None:
        self.part, self.seconds, self.level, self.instrument = part, seconds, level, instrument
        self.tones: list[Tone] = []
        self.heads: list[Head] = []
        self._open: list[_Open] = []
        self._slurred = False

    def play(self, attacks: Sequence[_Attack]) -> None:
        """Make tones of the attacks of the voice."""
        paired = False
        for attack, after in itertools.zip_longest(attacks, attacks[1:]):
            self.heads += [Head(note.id, attack.start, self._end(attack, note)) for note in attack.heads]
            first = attack.heads[0]
            if paired:
                paired = False  # it was played with the one before it, in turns
            elif first.tremolo == "fingered" and after is not None and after.onset == attack.close:
                self._begin(attack)
                self._in_turns([attack, after], attack.start, after.end)
                paired = True
            else:
                self._play(attack)
            self._slurred = first.slurred_on
        self._settle([])

    def _play(self, attack: _Attack) -> None:
        first = attack.heads[0]
        harmonic = artificial(self.part, attack.heads)
        if harmonic is not None:
            self._begin(attack)
            ids = tuple(note.id for note in attack.heads)
            self._open.append(_Open(replace(self._tone(attack, first, harmonic), note_ids=ids), first))
        elif first.tremolo == "bowed":
            self._begin(attack)
            self._in_turns([attack], attack.start, attack.end)
        else:
            held = self._begin(attack)
            for note in attack.heads:
                if note.id not in held:
                    self._open.append(self._opened(attack, note))

    def _begin(self, attack: _Attack) -> set[str]:
        """Let go what ends here; the ids of the heads that only go on sounding from before, in a tie."""
        goes_on: list[_Open] = []
        held: set[str] = set()
        for note in attack.heads:
            pitch = sounding(self.part, note, self.instrument)
            tied = next((one for one in self._open if one not in goes_on and self._leads_to(one, note, pitch)), None)
            if tied is not None:
                tied.tone = replace(
                    tied.tone,
                    length=self._end(attack, note) - tied.tone.start,
                    swell=self._level(note, note.onset + note.duration),
                    note_ids=(*tied.tone.note_ids, note.id),
                )
                tied.last = note
                goes_on.append(tied)
                held.add(note.id)
        self._settle(goes_on, attack)
        return held

    def _leads_to(self, one: _Open, note: Note, pitch: float) -> bool:
        last = one.last
        plain = not (note.trill or note.tremolo or one.children)
        return plain and last.tied_on and note.tied_from and last.onset + last.duration == note.onset and (
            one.tone.pitch == pitch
        )  # fmt: skip

    def _settle(self, goes_on: Sequence[_Open], attack: _Attack | None = None) -> None:
        """Let go what ends where ``attack`` begins, or all; a grace note takes its time from what still sounds."""
        still: list[_Open] = []
        for one in self._open:
            sounds_on = attack is not None and one.last.onset + one.last.duration > attack.onset
            if one in goes_on or (sounds_on and not _is_grace(attack)):
                still.append(one)
            elif attack is not None and _is_grace(attack):
                self.tones += _let_go(one, attack.start)
            else:
                self.tones += _let_go(one, None)
        self._open = still

    def _opened(self, attack: _Attack, note: Note) -> _Open:
        tone = self._tone(attack, note, sounding(self.part, note, self.instrument))
        if note.trill is None:
            return _Open(tone, note)
        other = upper(self.part, note, note.trill)
        return _Open(
            tone, note, list(_alternating([[tone], [replace(tone, pitch=other)]], tone.start, tone.end, odd=True))
        )

    def _in_turns(self, attacks: Sequence[_Attack], start: float, end: float) -> None:
        """One attack again and again, or two by turns, as in a tremolo."""
        struck = [
            [self._tone(attack, note, sounding(self.part, note, self.instrument)) for note in attack.heads]
            for attack in attacks
        ]
        self.tones += _alternating(struck, start, end, odd=False)

    def _tone(self, attack: _Attack, note: Note, pitch: float) -> Tone:
        return Tone(
            self.part.id,
            attack.start,
            self._end(attack, note) - attack.start,
            pitch,
            self._level(note, note.onset),
            self._level(note, note.onset + note.duration),
            (note.id,),
            note.pizzicato,
            self._slurred,
        )

    def _end(self, attack: _Attack, note: Note) -> float:
        return attack.end if note.grace else self.seconds(note.onset + note.duration)

    def _level(self, note: Note, onset: Fraction) -> float:
        return self.level(note.dynamic, onset)


def _is_grace(attack: _Attack | None) -> bool:
    return attack is not None and attack.heads[0].grace


def _let_go(one: _Open, now: float | None) -> Iterator[Tone]:
    """The tones of a note as long as they are held: to ``now`` at most."""
    if one.children:
        before = [tone for tone in one.children if now is None or tone.start + tone.length / 2 < now]
        yield from (tone if now is None else replace(tone, length=min(tone.end, now) - tone.start) for tone in before)
    else:
        tone = one.tone
        length = tone.length if now is None else min(tone.length, max(now - tone.start, _SHORTEST))
        yield replace(tone, length=_held(length, tone, one.last))


def _held(length: float, tone: Tone, last: Note) -> float:
    """How much of its time a tone sounds, in seconds."""
    if tone.plucked:
        return min(length, _RING)
    if last.lifted:
        return length - min(_BREATH * length, _LONGEST_BREATH)
    return length if last.slurred_on else length - min(_GAP * length, _LONGEST_GAP)


def _alternating(struck: Sequence[Sequence[Tone]], start: float, end: float, *, odd: bool) -> Iterator[Tone]:
    """What is struck, by turns, from ``start`` to ``end``; ``odd``: the last turn is the first's again."""
    turns = max(len(struck), round((end - start) * _A_SECOND))
    turns += odd and turns % 2 == 0
    each = (end - start) / turns
    for turn in range(turns):
        for tone in struck[turn % len(struck)]:
            share = turn / turns
            loudness = tone.loudness + (tone.swell - tone.loudness) * share
            yield replace(
                tone,
                start=start + turn * each,
                length=each,
                loudness=loudness,
                swell=loudness,
                joined=odd and turn > 0,
            )
