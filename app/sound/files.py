"""Sound written to files: WAV as it is heard, MIDI as notes with their tempo and bars."""

from __future__ import annotations

import io
import wave
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

import mido

from analysis.sounding.performance import Performance
from analysis.sounding.tones import Tone
from app.sound.notes import RATE
from app.sound.stream import Mix, Stream

_BLOCK = RATE
_TICKS = 480
# General MIDI Level 1: programs from 0, the percussion channel from 0, and its two wood blocks.
_PROGRAMS = {"violin": 40, "viola": 41, "cello": 42, "bass": 43}
_PIZZICATO = 45
_PERCUSSION, _HIGH_BLOCK, _LOW_BLOCK = 9, 76, 77
_VOLUME = 7
_LOUD, _MOST = 100, 127
# Pitch bend reaches two semitones either way unless told otherwise.
_BEND_A_SEMITONE = 4096
_CLICK_TICKS = 30

# Of a part's tones, those that are plucked or not, and bent by as much of a semitone, share a channel.
_Voice = tuple[str, bool, float]


def wav_bytes(stream: Stream, length: float, tick: Callable[[float], None]) -> bytes:
    """All that is heard of a stream as a WAV file, 16 bits, two channels; ``length`` in seconds is told to ``tick``."""
    data = io.BytesIO()
    with wave.open(data, "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(RATE)
        while not stream.is_over:
            tick(min(stream.position / length, 1.0) if length > 0 else 1.0)
            file.writeframes(stream.read(_BLOCK).tobytes())
    return data.getvalue()


def midi_bytes(performance: Performance, names: Mapping[str, str], timbres: Mapping[str, str], mix: Mix) -> bytes:
    """A performance as a MIDI file of one track a part; ``names`` and ``timbres`` by part.

    Quarter tones are bent on channels of their own. Others than the loud part have a lower channel volume.
    """
    file = mido.MidiFile(type=1, ticks_per_beat=_TICKS)
    file.tracks.append(_track(_guide(performance)))
    channels = _channels(performance)
    for part, name in names.items():
        file.tracks.append(_track(_part_events(performance, part, name, timbres[part], channels, mix)))
    if mix.click:
        file.tracks.append(_track(_click_events(performance)))
    data = io.BytesIO()
    file.save(file=data)
    return data.getvalue()


_Event = tuple[int, int, mido.messages.BaseMessage]


def _track(events: Iterator[_Event]) -> mido.MidiTrack:
    """Events of absolute ticks as a track; at one tick notes end before others begin."""
    track = mido.MidiTrack()
    now = 0
    for tick, _, message in sorted(events, key=lambda event: event[:2]):
        track.append(message.copy(time=tick - now))
        now = tick
    return track


def _guide(performance: Performance) -> Iterator[_Event]:
    """Tempi and time signatures."""
    for onset, pace in zip(performance.clock.onsets, performance.clock.pace, strict=True):
        # A tempo has three bytes of microseconds a quarter.
        yield _ticks(onset), 0, mido.MetaMessage("set_tempo", tempo=min(max(round(pace * 1e6), 1), 0xFFFFFF))
    for metre in performance.metres:
        numerator, denominator = metre.time
        if 0 < numerator < 256 and denominator & (denominator - 1) == 0:
            message = mido.MetaMessage("time_signature", numerator=numerator, denominator=denominator)
            yield _ticks(metre.onset), 0, message


def _ticks(quarters: Fraction | float) -> int:
    return round(quarters * _TICKS)


def _channels(performance: Performance) -> Mapping[_Voice, int]:
    """A channel for each kind of tone of each part; beyond fifteen they are shared, the percussion channel never."""
    voices = dict.fromkeys(_voice(tone) for tone in performance.tones)
    free = [channel for channel in range(16) if channel != _PERCUSSION]
    return {voice: free[number % len(free)] for number, voice in enumerate(voices)}


def _voice(tone: Tone) -> _Voice:
    return tone.part, tone.plucked, round(tone.pitch - round(tone.pitch), 3)


def _part_events(
    performance: Performance, part: str, name: str, timbre: str, channels: Mapping[_Voice, int], mix: Mix
) -> Iterator[_Event]:
    # Text of a standard MIDI file is Latin-1.
    yield 0, 0, mido.MetaMessage("track_name", name=name.encode("latin-1", "replace").decode("latin-1"))
    volume = round(_LOUD * (1.0 if mix.loud in (None, part) else mix.others))
    for (whose, plucked, bend), channel in channels.items():
        if whose == part:
            program = _PIZZICATO if plucked else _PROGRAMS[timbre]
            yield 0, 1, mido.Message("program_change", channel=channel, program=program)
            yield 0, 1, mido.Message("control_change", channel=channel, control=_VOLUME, value=volume)
            yield 0, 1, mido.Message("pitchwheel", channel=channel, pitch=round(bend * _BEND_A_SEMITONE))
    for tone in performance.tones:
        if tone.part == part and 0 <= round(tone.pitch) <= _MOST:
            yield from _note_events(performance, tone, channels[_voice(tone)])


def _note_events(performance: Performance, tone: Tone, channel: int) -> Iterator[_Event]:
    start = _ticks(performance.clock.quarters(tone.start))
    end = max(start + 1, _ticks(performance.clock.quarters(tone.end)))
    note, velocity = round(tone.pitch), max(1, round(tone.loudness * _MOST))
    yield start, 3, mido.Message("note_on", channel=channel, note=note, velocity=velocity)
    yield end, 2, mido.Message("note_off", channel=channel, note=note, velocity=0)


def _click_events(performance: Performance) -> Iterator[_Event]:
    yield 0, 0, mido.MetaMessage("track_name", name="Click")
    for click in performance.clicks:
        start = _ticks(performance.clock.quarters(click.start))
        note, velocity = (_HIGH_BLOCK, _MOST) if click.accented else (_LOW_BLOCK, _LOUD)
        yield start, 3, mido.Message("note_on", channel=_PERCUSSION, note=note, velocity=velocity)
        yield start + _CLICK_TICKS, 2, mido.Message("note_off", channel=_PERCUSSION, note=note, velocity=0)
