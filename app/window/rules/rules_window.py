"""The window in which house rules are edited, tried on the passage in hand, used, saved and opened."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QComboBox, QDialog, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from analysis.errors import AnalysisError
from analysis.fingering.rules.files import PRESETS, find_rules, preset
from analysis.fingering.rules.house import HouseRules
from analysis.language import _
from app.job.paper.part_set import file_name
from app.job.rules.draft import Draft
from app.job.rules.file import SUFFIX, write_rules
from app.job.words.names import rules_title
from app.window import dialogs
from app.window.editing.desk import Desk
from app.window.keys import RULES, keys_of
from app.window.rules.rules_editor import RulesEditor
from app.window.rules.rules_trial import RulesTrial
from app.window.style import look
from app.window.widgets.buttons import plain_button
from app.window.widgets.labels import heading, quiet_label
from app.window.widgets.sizes import resize_on_screen
from engraving.errors import EngravingError

_SIZE = QSize(1100, 720)


class RulesWindow(QDialog):
    """``used``: the part in hand shall be played by these rules. ``used_by_all``: every string part shall.

    Rules that are neither used nor saved are asked about before the window closes.
    """

    used = Signal(object)
    used_by_all = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._followed = Draft.of(self._in_hand)
        self._saved: Draft | None = None
        self.setWindowTitle(_("House rules"))
        self.presets = QComboBox(self)
        self.open_file, self.undo, self.redo = (
            plain_button(words, self) for words in (_("Open file…"), _("Undo"), _("Redo"))
        )
        self.editor = RulesEditor(desk, self)
        self.tried_on = heading("", self)
        self.effect = quiet_label(look.PLAIN, self)
        self.wrong = quiet_label(look.CAUTION, self)
        self.save_file, self.use, self.use_by_all, self.leave = (
            plain_button(words, self) for words in (_("Save as file…"), "", _("Use for all string parts"), _("Close"))
        )
        self.trial = RulesTrial(desk, self)
        self._lay_out()
        self._connect()
        self.editor.begin(self._followed)

    # What it holds

    @property
    def rules(self) -> HouseRules:
        """The rules as they are edited; HouseRuleError where they do not fit."""
        return self.editor.draft.rules

    @property
    def is_edited(self) -> bool:
        """Whether they are others than those of the part in hand and those saved last."""
        return self.editor.draft not in (self._followed, self._saved)

    @property
    def _in_hand(self) -> HouseRules:
        return self._desk.part_work.rules if self._desk.part_work else HouseRules()

    def begin(self) -> None:
        """Begin with the rules of the part in hand, unless the window is open already."""
        if not self.isVisible():
            self._followed, self._saved = Draft.of(self._in_hand), None
            self.editor.begin(self._followed)

    # How it is made

    def _lay_out(self) -> None:
        self.presets.setAccessibleName(_("Rules to begin from"))
        self.presets.setPlaceholderText(_("Choose rules…"))
        for name in PRESETS:
            self.presets.addItem(rules_title(preset(name)), name)
        self.presets.setCurrentIndex(-1)
        self.undo.setShortcut(keys_of(RULES, "undo")[0])
        self.redo.setShortcut(keys_of(RULES, "redo")[0])
        self.tried_on.setAccessibleName(_("What the rules are tried on"))
        self.tried_on.setTextFormat(Qt.TextFormat.PlainText)
        self.effect.setMinimumHeight(2 * self.effect.fontMetrics().lineSpacing())
        layout = QVBoxLayout(self)
        layout.addLayout(
            self._bar(QLabel(_("Begin from"), self), self.presets, self.open_file, None, self.undo, self.redo)
        )
        layout.addWidget(self.editor, 1)
        for label in (self.tried_on, self.effect, self.wrong):
            layout.addWidget(label)
        layout.addLayout(self._bar(self.save_file, None, self.use, self.use_by_all, self.leave))
        resize_on_screen(self, _SIZE)

    def _bar(self, *widgets: QWidget | None) -> QHBoxLayout:
        """Widgets in a row, with room for ``None``."""
        bar = QHBoxLayout()
        for widget in widgets:
            if widget is None:
                bar.addStretch(1)
            else:
                bar.addWidget(widget)
        return bar

    def _connect(self) -> None:
        self.presets.activated.connect(self._begin_from)
        self.open_file.clicked.connect(self.open)
        self.undo.clicked.connect(self.editor.undo)
        self.redo.clicked.connect(self.editor.redo)
        self.save_file.clicked.connect(self.save)
        self.use.clicked.connect(lambda: self.used.emit(self.rules))
        self.use_by_all.clicked.connect(lambda: self.used_by_all.emit(self.rules))
        self.leave.clicked.connect(self.reject)
        self.editor.changed.connect(self._tell)
        self.trial.told.connect(self._tell_effect)
        self._desk.part_changed.connect(self._follow)
        self._desk.plan_changed.connect(self._follow)
        self._desk.passage_changed.connect(self._tell)
        self._desk.history.indexChanged.connect(self._enable)

    # What happens in it

    def _begin_from(self, row: int) -> None:
        self.presets.setCurrentIndex(-1)
        self.editor.take(Draft.of(preset(self.presets.itemData(row))))

    def _follow(self) -> None:
        """The rules of the part in hand may be others: what is not edited follows them."""
        if not self.isVisible() or self._desk.part is None:
            return
        edited, self._followed = self.editor.draft != self._followed, Draft.of(self._in_hand)
        if edited or self.editor.draft == self._followed:
            self.editor.refresh()
        else:
            self.editor.take(self._followed, self.editor.places.row)

    def _tell(self) -> None:
        """Say what is wrong and what can be done, and try the rules."""
        wrong = self.editor.wrong()
        self.wrong.setText(wrong)
        self.wrong.setVisible(bool(wrong))
        self._enable()
        self.trial.ask(None if wrong or not self.isVisible() else self.rules)

    def _enable(self) -> None:
        """Let be used what can be: rules that fit, where they are others than now."""
        rules = None if self.wrong.text() else self.rules
        part, works = self._desk.part, self._desk.state.work.parts.values()
        strings = [work.rules for work in works if work.instrument is not None]
        self.undo.setEnabled(self.editor.drafts.can_undo)
        self.redo.setEnabled(self.editor.drafts.can_redo)
        words = _("Use for {part}").format(part=part.name) if part else _("Use for this part")
        self.use.setText(words.replace("&", "&&"))
        self.use.setEnabled(rules is not None and part is not None and rules != self._in_hand)
        self.use_by_all.setEnabled(rules is not None and any(other != rules for other in strings))
        self.save_file.setEnabled(rules is not None)

    def _tell_effect(self, place: str, sentence: str) -> None:
        self.tried_on.setText(place or self.trial.place)
        self.effect.setText(sentence)

    # Files

    def open(self) -> None:
        """Ask for a file of house rules and edit them."""
        path = dialogs.ask_open(self, _("House rules"), self._desk.folder, dialogs.RULES_FILES)
        if path is None:
            return
        try:
            self._saved = Draft.of(find_rules(str(path)))
        except AnalysisError as error:
            dialogs.tell(self, str(error))
            return
        self.editor.take(self._saved)

    def save(self) -> None:
        """Ask for a file and write the rules to it."""
        rules = self.rules
        suggestion = f"{offered_name(rules)}{SUFFIX}"
        path = dialogs.ask_target(self, _("House rules"), self._desk.folder, suggestion, dialogs.RULES_FILES, SUFFIX)
        if path is None:
            return
        try:
            write_rules(path, rules)
        except EngravingError as error:
            dialogs.tell(self, str(error))
            return
        self._saved = Draft.of(rules)
        self._desk.said.emit(_("Saved {name}").format(name=path.name))

    # Closing

    def settle(self) -> bool:
        """Close, after asking about rules that are neither used nor saved; whether nothing is left to do.

        Rules that are to be used are worked out first, which is to be waited for.
        """
        if not self.isVisible():
            return True
        answer = dialogs.Answer.DISCARD
        if self.is_edited:
            answer = dialogs.ask_unused(self, self.use.text(), usable=self.use.isEnabled())
        if answer is dialogs.Answer.CANCEL:
            return False
        if answer is dialogs.Answer.SAVE:
            self.used.emit(self.rules)
        self.trial.stop()
        super().reject()
        return answer is dialogs.Answer.DISCARD

    def reject(self) -> None:
        """Close, after asking about rules that are neither used nor saved."""
        self.settle()

    def showEvent(self, event: QShowEvent) -> None:
        """Try the rules that are shown."""
        super().showEvent(event)
        self._tell()


def offered_name(rules: HouseRules) -> str:
    """What a file with these rules may be called: a preset that was changed has another name than the preset."""
    changed = rules.name in PRESETS and rules != preset(rules.name)
    name = _("{rules}, changed").format(rules=rules_title(rules)) if changed else rules.name
    return file_name(name) or _("house rules")
