"""A short one of the long runs; ``python -m tests.longrun`` gives 2,000 commands."""

from __future__ import annotations

from app.window.commands import COMMANDS
from app.window.main_window import MainWindow
from tests.app.test_every_command import LINE, SECONDS
from tests.longrun.run import MENUS, LongRun
from tests.scores import full_score, part


def test_every_menu_has_a_weight() -> None:
    assert {command.menu for command in COMMANDS} == set(MENUS)


def test_commands_at_random_leave_everything_as_it_must_be(qapp, tmp_path) -> None:
    score = tmp_path / "duet.musicxml"
    score.write_bytes(full_score(part("Violin I", "4/4", LINE, key=2), part("Violin II", "4/4", SECONDS, key=2)))
    window = MainWindow(tmp_path / "recovery")
    window.show()
    told = LongRun(window, score, tmp_path, seed=3, stage=30).run(60)
    window.close()
    window.deleteLater()
    assert told.offences == []
    assert len(told.done) > 15
    first, last = told.held
    assert last.threads == first.threads
    assert last.files <= first.files + 3
