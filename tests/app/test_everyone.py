"""Everyone: names and roles for those who hear the screen, all of it by keyboard in the order of the layout, letters
of any size."""

from __future__ import annotations

import itertools

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAccessible, QFont
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QApplication,
    QComboBox,
    QDialog,
    QLabel,
    QTabBar,
    QWidget,
)

from app.job.printing import Copies, Printing
from app.job.recent import RecentFiles
from app.window import dialogs, telling
from app.window.colouring import Colouring
from app.window.colours_dialog import ColoursDialog
from app.window.flow import Column, FlowLayout
from app.window.help_window import HelpWindow
from app.window.main_window import MainWindow
from app.window.printing_dialog import PrintingDialog
from tests.app.conftest import LINE, ids, opened, settled
from tests.scores import score

PARTS = [("P1", "Violin I", Copies(4, ("Anna", "Ben"))), ("P2", "Viola", Copies(1))]
# What takes no part in going round by the tab key although it may have the focus.
_NO_NAME = {QAccessible.Role.NoRole}


@pytest.fixture(scope="module")
def shown(qapp, tmp_path_factory):
    """One window for all tests here, with a score, a note selected, and the bar for listening."""
    patched = pytest.MonkeyPatch()
    patched.setattr(dialogs, "ask_unsaved", lambda parent, name: dialogs.Answer.DISCARD)
    patched.setattr(dialogs, "tell", lambda parent, sentence: None)
    folder = tmp_path_factory.mktemp("everyone")
    path = folder / "mini.musicxml"
    path.write_bytes(score("Violin", "4/4", LINE, key=2))
    recent = RecentFiles(folder, folder)
    recent.add(path, 1.0)
    made = MainWindow(recent=recent)
    made.resize(1280, 800)
    made.show()
    from pytestqt.qtbot import QtBot

    class Request:
        """What a bot asks of the test that it is made for."""

    bot = QtBot.__new__(QtBot)
    yield bot, made, path
    made.close()
    made.deleteLater()
    QApplication.processEvents()
    patched.undo()
