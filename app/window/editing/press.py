"""The engraver at work for the window: parts and the full score are engraved in a process of its own, and kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from itertools import chain

from PySide6.QtCore import QObject, Signal

from analysis.language import _
from app.window.background.leaving import Leaving
from app.window.background.tasks import Task, TaskRunner
from engraving.document import Document
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving, score_for_engraving
from engraving.layout import A4, FULL_SCORE
from engraving.marks.teacher import TeacherMark

Marks = tuple[TeacherMark, ...]


@dataclass(frozen=True, slots=True)
class Engraved:
    """Engraved pages with the teacher's ``marks`` in them, by number; ``whole``: these are all pages."""

    pages: tuple[EngravedPage, ...] = ()
    marks: Marks = ()
    whole: bool = False


@dataclass(frozen=True, slots=True)
class Music:
    """What is engraved: one part by its id, or the full score without one; ``name`` is said while it is."""

    name: str
    part_id: str = ""


class Press(QObject):
    """Engraves what it is asked for, its first page before the rest.

    ``engraved``: pages of some music have come. ``failed``: it cannot be engraved, and why.
    """

    engraved = Signal(object)
    failed = Signal(object)

    def __init__(self, tasks: TaskRunner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._tasks = tasks
        self._document: Document | None = None
        self._kept: dict[Music, Engraved] = {}
        self._leaving = Leaving(tasks, self)
        self._under_way: dict[Music, Task] = {}

    def take(self, document: Document) -> None:
        """Engrave another document from now on."""
        self._leaving.take((self._document, *chain.from_iterable(engraved.pages for engraved in self._kept.values())))
        self._document = document
        self._kept.clear()
        self._under_way.clear()

    def pages(self, music: Music) -> Engraved:
        """What has been engraved of some music."""
        return self._kept.get(music, Engraved())

    def is_engraving(self, music: Music) -> bool:
        """Whether pages of some music are on their way."""
        under_way = self._under_way.get(music)
        return under_way is not None and not under_way.stopped

    def engrave(self, music: Music, marks: Marks) -> None:
        """Have music engraved with these marks, unless it is, or is on its way."""
        document, known = self._document, self.pages(music)
        if document is None or (known.whole and known.marks == marks):
            self.engraved.emit(music)
            return
        if self.is_engraving(music):
            return  # what has changed meanwhile is asked for again when it is done
        self._under_way[music] = self._tasks.run(
            _("Engraving {name}").format(name=music.name),
            lambda tick: _text(document, music, marks),
            partial(self._set, document, music, marks),
            partial(self._give_up, music),
        )

    def _set(self, document: Document, music: Music, marks: Marks, text: str) -> None:
        # The first page comes by itself, so that there is music to look at while the rest is engraved.
        for most_pages in (None,) if music in self._kept else (1, None):
            self._under_way[music] = self._tasks.run_apart(
                _("Engraving {name}").format(name=music.name),
                engrave,
                (text, A4 if music.part_id else FULL_SCORE, None, most_pages),
                self._taker(document, music, marks, whole=most_pages is None),
                partial(self._give_up, music),
            )

    def _taker(
        self, document: Document, music: Music, marks: Marks, *, whole: bool
    ) -> Callable[[tuple[EngravedPage, ...]], None]:
        def take(pages: tuple[EngravedPage, ...]) -> None:
            if document is not self._document:
                return
            if whole:
                self._under_way.pop(music, None)
            self._kept[music] = Engraved(pages, marks, whole)
            self.engraved.emit(music)

        return take

    def _give_up(self, music: Music, error: Exception) -> None:
        self._under_way.pop(music, None)
        self.failed.emit(error)


def _text(document: Document, music: Music, marks: Marks) -> str:
    if music.part_id:
        return part_for_engraving(document, music.part_id, marks=marks)
    return score_for_engraving(document, marks=marks)
