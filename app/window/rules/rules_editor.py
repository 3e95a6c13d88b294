"""House rules being edited: the places where they say something on the left, what they say there beside it."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from analysis.errors import HouseRuleError
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules
from analysis.instruments import INSTRUMENTS, Instrument
from analysis.language import _, later
from analysis.music import Part
from app.job.rules.draft import Draft, Drafts, TableDraft, measures_text, wrong_in
from app.job.rules.passage import misfit, remark_on, rules_held_in
from app.job.rules.words import table_title, table_words
from app.window.editing.desk import Desk
from app.window.rules.rules_page import RulesPage
from app.window.rules.rules_places import PassageHead, PlaceHead, PlacesList

EVERYWHERE = later("Everywhere")
_SAYS_EVERYWHERE = later("What holds for every part, unless a table on the left says otherwise for it.")
_SAYS_LEFT_OUT = later("A rule that is not checked is as elsewhere.")


class RulesEditor(QWidget):
    """``changed``: the draft in hand is another, or is looked at otherwise."""

    changed = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.drafts = Drafts(Draft.of(HouseRules()))
        self.places = PlacesList(self)
        self.head = PlaceHead(_(EVERYWHERE), _(_SAYS_EVERYWHERE))
        self.page = RulesPage(None, in_table=False)
        self._area = QScrollArea(self)
        self._area.setWidgetResizable(True)
        self._area.setAccessibleName(_("Rules there"))
        self._area.setFrameShape(QFrame.Shape.StyledPanel)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.places)
        layout.addWidget(self._area, 1)
        self.places.chosen.connect(self.show_place)
        self.places.wanted.connect(self.add_table)
        self.places.passage_wanted.connect(lambda: self.add_table(self._passage_in_hand()))
        self.places.unwanted.connect(self._take_table_away)

    # The draft

    @property
    def draft(self) -> Draft:
        """The rules as they are now, which may not fit."""
        return self.drafts.now

    def begin(self, draft: Draft) -> None:
        """Begin anew with a draft; there is nothing to undo."""
        self.drafts = Drafts(draft)
        self.show_place(-1)

    def take(self, draft: Draft, row: int = -1) -> None:
        """Another draft, and the place in it that is looked at."""
        self.drafts.take(draft)
        self.show_place(row)

    def undo(self) -> None:
        """Back to the draft before."""
        self._step(self.drafts.undo)

    def redo(self) -> None:
        """Forth again."""
        self._step(self.drafts.redo)

    def edit_passage(self, part: Part, measures: tuple[int, int], text: str) -> None:
        """Show the table for some measures of a part, which are ``text`` in house rules; a new one if there is none."""
        for row, table in enumerate(self.draft.tables):
            if table.kind == "passage" and table.key in ("", part.name) and table.measures == text:
                self.show_place(row)
                return
        self.add_table(TableDraft("passage", part.name, self._held_in(part, measures), text))

    def add_table(self, table: TableDraft) -> None:
        """Add a table, the last of its kind, and look at it."""
        draft = self.draft.with_new(table)
        self.take(draft, max(row for row, one in enumerate(draft.tables) if one == table))

    def wrong(self) -> str:
        """What is wrong with the draft, the first of several, in one sentence; "" where it fits the part in hand."""
        for row, wrong in wrong_in(self.draft).items():
            title = table_title(self.draft.tables[row]) if row >= 0 else _(EVERYWHERE)
            return f"{title}: {next(iter(wrong.values()))}."
        try:
            rules = self.draft.rules
        except HouseRuleError as error:
            return f"{error}."
        part, own = self._desk.part, self._desk.part_work
        sentence = misfit(rules, [(part, own.instrument)]) if part is not None and own is not None else ""
        return f"{sentence}." if sentence else ""

    # Where they hold

    def show_place(self, row: int) -> None:
        """Show the rules of the table of that number, or at -1 those that hold everywhere."""
        row = min(row, len(self.draft.tables) - 1)
        table = self._table(row)
        instrument = self._instrument(table)
        if table is None:
            self.head = PlaceHead(_(EVERYWHERE), _(_SAYS_EVERYWHERE))
        elif table.kind == "passage":
            self.head = PassageHead(table, self._part_names, _says(table.kind))
        else:
            self.head = PlaceHead(table_title(table), _says(table.kind))
        self.page = RulesPage(instrument, in_table=table is not None)
        self.page.show_values(self.draft.values(row), self.draft.beneath(row, instrument.key if instrument else ""))
        self.page.changed.connect(partial(self._take_value, row))
        self.head.changed.connect(partial(self._take_passage, row))
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.addWidget(self.head)
        column.addWidget(self.page, 1)
        self._area.setWidget(inside)
        self._tell(row)

    def refresh(self) -> None:
        """Another part may be in hand: name and remark things for it."""
        row = self.places.row
        if self.page.instrument != self._instrument(self._table(row)):
            self.show_place(row)
        else:
            self._tell(row)

    def _table(self, row: int) -> TableDraft | None:
        return self.draft.tables[row] if row >= 0 else None

    def _tell(self, row: int) -> None:
        """Show the places, say what does not fit in the one in hand, and tell that something has changed."""
        draft, wrong = self.draft, wrong_in(self.draft)
        places = [(table_title(table), table_words(table, self._instrument(table))) for table in draft.tables]
        own = str(draft.own["title"] or draft.own["name"])
        title = _(own) if own else ""
        self.places.show_places([(_(EVERYWHERE), title), *places], wrong, row)
        self.places.offer(draft, self._part_names)
        here = wrong.get(row, {})
        self.page.say_wrong(here)
        self.head.say(f"{here['measures']}." if "measures" in here else self._remark(row))
        self.changed.emit()

    @property
    def _part_names(self) -> list[str]:
        return [part.name for part in self._desk.score.score.parts] if self._desk.score else []

    def _instrument(self, table: TableDraft | None) -> Instrument | None:
        """Who plays where a table holds; of those that many could play, who plays the part in hand."""
        score, own = self._desk.score, self._desk.part_work
        if table is not None and table.kind == "instrument":
            return next((one for one in INSTRUMENTS if one.key == table.key), None)
        if table is not None and score is not None:
            for part in score.score.parts:
                if part.name == table.key:
                    return self._desk.state.work.parts[part.id].instrument
        return own.instrument if own else None

    def _remark(self, row: int) -> str:
        score, part, table = self._desk.score, self._desk.part, self._table(row)
        return "" if table is None or score is None or part is None else remark_on(table, score.score, part)

    def _passage_in_hand(self) -> TableDraft:
        """A new table for the measures selected, if there are any."""
        part, measures = self._desk.part, self._desk.passage
        if part is None or measures is None:
            return TableDraft("passage", part.name if part else "", {})
        text = measures_text(*(part.measures[index].label for index in measures))
        return TableDraft("passage", part.name, self._held_in(part, measures), text)

    def _held_in(self, part: Part, measures: tuple[int, int]) -> dict[str, object]:
        """What a table for a passage says of the measures already: of two tables only the later counts."""
        try:
            held = rules_held_in(self.draft.rules, part, measures)
        except HouseRuleError:
            return {}
        return {} if held is None else dict(Draft.of(HouseRules(passage=(held,))).tables[0].rules)

    # What is changed

    def _take_table_away(self) -> None:
        row = self.places.row
        if row >= 0:
            self.take(self.draft.without(row), min(row, len(self.draft.tables) - 2))

    def _take_value(self, row: int, name: str) -> None:
        self.drafts.take(self.draft.with_values(row, self.page.values), f"{row} {name}")
        self._tell(row)

    def _take_passage(self, row: int) -> None:
        if isinstance(self.head, PassageHead):
            there = self.head.table
            moved = TableDraft("passage", there.key, self.draft.tables[row].rules, there.measures)
            self.drafts.take(self.draft.with_table(row, moved), f"{row} passage")
            self._tell(row)

    def _step(self, step: Callable[[], None]) -> None:
        step()
        self.show_place(self.places.row)


def _says(kind: str) -> str:
    """What a table of a kind is for."""
    return f"{_(RULE_SENTENCES[kind])} {_(_SAYS_LEFT_OUT)}"
