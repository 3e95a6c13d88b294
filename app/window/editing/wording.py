"""What the teacher is asked to say in words: entries of the watch-list, marks that say something, names of passages."""

from __future__ import annotations

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from analysis.language import _
from app.job.teacher.pencilling import offered_texts
from app.job.teacher.watching import title_of
from app.window import dialogs
from app.window.editing.desk import Desk
from app.window.editing.pencil import Pencil
from app.window.editing.watch import Watch
from engraving.marks.teacher import MarkKind


class Wording(QObject):
    """Each asks, and changes nothing where no answer is given."""

    def __init__(self, desk: Desk, watch: Watch, pencil: Pencil, window: QWidget) -> None:
        super().__init__(window)
        self._desk, self._watch, self._pencil, self._window = desk, watch, pencil, window

    def reword(self) -> None:
        """Have the entry in hand said in other words."""
        entry = self._watch.entry
        if entry is not None:
            old = entry.remark.text or entry.finding.text
            text = dialogs.ask_text(self._window, _("Watch-list"), _("Say it to the players in your words:"), old)
            if text is not None:
                self._watch.reword(text)

    def join(self) -> None:
        """Have a sentence of the teacher's own join the entry in hand."""
        entry = self._watch.entry
        if entry is not None:
            text = dialogs.ask_text(self._window, _("Watch-list"), _("Add to it:"), entry.remark.note)
            if text is not None:
                self._watch.join(text)

    def write_note(self) -> None:
        """Write an entry of the teacher's own at the selected note."""
        note, work = self._desk.note, self._desk.part_work
        if note is not None and work is not None and self._desk.part is not None:
            place = self._desk.part.place(note)
            old = work.own_notes.get(note.id, "")
            text = dialogs.ask_text(self._window, _("Watch-list"), _("Your note for {place}:").format(place=place), old)
            if text is not None:
                self._watch.note(text)

    def mark(self, kind: MarkKind) -> None:
        """Place a mark of a kind at the notes in hand, after asking what it shall say."""
        if not kind.takes_text:
            self._pencil.place(kind.name)
            return
        offered = offered_texts(kind.name, self._desk.plan, self._desk.note_id)
        text = dialogs.ask_words(self._window, _(kind.title), _("What it says:"), offered)
        if text:
            self._pencil.place(kind.name, text)

    def name_passage(self, offered: str = "") -> None:
        """Give the selected measures a name; ``offered`` stands there where they have none."""
        part, measures, work = self._desk.part, self._desk.passage, self._desk.part_work
        if part is not None and measures is not None and work is not None:
            named = next((one for one in work.passages if (one.first, one.last) == measures), None)
            words = _("Name of {measures}, and who plays it:").format(measures=part.span(measures))
            name, players = (named.name, named.players) if named else (offered, "")
            answer = dialogs.ask_passage(self._window, words, name, players)
            if answer is not None:
                self._pencil.name_passage(*answer)

    def name_entry(self) -> None:
        """Make a passage of the measures of which the entry in hand speaks; its title is offered as the name."""
        entry, part = self._watch.entry, self._desk.part
        if entry is not None and part is not None:
            measures = [part.note(note_id).measure for note_id in entry.finding.note_ids]
            self._desk.select_passage((min(measures), max(measures)))
            self.name_passage(title_of(entry.finding.kind))
