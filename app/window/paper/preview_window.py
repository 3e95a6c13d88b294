"""What will be printed, seen before it is written: its pages below each other as they come out of the printer."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QRectF, QSize, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractSlider, QDialog, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from analysis.language import _, later
from app.window.keys import PAPER, keys_of, pressed
from app.window.music.pages_area import PagesArea
from app.window.style import look
from app.window.widgets.flow import order_focus
from app.window.widgets.labels import heading, quiet_label
from app.window.widgets.sizes import resize_on_screen
from engraving.paper import PaintedPage

_SIZE = QSize(880, 740)
_BETWEEN, _APART = 6, 14  # pixels
# What the keys that turn pages do, in the order of the table of keys.
_TURNS = (
    QAbstractSlider.SliderAction.SliderPageStepSub,
    QAbstractSlider.SliderAction.SliderPageStepAdd,
    QAbstractSlider.SliderAction.SliderToMinimum,
    QAbstractSlider.SliderAction.SliderToMaximum,
)
_EDITED = later("The part or its printing has been changed since; this is how it was before.")


@dataclass(frozen=True, eq=False)
class Preview:
    """Pages as they will be printed. ``about`` says in a line what they are, ``warnings`` what to know of them."""

    pages: tuple[PaintedPage, ...]
    about: str = ""
    warnings: tuple[str, ...] = ()


class PaperView(PagesArea):
    """Painted pages on the desk. ``turned_to``: the number of the page in view, from 1."""

    turned_to = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._pages: tuple[PaintedPage, ...] = ()
        self.setAccessibleName(_("Pages as they will be printed"))
        self.verticalScrollBar().valueChanged.connect(self._tell_page)

    def show_pages(self, pages: tuple[PaintedPage, ...]) -> None:
        """Show other pages, at the same place as far as they reach."""
        self._pages = pages
        self.lay_pages([(page.width_mm, page.height_mm) for page in pages])
        self._tell_page()

    @property
    def page(self) -> int:
        """The page that takes most of the view, the first of several, from 1; 0 without pages."""
        view = QRectF(self.viewport().rect())
        seen = [self.page_area(number).intersected(view).height() for number in range(len(self._pages))]
        return seen.index(max(seen)) + 1 if seen else 0

    def fit_page(self) -> None:
        """Show the whole of the page in view, and keep pages as large."""
        page = max(self.page, 1)
        super().fit_page()
        bar = self.verticalScrollBar()
        bar.setValue(bar.pageStep() * (page - 1))

    def _tell_page(self) -> None:
        self.turned_to.emit(self.page)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Another page may take most of the view."""
        super().resizeEvent(event)
        self._tell_page()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """A view further or back, to the beginning or the end."""
        match pressed(PAPER, event):
            case "turn", which:
                self.verticalScrollBar().triggerAction(_TURNS[which])
            case _:
                super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The pages in view, stroke by stroke, so that they are sharp at every size."""
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), self.palette().color(look.DESK))
        for number, page in enumerate(self._pages):
            area = self.page_area(number)
            if not area.intersects(QRectF(event.rect())):
                continue
            painter.fillRect(area, look.PAPER)
            painter.save()
            painter.setClipRect(area)
            painter.translate(area.topLeft())
            painter.scale(self.scale, self.scale)
            page.paint(painter)
            painter.restore()
            look.tint(painter, area)
            painter.setPen(look.PAPER_EDGE)
            painter.drawRect(area)


class PreviewWindow(QDialog):
    """Shows a preview until another one is drawn. What is shown is what is written.

    ``write_wanted``: as a PDF. ``again_wanted``: what has been edited shall be drawn again.
    """

    write_wanted = Signal()
    again_wanted = Signal()

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.preview = Preview(())
        self.view = PaperView(self)
        self.title = heading(title, self)
        self.about = quiet_label(look.QUIET, self)
        self.warnings = quiet_label(look.CAUTION, self)
        self._changed = QWidget(self)
        self.edited = quiet_label(look.CAUTION, self._changed)
        self.edited.setText(_(_EDITED))
        self.again = QPushButton(_("Draw it again"), self._changed)
        self.page = QLabel(self)
        self.write = QPushButton(_("Write PDF…"), self)
        self.write.setToolTip(_("Write what is shown here to a PDF, every copy of it"))
        self.close_button = QPushButton(_("Close"), self)
        self._lay_out()
        self.view.turned_to.connect(self._say_page)
        self.again.clicked.connect(self.again_wanted)
        self.write.clicked.connect(self.write_wanted)
        self.close_button.clicked.connect(self.close)
        self.set_edited(False)
        resize_on_screen(self, _SIZE)

    def show_preview(self, preview: Preview) -> None:
        """Show other pages, drawn from what is there now."""
        self.preview = preview
        for label, text in ((self.about, preview.about), (self.warnings, "\n".join(preview.warnings))):
            label.setText(text)
            label.setVisible(bool(text))
        self.view.show_pages(preview.pages)

    def set_edited(self, edited: bool) -> None:
        """Say that what is shown is no longer what there is, or that it is."""
        self._changed.setVisible(edited)

    def _lay_out(self) -> None:
        # Within a widget: a layout in which all is hidden would still take room.
        head, changed, foot = QVBoxLayout(), QHBoxLayout(self._changed), QHBoxLayout()
        changed.setContentsMargins(0, 0, 0, 0)
        changed.addWidget(self.edited, 1)
        changed.addWidget(self.again)
        for widget in (self.title, self.about, self.warnings, self._changed):
            head.addWidget(widget)
        head.setContentsMargins(10, 8, 10, 4)
        foot.addWidget(self.page)
        foot.addStretch(1)
        zooms = self._zoom_buttons()
        for button in zooms:
            foot.addWidget(button)
        foot.addSpacing(_APART)
        for button in (self.write, self.close_button):
            foot.addWidget(button)
        foot.setSpacing(_BETWEEN)
        foot.setContentsMargins(10, 6, 10, 8)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addLayout(head)
        layout.addWidget(self.view, 1)
        layout.addLayout(foot)
        for button in self.findChildren(QPushButton):
            button.setAutoDefault(False)  # the keys belong to the pages
        order_focus(self.again, self.view, *zooms, self.write, self.close_button)
        self.view.setFocus()

    def _zoom_buttons(self) -> list[QPushButton]:
        buttons = []
        for text, name, zoom in (
            (_("Smaller"), "smaller", lambda: self.view.zoom(-1)),
            (_("Larger"), "larger", lambda: self.view.zoom(1)),
            (_("Whole page"), "page", self.view.fit_page),
            (_("As wide as the window"), "width", self.view.fit_width),
        ):
            button = QPushButton(text, self)
            button.setShortcut(keys_of(PAPER, name)[0])
            button.setToolTip(f"{text} ({button.shortcut().toString(QKeySequence.SequenceFormat.NativeText)})")
            button.clicked.connect(zoom)
            buttons.append(button)
        return buttons

    def _say_page(self, page: int) -> None:
        self.page.setText(_("Page {page} of {pages}").format(page=page, pages=len(self.preview.pages)))
