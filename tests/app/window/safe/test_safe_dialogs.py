"""The dialogs of the safety net answer as their buttons say."""

from __future__ import annotations

from PySide6.QtCore import QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QMessageBox, QPushButton

from app.window import dialogs
from app.window.dialogs import Rescue


def answered(qtbot, *buttons):
    """Press the buttons of those names, one after the other, in the dialog that comes next; what it says."""
    said = []

    def press():
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        said.append(box.text())
        found = {button.text().replace("&", ""): button for button in box.findChildren(QPushButton)}
        for name in buttons:
            assert box.isVisible()
            found[name].click()

    QTimer.singleShot(0, press)
    return said


def test_the_dialogs_answer_as_their_buttons_say(qtbot, window):
    for name, answer in (
        ("Bring it back", Rescue.BRING_BACK),
        ("Throw it away", Rescue.THROW_AWAY),
        ("Later", Rescue.LATER),
    ):
        said = answered(qtbot, name)
        assert dialogs.ask_rescue(window, "Work on it was not saved.", can_bring_back=True) is answer
        assert said == ["Work on it was not saved."]
    answered(qtbot, "Throw it away")
    assert dialogs.ask_rescue(window, "Damaged.", can_bring_back=False) is Rescue.THROW_AWAY
    answered(qtbot, "Open a copy")
    assert dialogs.ask_copy(window, "It is open.")
    answered(qtbot, "Cancel")
    assert not dialogs.ask_copy(window, "It is open.")


def test_the_details_of_a_bug_can_be_copied_before_going_on(qtbot, window):
    said = answered(qtbot, "Copy the details", "Go on")
    dialogs.tell_bug(window, "Something went wrong.", "the details")
    assert said == ["Something went wrong."]
    assert QGuiApplication.clipboard().text() == "the details"
