"""What is decided of all selected measures at once: position, string, rules, how much is printed; each one step."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.errors import HouseRuleError
from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset, rules_from
from analysis.instruments import CELLO, VIOLIN
from app.errors import AppError
from app.job.paper.digits import digits_on_paper
from app.job.rules.draft import TableDraft
from app.job.rules.passage import measures_for_rules, misfit, remark_on, rules_held_in, with_rule_in
from app.window import dialogs
from engraving.document import read_document
from engraving.reading import read_score
from tests.app.conftest import opened, settled
from tests.scores import score


class Offered(list):
    """Texts, and those that stood there at first."""

    def __init__(self):
        super().__init__()
        self.begun = []


def chosen(monkeypatch, answer):
    """The teacher chooses one of the texts offered; what was offered, and with which it began."""
    offered = Offered()
    begun = offered.begun

    def ask(parent, title, question, texts, present=""):
        offered.extend(texts)
        begun.append(present)
        assert answer is None or answer in texts
        return answer

    monkeypatch.setattr(dialogs, "ask_choice", ask)
    return offered


def do(qtbot, window, name):
    assert window.actions_by_name[name].isEnabled()
    window.actions_by_name[name].trigger()
    settled(qtbot, window)


def inside(window, first, last):
    return [note.id for note in window.desk.part.notes if first <= note.measure <= last]


def test_nothing_can_be_decided_without_selected_measures(qtbot, window, mini):
    opened(qtbot, window, mini)
    names = ("in_position", "on_string", "release_all", "passage_rules", "passage_printed")
    assert not any(window.actions_by_name[name].isEnabled() for name in names)
    window.desk.select_passage((2, 3))
    assert [name for name in names if not window.actions_by_name[name].isEnabled()] == ["release_all"]


def test_a_passage_is_kept_in_a_position_as_one_step(qtbot, window, mini, monkeypatch):
    opened(qtbot, window, mini)
    before = window.desk.plan
    window.desk.select_passage((2, 3))
    offered = chosen(monkeypatch, "3rd position")
    do(qtbot, window, "in_position")
    assert offered == [f"{name} position" for name in ("half", "1st", "2nd", "3rd", *(f"{n}th" for n in range(4, 13)))]
    assert offered.begun == ["1st position"]
    ids = inside(window, 2, 3)
    assert {window.desk.plan.choice(note_id).position for note_id in ids} == {3}
    assert dict(window.desk.plan.locks) == dict.fromkeys(ids, Lock(position=3))
    assert window.desk.history.undoText() == "measures 3–4 in 3rd position"
    assert window.desk.history.count() == 1
    window.desk.history.undo()
    assert window.desk.plan is before
    window.desk.history.redo()
    assert {window.desk.plan.choice(note_id).position for note_id in ids} == {3}


def test_a_passage_is_kept_on_a_string(qtbot, window, mini, monkeypatch):
    opened(qtbot, window, mini)
    window.desk.select_passage((2, 2))
    offered = chosen(monkeypatch, "A string")
    do(qtbot, window, "on_string")
    assert offered == ["E string", "A string", "D string", "G string"]
    assert {window.desk.plan.choice(note_id).string for note_id in inside(window, 2, 2)} == {2}
    assert window.desk.history.undoText() == "measure 3 on the A string"


def test_what_cannot_be_is_told_in_words_and_nothing_is_changed(qtbot, window, mini, monkeypatch, told):
    opened(qtbot, window, mini)
    before = window.desk.plan
    window.desk.select_passage((0, 4))
    chosen(monkeypatch, "G string")
    do(qtbot, window, "on_string")
    (sentence,) = told
    assert sentence == (
        "Measure 3, beat 4: G5 cannot be played on the G string. There is one more such note. Nothing has been changed."
    )
    assert window.desk.plan is before
    assert window.desk.history.count() == 0
    window.desk.select_passage(None)
    window.desk.lock(inside(window, 3, 3)[0], Lock(string=4, finger=1), "no")
    assert window.statusBar().currentMessage()
    window.desk.lock(inside(window, 3, 3)[0], Lock(finger=1), "yes")
    assert window.desk.history.count() == 1
    assert window.statusBar().currentMessage() == ""


def test_a_note_fixed_otherwise_is_told_of_and_can_be_let_go_first(qtbot, window, mini, monkeypatch, told):
    opened(qtbot, window, mini)
    first = inside(window, 2, 2)[0]
    window.desk.lock(first, Lock(string=2, position=1, finger=3), "D5")
    window.desk.select_passage((2, 2))
    chosen(monkeypatch, "3rd position")
    do(qtbot, window, "in_position")
    assert "let Handframe decide again there first" in told[0]
    assert window.desk.history.count() == 1
    do(qtbot, window, "release_all")
    do(qtbot, window, "in_position")
    assert len(told) == 1
    assert {window.desk.plan.choice(note_id).position for note_id in inside(window, 2, 2)} == {3}


def test_a_note_that_the_instrument_does_not_have_stands_in_nobodys_way(qtbot, window, tmp_path, monkeypatch, told):
    path = tmp_path / "low.musicxml"
    path.write_bytes(score("Violin", "4/4", "D5/1 C2 F5 G5"))
    opened(qtbot, window, path)
    low = inside(window, 0, 0)[1]
    assert low not in window.desk.plan
    window.desk.select_passage((0, 0))
    chosen(monkeypatch, "3rd position")
    do(qtbot, window, "in_position")
    assert told == []
    assert low not in window.desk.plan.locks
    assert len(window.desk.plan.locks) == 3


def test_a_note_out_of_reach_of_the_rules_joins_in_where_its_position_is_chosen(qtbot, window, tmp_path, monkeypatch):
    path = tmp_path / "high.musicxml"
    path.write_bytes(score("Violin", "4/4", "A5/1 B5 E6 B5"))
    opened(qtbot, window, path)
    assert inside(window, 0, 0)[2] not in window.desk.plan
    window.desk.select_passage((0, 0))
    chosen(monkeypatch, "4th position")
    do(qtbot, window, "in_position")
    assert {window.desk.plan.choice(note_id).position for note_id in inside(window, 0, 0)} == {4}
    do(qtbot, window, "release_all")
    assert inside(window, 0, 0)[2] not in window.desk.plan
    assert dict(window.desk.plan.locks) == {}


def test_handframe_decides_again_in_the_selected_measures_only(qtbot, window, mini):
    opened(qtbot, window, mini)
    ids = [note.id for note in window.desk.part.notes]
    window.desk.fix({ids[0]: Lock(finger=2), ids[2]: Lock(finger=0), ids[6]: Lock(string=2)}, "three")
    window.desk.select_passage((0, 0))
    do(qtbot, window, "release_all")
    assert dict(window.desk.plan.locks) == {ids[6]: Lock(string=2)}
    assert window.desk.history.undoText() == "measure 1: decided again"
    assert not window.actions_by_name["release_all"].isEnabled()
    window.desk.history.undo()
    assert set(window.desk.plan.locks) == {ids[0], ids[2], ids[6]}


def test_an_edit_made_meanwhile_is_not_lost(qtbot, window, mini, monkeypatch):
    opened(qtbot, window, mini)
    ids = [note.id for note in window.desk.part.notes]
    window.desk.select_passage((2, 2))
    chosen(monkeypatch, "3rd position")
    window.actions_by_name["in_position"].trigger()
    window.desk.lock(ids[2], Lock(finger=0), "A4: open")
    settled(qtbot, window)
    assert window.desk.plan.locks[ids[2]] == Lock(finger=0)
    assert set(window.desk.plan.locks) == {ids[2], *inside(window, 2, 2)}
    assert window.desk.history.count() == 2


def test_giving_up_the_question_changes_nothing(qtbot, window, mini, monkeypatch):
    opened(qtbot, window, mini)
    window.desk.select_passage((2, 2))
    chosen(monkeypatch, None)
    for name in ("in_position", "on_string", "passage_printed"):
        do(qtbot, window, name)
    assert window.desk.history.count() == 0


def test_how_much_is_printed_in_a_passage_is_one_step_and_leaves_the_fingers(qtbot, window, example, monkeypatch):
    opened(qtbot, window, example)
    before = window.desk.plan
    window.desk.select_passage((4, 7))
    offered = chosen(monkeypatch, "on every note")
    do(qtbot, window, "passage_printed")
    assert offered == ["on every note", "where it matters", "exceptions only"]
    plan = window.desk.plan
    assert list(plan.choices()) == list(before.choices())
    everywhere = {note.id for note in plan.part.notes if 4 <= note.measure <= 7 and plan.struck(note.id)}
    assert {one.note_id for one in digits_on_paper(plan, measures=(4, 7))} == everywhere
    assert len(digits_on_paper(before, measures=(4, 7))) < len(everywhere)
    assert window.desk.history.undoText() == "measures 5–8 printed on every note"
    window.desk.history.undo()
    assert window.desk.plan is before


def test_the_rules_of_a_passage_are_shown_to_be_edited(qtbot, window, mini):
    opened(qtbot, window, mini)
    window.desk.select_passage((2, 3))
    window.actions_by_name["passage_rules"].trigger()
    shown = window.ruling.rules_window
    page = shown.editor.page
    page.rows["positions"].otherwise.click()
    page.rows["positions"].field.boxes[1].click()
    shown.use.click()
    qtbot.waitUntil(lambda: not shown.trial._pause.isActive() and not window.tasks.is_busy, timeout=30_000)
    assert {window.desk.plan.choice(note_id).position for note_id in inside(window, 2, 3)} == {3}
    assert {window.desk.plan.choice(note_id).position for note_id in inside(window, 0, 1)} == {1}


# The rules for measures chosen in the score

LINE = "D5/4 | E5/4 | F5/4 | G5/4 | A5/4 | B5/4"


def part_of(music=LINE, name="Violin I"):
    return read_score(read_document(score(name, "4/4", music), "s.musicxml")).parts[0]


def at(rules, part, name):
    """The value of a rule in every measure."""
    own = rules.for_part("violin", part.name)
    return [getattr(own.in_measures(part).get(measure.index, own), name) for measure in part.measures]


def test_a_rule_for_some_measures_leaves_all_else_that_holds_there():
    """Of two tables only the later counts: what the earlier says must not be lost."""
    part = part_of()
    rules = rules_from(
        {
            "passage": [
                {"measures": "2-3", "positions": [3]},
                {"measures": "5-5", "part": "Violin I", "never_open": [1]},
                {"measures": "4", "part": "Viola", "never_open": [2]},
            ]
        }
    )
    made = with_rule_in(rules, part, (2, 4), "printed", "every-note")
    matters, every = "where-it-matters", "every-note"
    assert at(made, part, "printed") == [matters, matters, every, every, every, matters]
    assert at(made, part, "positions") == at(rules, part, "positions") == [(1, 3), (3,), (3,), *[(1, 3)] * 3]
    assert at(made, part, "never_open") == at(rules, part, "never_open") == [(), (), (), (), (1,), ()]
    assert len(made.passage) == 5, "the table of measure 5 is changed, those of 3 and of 4 are new"
    again = with_rule_in(made, part, (2, 4), "printed", "exceptions")
    assert len(again.passage) == 5
    assert at(again, part, "printed")[2:5] == ["exceptions"] * 3


def test_measures_whose_numbers_stand_twice_are_refused_in_words():
    part = part_of()
    twice = [measure.label for measure in part.measures]
    assert measures_for_rules(part, (1, 3)) == "2-4"
    assert measures_for_rules(part, (2, 2)) == "3"
    part = renumbered(part, [*twice[:3], *twice[:3]])
    with pytest.raises(AppError, match="which in Violin I do not tell measures 2–3 from others"):
        measures_for_rules(part, (1, 2))
    with pytest.raises(AppError, match="do not tell"):
        with_rule_in(preset("first"), part, (1, 2), "printed", "every-note")


def renumbered(part, labels):
    measures = tuple(replace(one, label=label) for one, label in zip(part.measures, labels, strict=True))
    return replace(part, measures=measures)


def test_a_table_for_all_of_the_measures_is_found():
    part = part_of()
    rules = rules_from({"passage": [{"measures": "2-4", "positions": [3]}, {"measures": "4", "home": 1}]})
    assert dict(rules_held_in(rules, part, (1, 2)).rules) == {"positions": (3,)}
    assert dict(rules_held_in(rules, part, (3, 3)).rules) == {"home": 1}
    assert rules_held_in(rules, part, (1, 3)) is None
    assert rules_held_in(rules, part, (0, 0)) is None


def test_tables_that_change_nothing_here_are_remarked_on():
    read = read_score(read_document(score("Violin I", "4/4", LINE), "s.musicxml"))
    (part,) = read.parts
    for table, told in (
        (TableDraft("instrument", "cello", {}), ""),
        (TableDraft("part", "Viola", {}), "This score has no part named Viola."),
        (TableDraft("passage", "Violin I", {}, "2-6"), ""),
        (TableDraft("passage", "", {}, "2-9"), "There is no measure 9 in Violin I; its measures are 1 to 6."),
        (TableDraft("passage", "Violin I", {}, "4-2"), "Measure 2 does not come after measure 4."),
    ):
        assert remark_on(table, read, part) == told


def test_rules_that_fit_one_by_one_may_still_not_fit_together():
    part = part_of()
    rules = rules_from({"instrument": {"violin": {"positions": [1]}}, "passage": [{"measures": "2", "home": 3}]})
    assert misfit(rules, [(part, CELLO), (part, None)]) == ""
    assert (
        misfit(rules, [(part, VIOLIN)])
        == "Violin I: home is 3rd position, which is not among the positions allowed: 1st"
    )
    with pytest.raises(HouseRuleError, match="home is 3rd position"):
        make_plan(part, VIOLIN, rules)
