"""Dialogs that ask for a file begin beside the score, then where a file was chosen last."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QDir, QStandardPaths
from PySide6.QtWidgets import QFileDialog

from app.job.files.example import example_score
from tests.app.conftest import opened, settled, trigger


class Dialogs:
    """Stand in for those of Qt: where each began, and what is chosen in the next."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.began: list[Path] = []
        self.chosen = ""
        for kind in ("getOpenFileName", "getSaveFileName"):
            monkeypatch.setattr(QFileDialog, kind, lambda parent, title, where, kinds: (self._take(where), ""))
        monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda parent, title, where: self._take(where))

    def _take(self, where: str) -> str:
        self.began.append(Path(where))
        chosen, self.chosen = self.chosen, ""
        return chosen


def test_the_first_file_is_suggested_beside_the_score(qtbot, window, mini, monkeypatch):
    asked = Dialogs(monkeypatch)
    opened(qtbot, window, mini)
    for name in ("save_as", "print", "sheet", "export", "sound", "files", "open"):
        trigger(window, name)
    here = mini.parent
    assert [path if path.is_dir() else path.parent for path in asked.began] == [here] * 7
    assert asked.began[0].name == "mini.handframe"


@pytest.mark.parametrize("where", ["print", "files"])
def test_the_next_one_is_suggested_where_the_last_one_went(qtbot, window, mini, tmp_path, monkeypatch, where):
    asked, out = Dialogs(monkeypatch), tmp_path / "out"
    out.mkdir()
    opened(qtbot, window, mini)
    asked.chosen = str(out / ("mini.pdf" if where == "print" else "parts"))
    trigger(window, where)
    settled(qtbot, window)
    trigger(window, "save_as")
    assert asked.began[1] == out / "mini.handframe"
    opened(qtbot, window, mini)
    trigger(window, "save_as")
    assert asked.began[2] == mini.parent / "mini.handframe", "another score, or the same anew"


def test_nothing_is_suggested_among_the_files_of_the_program(qtbot, window, monkeypatch):
    asked = Dialogs(monkeypatch)
    documents = Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation))
    trigger(window, "open")
    opened(qtbot, window, example_score())
    trigger(window, "save_as")
    home = documents if documents.is_dir() else Path(QDir.homePath())
    assert asked.began == [home, home / "three-crossings.handframe"]
