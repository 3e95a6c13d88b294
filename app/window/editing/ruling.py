"""House rules edited in their window, and taken over for the part in hand or for all string parts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from analysis.fingering.plan import Plan
from analysis.fingering.rules.house import HouseRules
from analysis.language import _
from app.errors import AppError
from app.job.rules.passage import measures_for_rules, misfit
from app.job.words.names import rules_title
from app.window.editing.desk import Desk
from app.window.editing.steps import PartState, Step

if TYPE_CHECKING:
    from app.window.rules.rules_window import RulesWindow


class Ruling(QObject):
    """Asks what shall hold and has it worked out off the GUI thread; ``window`` owns the dialogs."""

    def __init__(self, desk: Desk, window: QWidget) -> None:
        super().__init__(window)
        self._desk, self._window = desk, window
        self.rules_window: RulesWindow | None = None

    def edit_rules(self) -> RulesWindow:
        """Show the house rules of the part in hand, to be edited."""
        if self.rules_window is None:
            from app.window.rules.rules_window import RulesWindow  # here, since the first window does not wait for it

            self.rules_window = RulesWindow(self._desk, self._window)
            self.rules_window.used.connect(self.use)
            self.rules_window.used_by_all.connect(self.use_by_all)
        self.rules_window.begin()
        self.rules_window.show()
        self.rules_window.activateWindow()
        return self.rules_window

    def edit_passage_rules(self) -> None:
        """Show the house rules for the selected measures, to be edited."""
        part, measures = self._desk.part, self._desk.passage
        if part is None or measures is None:
            return
        try:
            text = measures_for_rules(part, measures)
        except AppError as error:
            self._desk.failed.emit(str(error))
            return
        self.edit_rules().editor.edit_passage(part, measures, text)

    def settle(self) -> bool:
        """Close the rules that are edited; whether nothing of them is left to decide."""
        return self.rules_window is None or self.rules_window.settle()

    def use(self, rules: HouseRules) -> None:
        """Play the part in hand by the rules."""
        self._desk.set_rules(rules)

    def use_by_all(self, rules: HouseRules) -> None:
        """Play every string part by the rules, as one step; what is edited meanwhile stays."""
        desk, score, part, own = self._desk, self._desk.score, self._desk.part, self._desk.part_work
        if score is None or part is None or own is None:
            return
        works = desk.state.work.parts
        sentence = misfit(rules, [(one, works[one.id].instrument) for one in score.score.parts])
        if sentence:
            desk.failed.emit(f"{sentence}.")
            return
        changed = replace(own, rules=rules)

        def planned(plan: Plan | None) -> None:
            if desk.score is not score:
                return
            if desk.state.work.parts[part.id] is not own:
                self.use_by_all(rules)
                return
            self._give_all(rules, {part.id: plan})

        desk.tasks.run(
            _("Fingering {name}").format(name=part.name), lambda tick: changed.plan(part, tick), planned, self._failed
        )

    def _give_all(self, rules: HouseRules, plans: Mapping[str, Plan | None]) -> None:
        """Give every string part the rules; those without a new plan are fingered when they are turned to."""
        desk = self._desk
        desk.history.beginMacro(_("house rules {rules} for all string parts").format(rules=rules_title(rules)))
        for part_id, work in desk.state.work.parts.items():
            if work.instrument is not None and work.rules != rules:
                after = PartState(replace(work, rules=rules), plans.get(part_id))
                desk.history.push(Step(desk, desk.history.undoText(), part_id, after))
        desk.history.endMacro()

    def _failed(self, error: Exception) -> None:
        self._desk.failed.emit(str(error))
