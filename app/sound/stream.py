"""A performance as a stream of sound: the tones rendered as they come, three groups mixed at will while they play.

The loudness of a tone is taken as decibels: 1 is full, and a tenth less is 2.5 dB softer. The parts, but for the loud
one, are spread from left to right in the order of the score. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import count

import numpy as np
from numpy.typing import NDArray

from analysis.sounding.beats import Click
from analysis.sounding.performance import Performance
from analysis.sounding.tones import Tone
from app.sound.notes import PLUCKED, RATE, Frames, timbre

Block = NDArray[np.int16]

_DECIBELS = 25.0
# How a tone begins and is let go, in seconds: at once, under a slur, plucked.
_ATTACK, _ATTACK_JOINED, _ATTACK_PLUCKED = 0.008, 0.03, 0.001
_RELEASE, _RELEASE_JOINED = 0.07, 0.05
# One tone at full loudness; of many together the loudest moments are rounded off, not cut.
_FULL, _ROUNDED = 0.2, 0.7
_CLICK_SECONDS, _CLICK_PITCHES = 0.03, (1000.0, 1500.0)
# A part in hand, the other parts, the clicks.
_OWN, _OTHERS, _CLICKS = 0, 1, 2
_GROUPS, _SIDES = 3, 2
# How far to the sides the outer parts stand, 1 being all the way.
_SPREAD = 0.5


@dataclass(frozen=True, slots=True)
class Mix:
    """What is heard: the part ``loud``, by id (``None``: all alike), ``others`` 0 to 1 as loud, and the ``click``."""

    loud: str | None = None
    others: float = 1.0
    click: bool = False

    def gains(self) -> NDArray[np.float32]:
        """How much of each group is heard."""
        return np.array([1.0, self.others, 1.0 if self.click else 0.0], dtype=np.float32)


class Stream:
    """A performance from ``start`` seconds on; ``looped``: its music goes round for ever.

    ``timbres`` by part are names of recorded notes. ``mix`` may be changed at any time and is heard from the next block
    on, but for the part that is loud, which is settled when a tone begins.
    """

    def __init__(
        self,
        performance: Performance,
        timbres: Mapping[str, str],
        mix: Mix,
        *,
        start: float = 0.0,
        looped: bool = False,
    ) -> None:
        self.mix = mix
        self._performance, self._timbres, self._looped = performance, timbres, looped
        self._sides = _sides(tuple(timbres))
        self._start = start
        self._now = 0
        self._events = self._upcoming()
        self._next: tuple[float, Tone | Click] | None = next(self._events, None)
        self._waiting = np.zeros((_GROUPS, _SIDES, 0), dtype=np.float32)

    @property
    def position(self) -> float:
        """The second of the performance from which the next block is heard."""
        return self.at(self._now / RATE)

    def at(self, elapsed: float) -> float:
        """The second of the performance that is heard so many seconds after the beginning of the stream."""
        place = self._start + elapsed
        around = self._performance.end - self._performance.begin
        if self._looped and place >= self._performance.end and around > 0:
            return self._performance.begin + (place - self._performance.end) % around
        return place

    @property
    def is_over(self) -> bool:
        """Whether all has been heard."""
        done = self._start + self._now / RATE >= self._performance.end
        return not self._looped and done and self._next is None and not self._waiting.shape[2]

    def read(self, frames: int) -> Block:
        """The next frames, two channels of 16 bits; silence when all has been heard."""
        self._render(self._now + frames)
        self._now += frames
        heard, self._waiting = self._waiting[:, :, :frames], self._waiting[:, :, frames:]
        mixed = np.zeros((frames, _SIDES), dtype=np.float32)
        mixed[: heard.shape[2]] = np.tensordot(self.mix.gains(), heard, axes=1).T
        return (_rounded(mixed) * 32767).astype(np.int16)

    def _render(self, until: int) -> None:
        """Mix in every tone that begins before frame ``until``."""
        while self._next is not None and round(self._next[0] * RATE) < until:
            second, event = self._next
            if isinstance(event, Tone):
                sound = rendered(event, self._timbres[event.part])
                group = _OWN if self.mix.loud in (None, event.part) else _OTHERS
                side = 0.0 if event.part == self.mix.loud else self._sides[event.part]
            else:
                sound, group, side = clicked(event.accented), _CLICKS, 0.0
            self._add(group, side, round(second * RATE) - self._now, sound)
            self._next = next(self._events, None)

    def _add(self, group: int, side: float, place: int, sound: Frames) -> None:
        missing = place + len(sound) - self._waiting.shape[2]
        if missing > 0:
            self._waiting = np.pad(self._waiting, ((0, 0), (0, 0), (0, missing)))
        # Whichever side a part stands on, its power is the same.
        angle = (side + 1) * np.pi / 4
        for channel, share in enumerate((np.cos(angle), np.sin(angle))):
            self._waiting[group, channel, place : place + len(sound)] += np.float32(share) * sound

    def _upcoming(self) -> Iterator[tuple[float, Tone | Click]]:
        """Tones and clicks with the second of the stream at which they begin."""
        begin, end = self._performance.begin, self._performance.end
        around = end - begin
        once: list[Tone | Click] = [*self._performance.tones, *self._performance.clicks]
        if self._looped and around > 0:
            # Grace notes before the first beat come at the end of every time.
            once += [replace(tone, start=tone.start + around) for tone in self._performance.tones if tone.start < begin]
        once.sort(key=lambda event: event.start)
        yield from ((event.start - self._start, event) for event in _cut(once, self._start))
        if self._looped and around > 0:
            again = [event for event in once if event.start >= begin]
            for times in count(1):
                yield from ((event.start - self._start + times * around, event) for event in again)


def _sides(parts: Sequence[str]) -> Mapping[str, float]:
    """Where each part stands, -1 being left and 1 right."""
    places = np.linspace(-_SPREAD, _SPREAD, len(parts)) if len(parts) > 1 else np.zeros(1)
    return dict(zip(parts, places.tolist(), strict=False))


def _cut(events: list[Tone | Click], start: float) -> list[Tone | Click]:
    """The events from ``start`` on, and what still sounds then of those before."""
    found: list[Tone | Click] = []
    for event in events:
        if event.start >= start:
            found.append(event)
        elif isinstance(event, Tone) and event.end > start:
            found.append(replace(event, start=start, length=event.end - start))
    return found


def rendered(tone: Tone, name: str) -> Frames:
    """One tone as it sounds with the recorded notes of that name, with the time in which it dies away."""
    recorded = timbre(PLUCKED if tone.plucked else name).nearest(tone.pitch)
    attack = _ATTACK_PLUCKED if tone.plucked else _ATTACK_JOINED if tone.joined else _ATTACK
    release = _RELEASE_JOINED if tone.joined else _RELEASE
    held = max(1, round(tone.length * RATE))
    frames = held + round(release * RATE)
    step = 2.0 ** ((tone.pitch - recorded.pitch) / 12)
    sound = recorded.at(np.arange(frames) * step)
    rise = min(round(attack * RATE), held)
    sound[:rise] *= np.linspace(0.0, 1.0, rise, dtype=np.float32)
    sound[held:] *= np.linspace(1.0, 0.0, frames - held, dtype=np.float32) ** 2
    return sound * _swelling(tone, held, frames)


def _swelling(tone: Tone, held: int, frames: int) -> Frames:
    """The amplitude of a tone from frame to frame."""
    if tone.loudness == tone.swell:
        return np.full(frames, _amplitude(tone.loudness), dtype=np.float32)
    levels = np.interp(np.arange(frames), (0, held), (tone.loudness, tone.swell))
    return (_FULL * 10 ** ((levels - 1) * _DECIBELS / 20)).astype(np.float32)


def _amplitude(loudness: float) -> float:
    return float(_FULL * 10 ** ((loudness - 1) * _DECIBELS / 20))


@lru_cache(maxsize=2)
def clicked(accented: bool) -> Frames:
    """A click: a short high note, higher and louder on the first beat."""
    seconds = np.arange(round(_CLICK_SECONDS * RATE)) / RATE
    sound = np.sin(2 * np.pi * _CLICK_PITCHES[accented] * seconds) * np.exp(-seconds / 0.006)
    return (sound * (0.5 if accented else 0.3)).astype(np.float32)


def _rounded(sound: Frames) -> Frames:
    """The same where it is not loud; what is beyond bends towards 1 and never reaches it."""
    over = np.abs(sound) > _ROUNDED
    if over.any():
        room = 1 - _ROUNDED
        sound[over] = np.sign(sound[over]) * (_ROUNDED + room * np.tanh((np.abs(sound[over]) - _ROUNDED) / room))
    return sound
