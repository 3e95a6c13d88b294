"""What edited house rules would do to the part in hand."""

from __future__ import annotations

from analysis.fingering.placements import finger_text
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from app.job.rules.draft import Draft
from tests.app.window.rules.bench import edited, field, laid, tried


def test_the_effect_is_that_of_a_plan_under_the_edited_rules(qtbot, bench, example):
    """Counted here from two plans made apart, note by note."""
    laid(qtbot, bench, example)
    shown = edited(qtbot, bench)
    assert shown.effect.text() == "No digit changes."
    for number, box in field(shown, "positions").boxes.items():
        box.setChecked(number == 1)
    tried(qtbot, bench, shown)
    part, work = bench.desk.part, bench.desk.part_work
    old, new = (make_plan(part, work.instrument, rules) for rules in (work.rules, shown.rules))
    ids = [note.id for note in part.notes if old.struck(note.id)]
    changed = [i for i in ids if i not in new or finger_text(old.choice(i).finger) != finger_text(new.choice(i).finger)]
    assert 0 < len(changed) < len(ids)
    text = shown.effect.text()
    assert text.startswith(f"{len(changed)} of {len(ids)} digits change")
    assert f"shifts {old.counts.shifts} → {new.counts.shifts}" in text
    assert f"effort {old.effort:.0f} → {new.effort_by(work.rules):.0f}" in text
    assert shown.tried_on.text() == "Violin I"


def test_the_effect_is_that_on_the_selected_measures_and_follows_them(qtbot, bench, example):
    laid(qtbot, bench, example)
    shown = edited(qtbot, bench)
    field(shown, "never_open").boxes[2].click()
    field(shown, "never_open").boxes[3].click()
    tried(qtbot, bench, shown)
    whole = shown.effect.text()
    bench.desk.select_passage((0, 3))
    tried(qtbot, bench, shown)
    part, work = bench.desk.part, bench.desk.part_work
    old, new = (make_plan(part, work.instrument, rules) for rules in (work.rules, shown.rules))
    inside = [note.id for note in part.notes if note.measure <= 3 and old.struck(note.id)]
    changed = [i for i in inside if old.choice(i).finger != new.choice(i).finger]
    opens = [sum(plan.choice(i).is_open for i in inside) for plan in (old, new)]
    assert shown.tried_on.text() == "Violin I, measures 1–4"
    assert shown.effect.text() != whole
    assert shown.effect.text().startswith(f"{len(changed)} of {len(inside)} digits change")
    assert f"open strings {opens[0]} → {opens[1]}" in shown.effect.text()


def test_of_several_changes_only_the_last_is_told(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    told = []
    shown.trial.told.connect(lambda place, sentence: told.append(sentence))
    for name in ("third", "first", "home-ground", "two-homes"):
        shown.editor.take(Draft.of(preset(name)))
        shown.trial._try()
    tried(qtbot, bench, shown)
    assert [sentence for sentence in told if sentence] == ["No digit changes."]


def test_nothing_is_tried_after_the_window_is_closed(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    shown.leave.click()
    bench.desk.select_passage((0, 1))
    assert not shown.trial._pause.isActive()
    assert not shown.isVisible()
