"""What a crash leaves is offered and brought back."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

import pytest

from app.window import dialogs
from app.window.dialogs import Rescue
from app.window.safe import rescue
from tests.app.conftest import settled, trigger
from tests.app.window.safe.deaths import die, journals, note, notes, show


def test_what_was_on_the_screen_of_a_window_that_died_is_brought_back(qtbot, windows, duo, asked):
    first = windows()
    show(qtbot, first, duo)
    third = first.desk.part.notes[2]
    first.desk.select_note(third.id)
    first.notes.finger(0)
    note(first, "Slow.")
    first.desk.set_printing(replace(first.desk.state.work.printing, colour=True), {})
    note(first, "Wrong.")
    first.desk.history.undo()
    first.desk.turn_to("P2")
    note(first, "Breathe.")
    settled(qtbot, first)
    work = first.desk.state.work
    die(first)

    second = windows()
    show(qtbot, second, duo)
    (sentences, can_bring_back), *more = asked[0]
    assert (can_bring_back, more) == (True, [])
    assert sentences.startswith("Work on duo.musicxml from ")
    assert sentences.endswith(" was not saved.")
    assert second.desk.state.work.parts == work.parts
    assert second.desk.state.work.printing == work.printing
    assert notes(second) == {"Slow.", "Breathe."}
    assert second.desk.part.id == "P2"
    assert second.isWindowModified()
    assert second.desk.state.work.parts["P1"].locks[third.id].finger == 0


def test_work_brought_back_is_safe_again_before_its_old_journal_goes(qtbot, windows, duo, folder, asked):
    first = windows()
    show(qtbot, first, duo)
    note(first, "Slow.")
    die(first)
    (old,) = journals(folder)
    second = windows()
    show(qtbot, second, duo)
    (new,) = journals(folder)
    assert new != old
    die(second)
    third = windows()
    show(qtbot, third, duo)
    assert notes(third) == {"Slow."}
    third.close()
    assert journals(folder) == []


def test_at_the_start_what_was_left_behind_is_offered_until_one_is_brought_back(qtbot, windows, duo, mini, asked):
    for path, text in ((duo, "one"), (mini, "two")):
        window = windows()
        show(qtbot, window, path)
        note(window, text)
        die(window)
    window = windows()
    asked[1].append(Rescue.LATER)
    window.rescue.start(None)
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=30_000)
    settled(qtbot, window)
    assert [sentences.split()[2] for sentences, _ in asked[0]] == ["mini.musicxml", "duo.musicxml"]
    assert notes(window) == {"one"}
    assert [left.name for left in window.safety.left_behind()] == ["mini.musicxml"]


def test_a_start_with_a_score_offers_what_belongs_to_it_and_tells_of_the_rest(qtbot, windows, duo, mini, asked):
    window = windows()
    show(qtbot, window, duo)
    note(window, "one")
    die(window)
    window, said = windows(), []
    window.desk.said.connect(said.append)
    window.rescue.start(mini)
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=30_000)
    settled(qtbot, window)
    assert asked[0] == []
    assert said[0].startswith("Unsaved work on another score is kept")
    assert window.actions_by_name["unsaved"].isEnabled()


def test_what_is_thrown_away_is_gone_and_what_is_left_for_later_stays(qtbot, windows, duo, folder, asked):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    die(window)
    for answer, left in ((Rescue.LATER, 1), (Rescue.THROW_AWAY, 0)):
        window = windows()
        asked[1].append(answer)
        show(qtbot, window, duo)
        assert notes(window) == set()
        window.close()
        assert len(journals(folder)) == left


def test_what_is_left_for_later_is_offered_again_by_a_command_also_while_its_score_lies_open(
    qtbot, windows, duo, folder, asked, monkeypatch
):
    window = windows()
    show(qtbot, window, duo)
    assert not window.actions_by_name["unsaved"].isEnabled()
    note(window, "Slow.")
    die(window)
    window = windows()
    asked[1].append(Rescue.LATER)
    show(qtbot, window, duo)
    note(window, "Fast.")
    assert notes(window) == {"Fast."}

    settle = [dialogs.Answer.CANCEL, dialogs.Answer.DISCARD]
    monkeypatch.setattr(
        dialogs, "ask_unsaved", lambda parent, name: settle.pop(0) if settle else dialogs.Answer.DISCARD
    )
    trigger(window, "unsaved")
    settled(qtbot, window)
    assert notes(window) == {"Fast."}
    trigger(window, "unsaved")
    settled(qtbot, window)
    assert notes(window) == {"Slow."}
    assert not window.actions_by_name["unsaved"].isEnabled()
    assert len(journals(folder)) == 1
    assert len(asked[0]) == 3


def test_the_command_is_there_from_the_start_until_nothing_is_left(qtbot, windows, duo, folder, asked):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    die(window)
    window, said = windows(), []
    window.desk.said.connect(said.append)
    asked[1].extend([Rescue.LATER, Rescue.THROW_AWAY])
    window.rescue.start(None)
    trigger(window, "unsaved")
    assert journals(folder) == []
    assert not window.actions_by_name["unsaved"].isEnabled()
    window.offer_unsaved()
    assert said == ["There is no unsaved work left; another window may have brought it back."]


def test_a_journal_that_cannot_be_read_is_told_of_and_not_brought_back(qtbot, windows, duo, folder, asked, told):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    die(window)
    (path,) = journals(folder)
    path.write_bytes(b"?" + path.read_bytes()[1:])
    asked[1].append(Rescue.LATER)
    window = windows()
    window.rescue.start(None)
    ((sentences, can_bring_back),) = asked[0]
    assert sentences.endswith(f" cannot be brought back: {path.name} is damaged where it begins.")
    assert not can_bring_back
    assert told == []


@pytest.mark.parametrize(
    ("then", "words"),
    [
        (datetime(2026, 5, 3, 9, 5), "09:05"),
        (datetime(2026, 5, 2, 23, 59), "2 May, 23:59"),
        (datetime(2025, 12, 31, 8, 0), "31 December 2025, 08:00"),
    ],
)
def test_the_time_of_an_edit_is_said_as_shortly_as_is_clear(then, words):
    assert rescue._time_words(then, datetime(2026, 5, 3, 14, 0)) == words
