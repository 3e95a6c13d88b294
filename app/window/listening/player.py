"""Plays what is to be heard: prepared by a task, rendered on the device's own thread, followed note by note here."""

from __future__ import annotations

import time
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from PySide6.QtCore import QObject, QTimer, Signal

from analysis.language import _
from analysis.sounding.performance import Performance
from analysis.sounding.tones import Head
from app.job.listening import Listening
from app.sound.notes import RATE
from app.sound.speaker import DeviceSpeaker, NoDeviceError, Speaker
from app.sound.stream import Block, Mix, Stream
from app.window.background.tasks import TaskRunner

_LOOKS_EVERY_MS = 30
# So many notes that began before are looked through for one that still sounds.
_BACK = 32


@dataclass(frozen=True, slots=True)
class _Asked:
    """The device had asked for so many ``frames`` in all when it last asked, at that second of the clock."""

    frames: int = 0
    at: float = 0.0


class Playing:
    """A stream on its way to the device, and what of it is heard by now."""

    def __init__(self, wanted: Listening, performance: Performance, stream: Stream, delay: float) -> None:
        self.wanted, self.performance, self.stream = wanted, performance, stream
        self._delay = delay
        self._asked = _Asked()

    def read(self, frames: int) -> Block:
        """The next frames, asked for by the device on its thread."""
        block = self.stream.read(frames)
        self._asked = _Asked(self._asked.frames + frames, time.monotonic())
        return block

    @property
    def elapsed(self) -> float:
        """How many seconds of the stream have been heard."""
        asked = self._asked
        if not asked.frames:
            return 0.0
        ahead = asked.frames / RATE - self._delay
        return max(0.0, ahead + min(time.monotonic() - asked.at, self._delay))

    @property
    def place(self) -> float:
        """The second of the performance that is heard now."""
        return self.stream.at(self.elapsed)

    @property
    def is_over(self) -> bool:
        """Whether the last of it has been heard."""
        return self.stream.is_over and self.elapsed >= self._asked.frames / RATE - self._delay


class Player(QObject):
    """One thing is heard at a time. ``changed``: it plays, or no longer; ``lit``: the notes, by id, that sound now.

    ``failed``: why nothing can be heard, in one sentence.
    """

    changed = Signal()
    lit = Signal(object)
    failed = Signal(str)

    def __init__(self, tasks: TaskRunner, parent: QObject | None = None, speaker: Speaker | None = None) -> None:
        super().__init__(parent)
        self._tasks = tasks
        self.speaker = speaker or DeviceSpeaker()
        self._playing: Playing | None = None
        self._awaited: Listening | None = None
        self._made: tuple[Listening, Performance] | None = None
        self._lit: tuple[str, ...] = ()
        self._timer = QTimer(self)
        self._timer.setInterval(_LOOKS_EVERY_MS)
        self._timer.timeout.connect(self.look)

    @property
    def plays(self) -> bool:
        """Whether something is heard, or about to be."""
        return self._playing is not None or self._awaited is not None

    @property
    def heard(self) -> Listening | None:
        """What is heard, or about to be."""
        return self._awaited or (None if self._playing is None else self._playing.wanted)

    def prepare(self, wanted: Listening) -> None:
        """Have it ready, so that playing it begins at once."""
        if self._made is None or self._made[0] != _unmixed(wanted):
            self._run(wanted, lambda performance: self._keep(wanted, performance))

    def play(self, wanted: Listening, *, looped: bool, goes_on: bool = False) -> None:
        """Play it from the beginning, or, where it ``goes_on``, from the place in the music that is heard now."""
        quarters = self._quarters() if goes_on else None
        self._awaited = wanted
        made = self._made
        self.changed.emit()
        if made is not None and made[0] == _unmixed(wanted):
            self._begin(wanted, made[1], looped=looped, quarters=quarters)
            return
        self._run(wanted, lambda performance: self._begin(wanted, performance, looped=looped, quarters=quarters))

    def _run(self, wanted: Listening, then: Callable[[Performance], None]) -> None:
        self._tasks.run(_("Preparing to play"), lambda tick: wanted.perform(), then, self._give_up)

    def _keep(self, wanted: Listening, performance: Performance) -> None:
        self._made = _unmixed(wanted), performance

    def stop(self) -> None:
        """Be silent."""
        self._awaited = None
        self._end()
        self.changed.emit()

    def mix(self, mix: Mix) -> None:
        """Let other parts be as loud, and the click be heard, from now on."""
        if self._playing is not None:
            self._playing.stream.mix = mix
        if self._awaited is not None:
            self._awaited = replace(self._awaited, mix=mix)

    def look(self) -> None:
        """See which notes sound now, and whether it is over."""
        playing = self._playing
        if playing is None:
            return
        if playing.is_over:
            self.stop()
            return
        heads = playing.performance.heads[playing.wanted.part]
        self._light(sounding_at(heads, playing.place))

    def _begin(self, wanted: Listening, performance: Performance, *, looped: bool, quarters: float | None) -> None:
        self._keep(wanted, performance)
        awaited = self._awaited
        if awaited is None or _unmixed(awaited) != _unmixed(wanted):
            return  # something else is wanted by now, or silence
        self._end()
        self._awaited = None
        start = 0.0 if quarters is None else performance.clock.at(Fraction(quarters))
        stream = awaited.stream(performance, start=min(start, performance.end), looped=looped)
        self._playing = Playing(awaited, performance, stream, self.speaker.delay)
        try:
            self.speaker.start(self._playing.read)
        except NoDeviceError as error:
            self._give_up(error)
            return
        self._timer.start()
        self.changed.emit()

    def _end(self) -> None:
        self._timer.stop()
        if self._playing is not None:
            self.speaker.stop()
        self._playing = None
        self._light(())

    def _give_up(self, error: Exception) -> None:
        self.stop()
        self.failed.emit(str(error))

    def _quarters(self) -> float | None:
        playing = self._playing
        return None if playing is None else playing.performance.clock.quarters(playing.place)

    def _light(self, note_ids: tuple[str, ...]) -> None:
        if note_ids != self._lit:
            self._lit = note_ids
            self.lit.emit(note_ids)


def sounding_at(heads: Sequence[Head], second: float) -> tuple[str, ...]:
    """The ids of the notes that are being played at a second; ``heads`` in the order of time."""
    upto = bisect_right(heads, second, key=lambda head: head.start)
    return tuple(head.note_id for head in heads[max(0, upto - _BACK) : upto] if second < head.end)


def _unmixed(wanted: Listening) -> Listening:
    """What the performance depends on."""
    return replace(wanted, mix=Mix())
