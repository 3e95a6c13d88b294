"""The sound device: it asks for frames on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable, Generator
from typing import Any, Protocol

from analysis.language import _, later
from app.errors import AppError
from app.sound.notes import RATE
from app.sound.stream import Block

# The device asks for so many milliseconds at a time and so many times ahead: a busy moment of the window is not heard.
_PERIOD, _PERIODS = 50, 3
NO_DEVICE = later("There is no device for sound here: write a sound file and play it elsewhere.")

Read = Callable[[int], Block]


class NoDeviceError(AppError):
    """No device for sound is here, or it cannot be used."""


class Speaker(Protocol):
    """What plays frames."""

    @property
    def delay(self) -> float:
        """How many seconds pass from asking for frames to hearing them."""
        ...

    def start(self, read: Read) -> None:
        """Play what ``read`` gives, asking it for so many frames each time; NoDeviceError when there is no device."""
        ...

    def stop(self) -> None:
        """Be silent; ``read`` is not asked again."""
        ...


class DeviceSpeaker:
    """The device that the system uses for sound; ``silent``: one that plays in time and is not heard.

    It is opened once and used again: the library lets go of a device, but not of the files that it opened for it.
    """

    def __init__(self, *, silent: bool = False) -> None:
        self._silent = silent
        self._device: Any = None

    @property
    def delay(self) -> float:
        """How many seconds pass from asking for frames to hearing them."""
        return _PERIOD * _PERIODS / 1000

    def start(self, read: Read) -> None:
        """Play what ``read`` gives; NoDeviceError when there is no device."""
        import miniaudio

        self.stop()
        was_open = self._device is not None
        try:
            if self._device is None:
                self._device = self._opened()
            frames = _asked(read)
            next(frames)
            self._device.start(frames)
        except miniaudio.MiniaudioError as error:
            self._close()
            if not was_open:
                raise NoDeviceError(_(NO_DEVICE)) from error
            self.start(read)  # the device has gone since; there may be another

    def stop(self) -> None:
        """Have the device play nothing more."""
        if self._device is None:
            return
        import miniaudio

        try:
            self._device.stop()
        except miniaudio.MiniaudioError:
            self._close()  # it has gone

    def _opened(self) -> Any:
        import miniaudio

        device = miniaudio.PlaybackDevice(
            output_format=miniaudio.SampleFormat.SIGNED16,
            nchannels=2,
            sample_rate=RATE,
            buffersize_msec=_PERIOD,
            callback_periods=_PERIODS,
            backends=[miniaudio.Backend.NULL] if self._silent else None,
            app_name="Handframe",
        )
        # With no sound system at all the library would play into nothing.
        if device.backend.casefold() == "null" and not self._silent:
            device.close()
            raise NoDeviceError(_(NO_DEVICE))
        return device

    def _close(self) -> None:
        device, self._device = self._device, None
        if device is not None:
            device.close()


def _asked(read: Read) -> Generator[bytes, int, None]:
    """The frames as the library asks for them; it sends how many it wants."""
    frames = yield b""
    while True:
        frames = yield read(frames).tobytes()
