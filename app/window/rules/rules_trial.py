"""House rules tried on the passage in hand while they are edited: what they would change there."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QObject, QTimer, Signal

from analysis.fingering.plan import Plan
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick
from analysis.language import _
from app.job.rules.effect import Effect, effect_of
from app.job.teacher.work import NO_INSTRUMENT, PartWork
from app.window.background.tasks import Task
from app.window.editing.desk import Desk

_PAUSE = 250  # milliseconds without a change before the rules are tried


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """What is tried: the rules, and what lay on the desk then."""

    rules: HouseRules
    plan: Plan
    work: PartWork
    measures: tuple[int, int] | None


class RulesTrial(QObject):
    """Tries the rules last asked for off the GUI thread, once there is a pause; of several only the last is told of.

    ``told``: what they are tried on, and in one sentence what they change; both "" while that is not known.
    """

    told = Signal(str, str)

    def __init__(self, desk: Desk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._rules: HouseRules | None = None
        self._asked: _Asked | None = None
        self._task: Task | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_PAUSE)
        self._pause.timeout.connect(self._try)

    def ask(self, rules: HouseRules | None) -> None:
        """Try these rules on what is in hand; ``None``: there are none that fit."""
        self._rules, self._asked = rules, None
        if rules is None:
            self._pause.stop()
            self.told.emit("", "")
        else:
            self._pause.start()

    def stop(self) -> None:
        """Try nothing any more."""
        self._pause.stop()
        self._asked = None

    @property
    def place(self) -> str:
        """What rules are tried on: the part in hand, or the measures selected in it."""
        part, measures = self._desk.part, self._desk.passage
        if part is None:
            return ""
        return part.name if measures is None else f"{part.name}, {part.span(measures)}"

    def _try(self) -> None:
        self._pause.stop()
        plan, work = self._desk.plan, self._desk.part_work
        if work is not None and work.instrument is None:
            self.told.emit(self.place, _(NO_INSTRUMENT))
            return
        if self._rules is None or plan is None or work is None:
            return
        self._asked = _Asked(self._rules, plan, work, self._desk.passage)
        if self._task is None or self._task.stopped:
            self._run(self._asked)

    def _run(self, asked: _Asked) -> None:
        def work_out(tick: Tick) -> Effect:
            return effect_of(asked.plan, asked.work, asked.rules, asked.measures, tick)

        self._task = self._desk.tasks.run(
            _("Trying house rules"),
            work_out,
            lambda effect: self._settled(asked, effect.text),
            lambda error: self._settled(asked, f"{error}."),
        )

    def _settled(self, asked: _Asked, sentence: str) -> None:
        self._task = None
        if self._asked is asked:
            self.told.emit(self.place, sentence)
        elif self._asked is not None:
            self._run(self._asked)
