"""The sound device: it asks in time, is opened once, and may go."""

from __future__ import annotations

import time
from typing import ClassVar

import miniaudio
import numpy as np
import pytest

from app.sound.notes import RATE
from app.sound.speaker import DeviceSpeaker, NoDeviceError


def test_a_device_asks_for_frames_in_time_and_no_longer_after_it_is_stopped():
    asked: list[int] = []

    def read(frames: int) -> np.ndarray:
        asked.append(frames)
        return np.zeros((frames, 2), dtype=np.int16)

    device = DeviceSpeaker(silent=True)
    device.start(read)
    begun = time.monotonic()
    while sum(asked) < RATE // 2 and time.monotonic() - begun < 20:
        time.sleep(0.01)
    device.stop()
    seconds, heard = time.monotonic() - begun, sum(asked)
    assert heard >= RATE // 2
    assert heard / RATE <= seconds + 3 * device.delay
    time.sleep(0.2)
    assert sum(asked) == heard


class Device:
    """Stands in for the library's: ``gone`` as if it had been unplugged."""

    made: ClassVar[list[Device]] = []
    backend = "Alsa"

    def __init__(self, **asked: object) -> None:
        self.is_open, self.plays, self.gone = True, False, False
        Device.made.append(self)

    def start(self, frames: object) -> None:
        if self.gone:
            raise miniaudio.MiniaudioError("failed to start audio device")
        self.plays = True

    def stop(self) -> None:
        if self.gone:
            raise miniaudio.MiniaudioError("failed to stop audio device")
        self.plays = False

    def close(self) -> None:
        self.is_open = self.plays = False


@pytest.fixture
def devices(monkeypatch: pytest.MonkeyPatch) -> list[Device]:
    monkeypatch.setattr(Device, "made", [])
    monkeypatch.setattr(miniaudio, "PlaybackDevice", Device)
    return Device.made


def nothing(frames: int) -> np.ndarray:
    return np.zeros((frames, 2), dtype=np.int16)


def test_one_device_is_opened_however_often_it_plays(devices: list[Device]):
    speaker = DeviceSpeaker()
    for _ in range(5):
        speaker.start(nothing)
        assert devices[0].plays
        speaker.stop()
        assert not devices[0].plays
    assert len(devices) == 1


@pytest.mark.parametrize("while_it_plays", [False, True])
def test_another_device_is_opened_when_one_has_gone(devices: list[Device], while_it_plays: bool):
    speaker = DeviceSpeaker()
    speaker.start(nothing)
    if not while_it_plays:
        speaker.stop()
    devices[0].gone = True
    speaker.start(nothing)
    assert [(one.is_open, one.plays) for one in devices] == [(False, False), (True, True)]


def test_when_the_only_device_has_gone_a_sentence_says_so(devices: list[Device], monkeypatch: pytest.MonkeyPatch):
    speaker = DeviceSpeaker()
    speaker.start(nothing)
    speaker.stop()
    devices[0].gone = True
    monkeypatch.setattr(miniaudio, "PlaybackDevice", lambda **asked: no_device())
    with pytest.raises(NoDeviceError, match="There is no device for sound here"):
        speaker.start(nothing)
    assert not devices[0].is_open


def no_device() -> None:
    raise miniaudio.MiniaudioError("failed to init device")
