"""What is selected in the music, for those who hear the screen: said by a screen reader each time that it changes."""

from __future__ import annotations

from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent
from PySide6.QtWidgets import QWidget

from analysis.fingering.plan import Plan
from analysis.language import n_
from analysis.music import Part
from app.job.teacher.pencilling import notes_between
from app.job.words.notes import note_words
from app.window.editing.desk import Desk


def selection_words(part: Part, plan: Plan | None, first: str, last: str | None) -> str:
    """The note selected, how it is played and why; of several notes how many, the first and the last."""
    if last is None:
        return ". ".join(line.removesuffix(".") for line in note_words(part, plan, first).split("\n")) + "."
    number = sum(1 for _note in notes_between(part, first, last))
    words = n_("{number} note, {first} to {last}.", "{number} notes, {first} to {last}.", number)
    return words.format(number=number, first=note_words(part, None, first), last=note_words(part, None, last))


def tell_selection(desk: Desk, music: QWidget) -> None:
    """Keep the description of ``music`` to what is selected on the desk; it is said where the keyboard is there."""

    def tell() -> None:
        part, note_id = desk.part, desk.note_id
        words = selection_words(part, desk.plan, note_id, desk.until_id) if part is not None and note_id else ""
        if words != music.accessibleDescription():
            music.setAccessibleDescription(words)
            if words and music.hasFocus():
                QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(music, words))

    for signal in (desk.part_changed, desk.plan_changed, desk.note_changed):
        signal.connect(tell)
