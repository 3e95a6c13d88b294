"""Windows that share a folder of journals."""

from __future__ import annotations

from functools import partial

import pytest

from app.window import dialogs
from app.window.dialogs import Rescue
from tests.app.conftest import LINE
from tests.scores import full_score, part


@pytest.fixture
def duo(tmp_path):
    """A score of two parts."""
    path = tmp_path / "duo.musicxml"
    path.write_bytes(full_score(part("Violin", "4/4", LINE, key=2), part("Recorder", "4/4", "D5/1 E5 F#5 G5")))
    return path


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "recovery"


@pytest.fixture
def asked(monkeypatch):
    """What is asked about work left behind, and what is answered: bring it back, unless another answer is put first."""
    questions, answers = [], []

    def ask(parent, sentences, *, can_bring_back):
        questions.append((sentences, can_bring_back))
        return answers.pop(0) if answers else Rescue.BRING_BACK

    monkeypatch.setattr(dialogs, "ask_rescue", ask)
    return questions, answers


@pytest.fixture
def windows(make_window, folder):
    """Makes windows that share a folder, as processes do."""
    return partial(make_window, folder)
