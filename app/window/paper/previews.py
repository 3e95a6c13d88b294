"""Looking at what will be printed: drawn off the GUI thread, shown in a window of its own, told when it is edited."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QObject, Qt
from PySide6.QtWidgets import QWidget

from analysis.fingering.ticking import Tick
from analysis.language import _, later
from app.job.paper.part_set import see_part
from app.job.paper.practice_sheet import SHEET_WORDS, practice_sheet_pages
from app.window.editing.desk import Desk
from app.window.editing.paperwork import InHand, Paperwork
from app.window.paper.preview_window import Preview, PreviewWindow
from app.window.widgets.labels import in_sentence


@dataclass(frozen=True, slots=True)
class _Kind:
    """What can be looked at: its title, how it is drawn, and how it is written."""

    title: str
    draw: Callable[[InHand, Tick], Preview]
    write: Callable[[InHand], None]


class Previews(QObject):
    """Opens a window for each part that is looked at, at most one for its practice sheet and one for itself.

    ``window`` owns them. They close when another score is opened.
    """

    def __init__(self, desk: Desk, paperwork: Paperwork, window: QWidget) -> None:
        super().__init__(window)
        self._desk, self._paperwork, self._window = desk, paperwork, window
        self._shown: dict[tuple[str, str], tuple[PreviewWindow, InHand]] = {}
        self._part = _Kind(later("Part on paper"), self._draw_part, paperwork.print_part)
        self._sheet = _Kind(SHEET_WORDS, self._draw_sheet, paperwork.practice_sheet)
        desk.opened.connect(self.close_all)
        desk.history.indexChanged.connect(self._tell_edits)

    def look_at_part(self) -> None:
        """Show the part in hand as it is printed."""
        self._look(self._part, self._paperwork.in_hand)

    def look_at_practice_sheet(self) -> None:
        """Show the practice sheet of the part in hand."""
        self._look(self._sheet, self._paperwork.in_hand)

    @property
    def windows(self) -> list[PreviewWindow]:
        """The windows that are open."""
        return [window for window, _ in self._shown.values()]

    def close_all(self) -> None:
        """Close every window."""
        for window in self.windows:
            window.close()

    def _look(self, kind: _Kind, hand: InHand | None) -> None:
        if hand is not None:
            label = _("Drawing {kind}").format(kind=in_sentence(kind.title))
            self._desk.tasks.run(label, partial(kind.draw, hand), partial(self._show, kind, hand), self._failed)

    def _show(self, kind: _Kind, hand: InHand, preview: Preview) -> None:
        if self._desk.score is None or self._desk.score.score is not hand.score.score:
            return
        key = kind.title, hand.part.id
        window = self._shown[key][0] if key in self._shown else self._open(kind, key, hand)
        self._shown[key] = window, hand
        window.show_preview(preview)
        self._tell_edits()
        window.show()
        window.activateWindow()

    def _open(self, kind: _Kind, key: tuple[str, str], hand: InHand) -> PreviewWindow:
        window = PreviewWindow(f"{_(kind.title)}: {hand.score.score.title}, {hand.part.name}", self._window)
        window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        window.write_wanted.connect(lambda: kind.write(self._shown[key][1]))
        window.again_wanted.connect(lambda: self._look(kind, self._paperwork.hold(hand.part)))
        window.finished.connect(lambda: self._shown.pop(key, None))
        return window

    def _tell_edits(self) -> None:
        for window, hand in self._shown.values():
            window.set_edited(not hand.is_like(self._desk.state.work))

    def _draw_part(self, hand: InHand, tick: Tick) -> Preview:
        seen = see_part(hand.score, hand.work, hand.part, hand.plan, self._desk.tasks.apart, tick)
        return Preview(seen.pages, seen.copies, seen.hard_turns)

    def _draw_sheet(self, hand: InHand, tick: Tick) -> Preview:
        plan, asked = hand.practice(tick)
        pages = practice_sheet_pages(
            hand.score.document, hand.score.score.title, plan, asked, hand.sheet_layout, self._desk.tasks.apart
        )
        return Preview(pages)

    def _failed(self, error: Exception) -> None:
        self._desk.failed.emit(str(error))
