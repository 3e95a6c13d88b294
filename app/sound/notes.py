"""The recorded string notes: one every minor third of each instrument, tuned, all of one loudness.

They lie in ``strings/``; its ``LICENCE.txt`` tells where they come from. A tone takes the nearest one, played faster or
slower to its pitch (linear interpolation), and while it is held goes round in the note's last part, made for that.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from importlib.resources.abc import Traversable
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

RATE = 44_100
PLUCKED = "plucked"
TIMBRES = ("violin", "viola", "cello", "bass", PLUCKED)

Frames = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Recorded:
    """One recorded note: frames at 44.1 kHz, 1 being the root mean square of a note held.

    ``pitch``, in MIDI semitones, is what it has when it is held. After its last frame comes frame ``back``, ``None``
    where the note dies away by itself.
    """

    pitch: float
    frames: Frames
    back: int | None

    def at(self, places: NDArray[np.float64]) -> Frames:
        """The sound at places counted in frames from the beginning, however long it lasts."""
        end = len(self.frames)
        after = end - 1
        if self.back is not None:
            after = self.back
            places = np.where(places < end, places, after + (places - after) % (end - after))
        whole = np.minimum(places.astype(np.intp), end - 1)
        part = (places - whole).astype(np.float32)
        here, beyond = self.frames[whole], self.frames[np.where(whole + 1 < end, whole + 1, after)]
        found: Frames = here + part * (beyond - here)
        if self.back is None:
            found[places >= end] = 0
        return found


@dataclass(frozen=True, slots=True, eq=False)
class Timbre:
    """The recorded notes of one instrument, from low to high."""

    notes: tuple[Recorded, ...]

    def nearest(self, pitch: float) -> Recorded:
        """The recorded note that is nearest to a MIDI pitch."""
        return min(self.notes, key=lambda note: abs(note.pitch - pitch))


@lru_cache(maxsize=len(TIMBRES))
def timbre(name: str) -> Timbre:
    """The recorded notes of that name in ``TIMBRES``, read once."""
    import miniaudio

    table = _table()
    data = (_folder() / f"{name}.ogg").read_bytes()
    decoded = miniaudio.decode(data, output_format=miniaudio.SampleFormat.SIGNED16, nchannels=1, sample_rate=RATE)
    frames: Frames = np.asarray(decoded.samples, dtype=np.float32) * np.float32(1 / (32768 * float(table["steady"])))
    return Timbre(
        tuple(
            Recorded(pitch, frames[first : first + length], back if back < length else None)
            for pitch, first, length, back in table[name]["notes"]
        )
    )


def _folder() -> Traversable:
    return resources.files("app.sound") / "strings"


@lru_cache(maxsize=1)
def _table() -> Mapping[str, Any]:
    return MappingProxyType(tomllib.loads((_folder() / "strings.toml").read_text(encoding="utf-8")))
