"""What undo brings back, and the steps of its history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

from PySide6.QtGui import QUndoCommand

from analysis.fingering.plan import Plan
from analysis.language import _
from app.job.teacher.work import PartWork, Work

if TYPE_CHECKING:
    from app.window.editing.desk import Desk


@dataclass(frozen=True, slots=True)
class PartState:
    """The settings of one part and its fingering, ``None`` while it is not worked out."""

    work: PartWork
    plan: Plan | None


@dataclass(frozen=True, slots=True)
class State:
    """Everything that undo brings back: the work, and the plan of each part that has been fingered."""

    work: Work
    plans: Mapping[str, Plan]

    def part(self, part_id: str) -> PartState:
        """What holds of one part."""
        return PartState(self.work.parts[part_id], self.plans.get(part_id))

    def with_part(self, part_id: str, part: PartState) -> State:
        """The same with another state of one part."""
        plans = {key: value for key, value in self.plans.items() if key != part_id}
        if part.plan is not None:
            plans[part_id] = part.plan
        return State(self.work.with_part(part_id, part.work), MappingProxyType(plans))


class Step(QUndoCommand):
    """One labelled edit of one part."""

    def __init__(self, desk: Desk, text: str, part_id: str, after: PartState) -> None:
        super().__init__(text)
        self._desk, self._part_id = desk, part_id
        self._before, self._after = desk.state.part(part_id), after

    def redo(self) -> None:
        """Make the edit."""
        self._desk.go_to(self._part_id, self._after)

    def undo(self) -> None:
        """Take it back."""
        self._desk.go_to(self._part_id, self._before)


class PrintingStep(QUndoCommand):
    """One labelled edit of how parts are printed."""

    def __init__(self, desk: Desk, after: Work) -> None:
        super().__init__(_("paper and copies"))
        self._desk, self._before, self._after = desk, desk.state.work, after

    def redo(self) -> None:
        """Make the edit."""
        self._desk.print_as(self._after)

    def undo(self) -> None:
        """Take it back."""
        self._desk.print_as(self._before)
