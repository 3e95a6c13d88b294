"""The window: parts on the left, music in the middle, ways to play, watch-list and marks on the right."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import Qt, QTimer, QUrl
from PySide6.QtGui import (
    QAction,
    QCloseEvent,
    QDragEnterEvent,
    QDragLeaveEvent,
    QDragMoveEvent,
    QDropEvent,
    QKeySequence,
)
from PySide6.QtWidgets import (
    QLabel,
    QMainWindow,
    QMenu,
    QProgressBar,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from analysis.errors import AnalysisError
from analysis.fingering.rules.files import find_rules
from analysis.language import _
from app.job.files.example import example_score
from app.job.files.recent import RecentFiles
from app.window import dialogs
from app.window.background.collecting import Collecting
from app.window.background.tasks import TaskRunner
from app.window.commands import COMMANDS, EVERYWHERE
from app.window.comparing.compare_window import CompareWindow
from app.window.editing.desk import Desk
from app.window.editing.note_edits import NoteEdits
from app.window.editing.paperwork import Paperwork
from app.window.editing.pencil import Pencil
from app.window.editing.range_edits import RangeEdits
from app.window.editing.ruling import Ruling
from app.window.editing.watch import Watch
from app.window.editing.wording import Wording
from app.window.listening.listen_bar import ListenBar
from app.window.listening.player import Player
from app.window.music.score_view import ScoreView
from app.window.panels.fingerboard_panel import FingerboardPanel
from app.window.panels.marks_panel import MarksPanel
from app.window.panels.parts_panel import PartsPanel
from app.window.panels.watch_panel import WatchPanel
from app.window.panels.ways_panel import WaysPanel
from app.window.paper.previews import Previews
from app.window.safe.rescue import Rescuer
from app.window.safe.safety import Safety
from app.window.start.drop_frame import DropFrame
from app.window.start.dropped import file_dropped
from app.window.start.recent_notes import RecentNotes
from app.window.start.recents import Recents
from app.window.start.start_page import StartPage
from app.window.style.colouring import Colouring
from app.window.widgets.flow import Column
from app.window.widgets.tabs import Tabs

# The least width of the columns, in pixels.
_LEFT, _RIGHT = 200, 290


class MainWindow(QMainWindow):
    """One window on one score.

    The journals of unsaved work lie in the folder ``recovery``, and nowhere without one; ``recent`` is the list of the
    files opened last, which nobody keeps without it; ``colouring`` shows the colours that the user chooses.
    """

    colouring: Colouring
    desk: Desk
    paperwork: Paperwork
    previews: Previews
    music: ScoreView
    watch: Watch
    pencil: Pencil
    notes: NoteEdits
    wording: Wording
    ruling: Ruling
    ranges: RangeEdits
    watch_panel: WatchPanel
    marks_panel: MarksPanel
    listen_bar: ListenBar

    def __init__(
        self, recovery: Path | None = None, recent: RecentFiles | None = None, colouring: Colouring | None = None
    ) -> None:
        super().__init__()
        self.colouring = colouring or Colouring(parent=self)
        self.tasks = TaskRunner(self)
        self.desk = Desk(self.tasks, self)
        self.safety = Safety(self.desk, recovery)
        self._collecting = Collecting(self.desk)
        self.recents = Recents(recent, self)
        self._recent_notes = RecentNotes(self.desk, self.recents)
        self.rescue = Rescuer(self.desk, self.safety, self)
        self.paperwork = Paperwork(self.desk, self)
        self.previews = Previews(self.desk, self.paperwork, self)
        self.ruling = Ruling(self.desk, self)
        self.ranges = RangeEdits(self.desk, self)
        self.parts = PartsPanel(self.desk, self)
        self.watch = Watch(self.desk)
        self.pencil = Pencil(self.desk)
        self.notes = NoteEdits(self.desk)
        self.wording = Wording(self.desk, self.watch, self.pencil, self)
        self.music = ScoreView(self.desk, self.watch, self.pencil, self)
        self.start_page = StartPage(self.recents, self)
        self.middle = QStackedWidget(self)
        self.player = Player(self.tasks, self)
        self.listen_bar = ListenBar(self.desk, self.player, self.music, self)
        self.ways = WaysPanel(self.desk, self)
        self.watch_panel = WatchPanel(self.desk, self.watch, self)
        self.marks_panel = MarksPanel(self.desk, self.pencil, self)
        self.fingerboard = FingerboardPanel(self.desk, self)
        self.lists = Tabs(self)
        self.drop_frame = DropFrame(self)
        self.compare_window: CompareWindow | None = None
        self.actions_by_name: dict[str, QAction] = {}
        self._lay_out()
        self._make_menus()
        self.marks_panel.use_actions(self.actions_by_name)
        self._make_status_line()
        self._connect()
        self._enable_actions()
        self._retitle()

    def _lay_out(self) -> None:
        splitter = QSplitter(Qt.Orientation.Horizontal, self)
        beside = QSplitter(Qt.Orientation.Vertical, self)
        self.lists.addTab(self.watch_panel, _("Watch-list"))
        self.lists.addTab(self.marks_panel, _("Marks"))
        self.lists.addTab(self.fingerboard, _("Fingerboard"))
        for panel in (self.ways, self.lists):
            beside.addWidget(panel)
        beside.setSizes([330, 400])
        beside.setChildrenCollapsible(False)
        middle = QWidget(self)
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for shown in (self.start_page, self.music):
            self.middle.addWidget(shown)
        column.addWidget(self.middle, 1)
        column.addWidget(self.listen_bar)
        self.columns = (Column(self.parts, _LEFT, self), Column(beside, _RIGHT, self))
        for widget, share in ((self.columns[0], 0), (middle, 1), (self.columns[1], 0)):
            splitter.addWidget(widget)
            splitter.setStretchFactor(splitter.indexOf(widget), share)
        splitter.setSizes([220, 720, 340])
        for column_beside in self.columns:
            column_beside.hide()  # there is nothing to say beside the music until it is there
        splitter.setChildrenCollapsible(False)
        self.setCentralWidget(splitter)
        self.resize(1280, 800)
        self.setAcceptDrops(True)

    def _make_menus(self) -> None:
        menus: dict[str, QMenu] = {}
        for command in COMMANDS:
            if command.menu not in menus:
                menus[command.menu] = self.menuBar().addMenu(_(command.menu))
            action = QAction(command.words, self)
            action.setShortcut(QKeySequence(command.shortcut))
            if command.name in EVERYWHERE:
                action.setShortcutContext(Qt.ShortcutContext.ApplicationShortcut)
            action.triggered.connect(lambda checked=False, run=command.run: run(self))
            if command.apart:
                menus[command.menu].addSeparator()
            menus[command.menu].addAction(action)
            self.actions_by_name[command.name] = action

    def _make_status_line(self) -> None:
        self._progress = QProgressBar(self)
        self._progress.setMaximumWidth(160)
        self._progress.setTextVisible(False)
        self._doing = QLabel("", self)
        self._stop = QPushButton(_("Stop"), self)
        self._stop.clicked.connect(self.tasks.stop_all)
        for widget in (self._doing, self._progress, self._stop):
            self.statusBar().addPermanentWidget(widget)
        self._show_busy("")

    def _connect(self) -> None:
        desk = self.desk
        for signal in (desk.opened, desk.part_changed, desk.plan_changed, desk.note_changed, desk.passage_changed):
            signal.connect(self._enable_actions)
        desk.opened.connect(self._retitle)
        desk.opened.connect(self._show_music)
        desk.saved.connect(self._retitle)
        desk.history.cleanChanged.connect(self._retitle)
        desk.history.indexChanged.connect(self._enable_actions)
        desk.passage_changed.connect(self._say_passage)
        # What was said of an edit that could not be is over with the next that could.
        desk.history.indexChanged.connect(self._say_passage)
        desk.said.connect(self.statusBar().showMessage)
        desk.failed.connect(lambda sentence: dialogs.tell(self, sentence))
        self.tasks.busy.connect(self._show_busy)
        self.tasks.progressed.connect(self._show_progress)
        self.start_page.open_wanted.connect(self.ask_open)
        self.start_page.example_wanted.connect(lambda: self.open(example_score()))
        self.start_page.file_wanted.connect(self.open)
        self.parts.rules_file_wanted.connect(self.ask_rules)
        self.parts.rules_wanted.connect(self.ruling.edit_rules)
        self.parts.set_wanted.connect(lambda: self.paperwork.print_set(one_file=True))
        self.ways.way_chosen.connect(self.notes.choose)
        self.ways.released.connect(self.notes.release)
        self.fingerboard.chosen.connect(self.notes.choose_placement)
        self.music.finger_typed.connect(self.notes.finger)
        self.music.way_stepped.connect(self.ways.step)
        self.watch.chosen.connect(self._enable_actions)
        self.watch.changed.connect(self._enable_actions)
        self.pencil.chosen.connect(self._enable_actions)
        self.pencil.changed.connect(self._enable_actions)
        self.rescue.changed.connect(self._enable_actions)
        self.watch_panel.reword_wanted.connect(self.wording.reword)
        self.watch_panel.join_wanted.connect(self.wording.join)
        self.watch_panel.carry_wanted.connect(self.watch.carry)
        for name in ("next", "previous"):
            self.actions_by_name[name].triggered.connect(lambda: self.lists.setCurrentWidget(self.watch_panel))
        self.marks_panel.nudge_wanted.connect(self.music.nudge)
        self.player.lit.connect(self.music.light)

    # What the commands do

    def ask_open(self) -> None:
        """Ask for a score or project and open it."""
        path = dialogs.ask_open(self, _("Open a score"), self.desk.folder, dialogs.SCORE_FILES)
        if path is not None:
            self.open(path)

    def open(self, path: Path) -> None:
        """Open a score or project, after settling unsaved work."""
        if self._settle_unsaved():
            self.rescue.open(path)

    def offer_unsaved(self) -> None:
        """Offer the work that was left behind unsaved; what lies open is settled before it gives way."""
        self.rescue.offer(self._settle_unsaved)

    def open_dropped(self, urls: Sequence[QUrl]) -> None:
        """Open the score or project among what was dropped on the window, or say why there is none."""
        file, sentence = file_dropped(urls)
        if sentence:
            self.desk.said.emit(sentence)
        if file is not None:
            self.open(file)

    def ask_rules(self) -> None:
        """Ask for a file of house rules and play the part in hand by them."""
        path = dialogs.ask_open(self, _("House rules"), self.desk.folder, dialogs.RULES_FILES)
        if path is not None:
            try:
                self.desk.set_rules(find_rules(str(path)))
            except AnalysisError as error:
                dialogs.tell(self, str(error))

    def compare(self) -> None:
        """Weigh ways of playing the selected passage."""
        if self.desk.passage is None:
            return
        window = CompareWindow(self.desk, self.desk.passage, self)
        window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        window.way_used.connect(self.desk.use)
        window.destroyed.connect(self._forget_comparison)
        self.compare_window = window
        window.show()

    def _forget_comparison(self) -> None:
        self.compare_window = None

    # What the desk tells

    def _show_music(self) -> None:
        """Put the music, and what stands beside it, in place of how to begin."""
        self.middle.setCurrentWidget(self.music)
        for column in self.columns:
            column.show()

    def _enable_actions(self) -> None:
        for command in COMMANDS:
            self.actions_by_name[command.name].setEnabled(command.enabled(self))
        undo, redo = self.desk.history.undoText(), self.desk.history.redoText()
        self.actions_by_name["undo"].setText(_("Undo {step}").format(step=undo) if undo else _("Undo"))
        self.actions_by_name["redo"].setText(_("Redo {step}").format(step=redo) if redo else _("Redo"))

    def _say_passage(self) -> None:
        if self.desk.part is not None and self.desk.passage is not None:
            span = self.desk.part.span(self.desk.passage)
            keys = self.actions_by_name["compare"].shortcut().toString(QKeySequence.SequenceFormat.NativeText)
            words = _("{measures} selected. {keys} compares ways to play it.")
            self.statusBar().showMessage(words.format(measures=f"{span[0].upper()}{span[1:]}", keys=keys))
        else:
            self.statusBar().clearMessage()

    def _show_busy(self, label: str) -> None:
        self._doing.setText(label)
        for widget in (self._progress, self._stop):
            widget.setVisible(bool(label))
        self._set_progress(0, 0)
        if label and "stop" in self.actions_by_name:
            self.actions_by_name["stop"].setEnabled(True)

    def _show_progress(self, share: float) -> None:
        percent = round(share * 100)
        if percent != self._progress.value():
            self._set_progress(percent, 100)

    def _set_progress(self, value: int, of: int) -> None:
        # By itself it would paint every new value at once, and with it all else that waits to be painted.
        self._progress.setUpdatesEnabled(False)
        self._progress.setRange(0, of)
        self._progress.setValue(value)
        self._progress.setUpdatesEnabled(True)

    def _retitle(self) -> None:
        score = self.desk.score
        if score is None:
            self.setWindowTitle("Handframe")
            return
        name = score.path.name if score.path else score.document.name
        self.setWindowTitle(f"{name}[*] – Handframe")
        self.setWindowModified(not self.desk.history.isClean())

    # Unsaved work

    def _settle_unsaved(self) -> bool:
        """Whether nothing stands in the way of letting the open score go."""
        is_settled = self._is_settled()
        if is_settled:
            self.safety.let_go()
        return is_settled

    def _is_settled(self) -> bool:
        score = self.desk.score
        if score is None or self.desk.history.isClean():
            return True
        answer = dialogs.ask_unsaved(self, score.path.name if score.path else score.document.name)
        if answer is dialogs.Answer.SAVE:
            return self.paperwork.save()
        return answer is dialogs.Answer.DISCARD

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take files that are dragged here, if they may stay where they are too."""
        if event.mimeData().hasUrls() and event.possibleActions() & Qt.DropAction.CopyAction:
            _take_copy(event)
            self.drop_frame.show_over()

    def dragMoveEvent(self, event: QDragMoveEvent) -> None:
        """Go on taking them, wherever over the window they are."""
        _take_copy(event)

    def dragLeaveEvent(self, event: QDragLeaveEvent) -> None:
        """They are dragged away again."""
        self.drop_frame.hide()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open what is dropped, once whoever it comes from has been told that it has arrived."""
        self.drop_frame.hide()
        urls = event.mimeData().urls()
        _take_copy(event)
        QTimer.singleShot(0, self, lambda: self.open_dropped(urls))

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved work, then end the tasks."""
        if self.ruling.settle() and self._settle_unsaved():
            self.player.stop()
            self.previews.close_all()
            self.tasks.shut_down()
            self.music.end()
            self._recent_notes.end()
            self.safety.end()
            self._collecting.end()
            event.accept()
        else:
            event.ignore()


def _take_copy(event: QDropEvent) -> None:
    """Take what is dragged, never as moved here: whoever it comes from might take it away where it was."""
    event.setDropAction(Qt.DropAction.CopyAction)
    event.accept()
