"""Windows that are worked in and die, and what they leave."""

from __future__ import annotations

from tests.app.conftest import settled


def show(qtbot, window, path):
    """Open a score and wait for it."""
    before = window.desk.score
    window.open(path)
    qtbot.waitUntil(lambda: window.desk.score is not before, timeout=30_000)
    settled(qtbot, window)


def note(window, text, index=0):
    """Write a note of the teacher's own at one of the notes."""
    note_id = window.desk.part.notes[index].id
    window.desk.note_down(lambda work: work.with_own_note(note_id, text), "your note")


def notes(window):
    return {text for own in window.desk.state.work.parts.values() for text in own.own_notes.values()}


def die(window):
    """Leave everything as it is when the process dies: nobody decides anything any more."""
    window.safety.end()


def journals(folder):
    return sorted(folder.glob("*.journal"))
