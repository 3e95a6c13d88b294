"""The manual in a window of its own: contents on the left, a field to look for words, the page of keys as a PDF."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QSplitter,
    QVBoxLayout,
    QWidget,
)

from analysis.language import _
from app.help.keys_sheet import keys_pdf
from app.help.manual import MANUAL, SHORTCUTS, shown_anchor
from app.window import dialogs
from app.window.comparing.compare_window import CompareWindow
from app.window.editing.folder import Folder
from app.window.help.manual_page import ManualPage, native
from app.window.keys import MANUAL as IN_MANUAL
from app.window.keys import keys_of
from app.window.listening.listen_bar import ListenBar
from app.window.panels.fingerboard_panel import FingerboardPanel
from app.window.panels.marks_panel import MarksPanel
from app.window.panels.watch_panel import WatchPanel
from app.window.panels.ways_panel import WaysPanel
from app.window.paper.preview_window import PreviewWindow
from app.window.rules.rules_window import RulesWindow
from app.window.widgets.buttons import plain_button
from app.window.widgets.flow import order_focus
from app.window.widgets.sizes import resize_on_screen
from engraving.atomic import write_atomically
from engraving.errors import EngravingError

SECTIONS: tuple[tuple[type[QWidget], str], ...] = (
    (WaysPanel, "overriding"),
    (FingerboardPanel, "overriding"),
    (CompareWindow, "comparing-ways-to-play-a-passage"),
    (RulesWindow, "house-rules"),
    (WatchPanel, "the-watch-list"),
    (MarksPanel, "marks"),
    (PreviewWindow, "paper"),
    (ListenBar, "listening"),
)
"""Which section of the manual is about which part of the window, as its heading is called in English."""
_SIZE, _CONTENTS = QSize(1010, 720), 230  # pixels
_PLACE = Qt.ItemDataRole.UserRole


def open_manual(window: QWidget) -> None:
    """Show the manual, at the section about what has the keyboard in ``window``."""
    _window_of(window).turn_to(MANUAL, section_of(QApplication.focusWidget()))


def open_keys(window: QWidget) -> None:
    """Show the page of keys."""
    _window_of(window).turn_to(SHORTCUTS, "")


def section_of(widget: QWidget | None) -> str:
    """The section about a widget, by what it lies in; "" where none is."""
    while widget is not None:
        for kind, section in SECTIONS:
            if isinstance(widget, kind):
                return shown_anchor(section)
        widget = widget.parentWidget()
    return ""


def _window_of(window: QWidget) -> HelpWindow:
    """The one that is open, or another."""
    shown = window.findChild(HelpWindow) or HelpWindow(window)
    shown.show()
    shown.activateWindow()
    return shown


class HelpWindow(QDialog):
    """Open beside the main window; it remembers nothing."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.setWindowTitle(_("Handframe: the manual"))
        self.back, self.forward, self.find_next, self.find_before, self.write_keys = (
            plain_button(words, self) for words in (_("Back"), _("Forward"), _("Next"), _("Before"), _("Keys as PDF…"))
        )
        self.words = QLineEdit(self)
        self.not_found = QLabel(self)
        self.contents = QListWidget(self)
        self.page = ManualPage(self)
        self._fill()
        self._lay_out()
        self._connect()

    def turn_to(self, page: str, anchor: str) -> None:
        """Show a page, at a heading of it or at its beginning."""
        self.page.turn_to(page, anchor)
        self.page.setFocus()

    def look_for_words(self, *, back: bool = False) -> None:
        """Go to the next place with the words in the field, or the place before; say it where there is none."""
        words = self.words.text()
        found = self.page.look_for(words, back=back)
        self.not_found.setText("" if found or not words else _("Not on this page."))

    def ask_write_keys(self) -> None:
        """Ask for a PDF and write the page of keys to it."""
        path = dialogs.ask_target(self, _("Keys as PDF"), Folder(), "Handframe keys.pdf", dialogs.PDF_FILES, ".pdf")
        if path is None:
            return
        try:
            write_atomically(path, keys_pdf(native))
        except EngravingError as error:
            dialogs.tell(self, str(error))

    def _fill(self) -> None:
        self.contents.setAccessibleName(_("Contents"))
        for words, anchor in self.page.headings:
            self._add(words, (MANUAL, anchor))
        self._add(_("Keys"), (SHORTCUTS, ""))
        self.words.setAccessibleName(_("Words to look for"))
        self.words.setPlaceholderText(_("Look for…"))
        self.words.setClearButtonEnabled(True)

    def _add(self, words: str, place: tuple[str, str]) -> None:
        item = QListWidgetItem(words)
        item.setData(_PLACE, place)
        self.contents.addItem(item)

    def _lay_out(self) -> None:
        above = QHBoxLayout()
        for group in ((self.back, self.forward), (self.not_found, self.words, self.find_before, self.find_next)):
            for widget in group:
                above.addWidget(widget)
            above.addStretch(1)
        above.addWidget(self.write_keys)
        splitter = QSplitter(Qt.Orientation.Horizontal, self)
        for panel in (self.contents, self.page):
            splitter.addWidget(panel)
        splitter.setStretchFactor(1, 1)
        splitter.setSizes([_CONTENTS, _SIZE.width() - _CONTENTS])
        splitter.setChildrenCollapsible(False)
        layout = QVBoxLayout(self)
        layout.addLayout(above)
        layout.addWidget(splitter, 1)
        order_focus(self.back, self.forward, self.words, self.find_before, self.find_next, self.write_keys)
        order_focus(self.write_keys, self.contents, self.page)
        resize_on_screen(self, _SIZE)

    def _connect(self) -> None:
        page = self.page
        page.backwardAvailable.connect(self.back.setEnabled)
        page.forwardAvailable.connect(self.forward.setEnabled)
        self.back.clicked.connect(page.backward)
        self.forward.clicked.connect(page.forward)
        for button in (self.back, self.forward):
            button.setEnabled(False)
        self.contents.itemClicked.connect(self._go)
        self.contents.itemActivated.connect(self._go)
        self.words.returnPressed.connect(self.look_for_words)
        self.words.textChanged.connect(self.not_found.clear)
        self.find_next.clicked.connect(lambda: self.look_for_words())
        self.find_before.clicked.connect(lambda: self.look_for_words(back=True))
        self.write_keys.clicked.connect(self.ask_write_keys)
        for button, (name, which) in (
            (self.back, ("history", 0)),
            (self.forward, ("history", 1)),
            (self.find_next, ("next", 0)),
            (self.find_before, ("next", 1)),
        ):
            keys = keys_of(IN_MANUAL, name)[which]
            button.setShortcut(keys)
            button.setToolTip(f"{button.text()} ({keys.toString(QKeySequence.SequenceFormat.NativeText)})")
        QShortcut(keys_of(IN_MANUAL, "find")[0], self, self._begin_to_look)

    def _begin_to_look(self) -> None:
        self.words.setFocus()
        self.words.selectAll()

    def _go(self, item: QListWidgetItem) -> None:
        self.page.turn_to(*item.data(_PLACE))
