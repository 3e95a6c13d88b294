"""A desk for house rules without the main window."""

from __future__ import annotations

import pytest

from app.window import dialogs
from app.window.editing.desk import Desk
from tests.app.window.rules.bench import Bench


@pytest.fixture
def bench(qtbot, monkeypatch, told):
    monkeypatch.setattr(Desk, "_engrave", lambda desk: None)
    monkeypatch.setattr(dialogs, "ask_unused", lambda *_, usable: dialogs.Answer.DISCARD)
    made = Bench()
    qtbot.addWidget(made)
    made.desk.failed.connect(lambda sentence: dialogs.tell(made, sentence))
    yield made
    made.ruling.settle()
    made.tasks.shut_down()
