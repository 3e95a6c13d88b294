"""What a teacher wants to hear of a score: which part, which measures, how fast, and what else sounds with it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick, no_tick
from analysis.instruments import Instrument
from analysis.language import _
from analysis.music import Part, Score
from analysis.sounding.performance import Performance, perform, written_tempo
from app.errors import AppError
from app.job.files.opening import Opened
from app.sound.notes import PLUCKED, timbre
from app.sound.stream import Mix, Stream
from engraving.atomic import write_atomically

WAV, MIDI = (".wav",), (".mid", ".midi")
_NUMBER = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(%?)\s*")
# As fast, and as slow, as anyone practises: times the written tempo, and quarter notes a minute.
LEAST_FACTOR, MOST_FACTOR = 0.1, 4.0
_MIDDLE_C = 60


@dataclass(frozen=True)
class Listening:
    """What is to be heard: the ``part`` in hand, by id, from one measure to another (indices, both included).

    ``instruments`` by part. ``factor``: times the written tempo. ``mix``: who is loud.
    """

    score: Score
    part: str
    measures: tuple[int, int]
    instruments: Mapping[str, Instrument | None]
    factor: float = 1.0
    count_in: bool = False
    mix: Mix = field(default_factory=Mix)

    @property
    def timbres(self) -> Mapping[str, str]:
        """The recorded notes with which each part is played."""
        return {part.id: _timbre_of(part, self.instruments.get(part.id)) for part in self.score.parts}

    def perform(self) -> Performance:
        """The performance, and the recorded notes that it needs, ready to be played."""
        made = perform(
            self.score,
            self.measures,
            factor=self.factor,
            count_in=self.count_in,
            instruments=self.instruments,
            default_tempo=HouseRules().tempo,
        )
        for name in {PLUCKED if tone.plucked else self.timbres[tone.part] for tone in made.tones}:
            timbre(name)
        return made

    def stream(self, performance: Performance, *, start: float = 0.0, looped: bool = False) -> Stream:
        """The sound of the performance from a second on."""
        return Stream(performance, self.timbres, self.mix, start=start, looped=looped)

    @property
    def written_tempo(self) -> float:
        """Quarter notes a minute in which the first of the measures begins as written."""
        return written_tempo(self.score, self.measures[0], HouseRules().tempo)


def instruments_of(opened: Opened) -> Mapping[str, Instrument | None]:
    """Who plays each part, as far as the work says."""
    return {part.id: opened.work.parts[part.id].instrument for part in opened.score.parts}


def whole(part: Part) -> tuple[int, int]:
    """All measures of a part."""
    return 0, len(part.measures) - 1


def read_factor(text: str, written: float) -> float:
    """The share of the written tempo that ``96`` (quarter notes a minute) or ``80%`` asks for; AppError otherwise."""
    match = re.fullmatch(_NUMBER, text)
    if match is None:
        raise AppError(
            _("'{text}' is no tempo such as 96 (quarter notes a minute) or 80% (of the written tempo)").format(
                text=text
            )
        )
    factor = float(match[1]) / (100 if match[2] else written)
    if not LEAST_FACTOR <= factor <= MOST_FACTOR:
        least, most = (f"{share * written:.0f}" for share in (LEAST_FACTOR, MOST_FACTOR))
        raise AppError(
            _("'{text}' is too far from the written tempo; {least} to {most} quarter notes a minute will do").format(
                text=text, least=least, most=most
            )
        )
    return factor


def read_share(text: str) -> float:
    """How loud the others are, 0 to 1, that ``50%`` or ``0.5`` asks for; AppError otherwise."""
    match = re.fullmatch(_NUMBER, text)
    share = float(match[1]) / (100 if match[2] else 1) if match else -1.0
    if not 0 <= share <= 1:
        raise AppError(
            _("'{text}' does not say how loud the other parts are, from 0 to 1 or from 0% to 100%").format(text=text)
        )
    return share


def write_sound(path: Path, listening: Listening, tick: Tick = no_tick) -> None:
    """Write what is heard to a WAV or MIDI file, whole or not at all; AppError for another kind of file."""
    suffix = path.suffix.casefold()
    if suffix not in WAV + MIDI:
        raise AppError(
            _("{file}: the file to write ends in {suffixes}").format(file=path.name, suffixes=", ".join(WAV + MIDI[:1]))
        )
    from app.sound.files import midi_bytes, wav_bytes  # here, since who only listens does not wait for it

    performance = listening.perform()
    if suffix in WAV:
        data = wav_bytes(listening.stream(performance), performance.end, tick)
    else:
        names = {part.id: part.name for part in listening.score.parts}
        data = midi_bytes(performance, names, listening.timbres, listening.mix)
    write_atomically(path, data)


def _timbre_of(part: Part, instrument: Instrument | None) -> str:
    """Its instrument's, else violin or cello, as high or low as most of the part lies."""
    if instrument is not None:
        return "bass" if instrument.frame == "bass" else instrument.key
    pitches = sorted(note.pitch.midi for note in part.notes)
    return "cello" if pitches and pitches[len(pitches) // 2] < _MIDDLE_C else "violin"
