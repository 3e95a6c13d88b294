"""Every house rule has a field, which keeps its value to the last."""

from __future__ import annotations

from dataclasses import fields

import pytest
from hypothesis import HealthCheck, given, settings
from PySide6.QtWidgets import QLabel

from analysis.errors import HouseRuleError
from analysis.fingering.rules.checks import CHECKS, OPEN_OR_FOURTH, PRINTED, REACHES
from analysis.fingering.rules.files import PRESETS, parse_rules, preset, rules_from
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules
from analysis.instruments import VIOLIN
from app.job.rules.draft import TABLE_KINDS, TABLE_RULES, Draft, TableDraft
from app.job.rules.file import rules_text
from app.job.rules.words import table_words
from app.window.rules.rules_page import GROUPS, RulesPage
from tests import strategies
from tests.app.window.rules.bench import choose, edited, field, laid


def test_every_rule_has_a_field_or_a_kind_of_table_with_its_sentence(qtbot):
    page = RulesPage(None, in_table=False)
    qtbot.addWidget(page)
    for name, sentence in RULE_SENTENCES.items():
        if name in TABLE_KINDS:
            continue
        assert page.rows[name].sentence.text() == sentence
        assert sentence in {label.text() for label in page.findChildren(QLabel)}
        assert page.rows[name].field.isVisibleTo(page)
    assert set(page.rows) | set(TABLE_KINDS) == {rule.name for rule in fields(HouseRules)} == set(RULE_SENTENCES)
    assert sorted(name for names in GROUPS.values() for name in names) == sorted(page.rows)


def test_a_table_has_every_rule_but_the_names(qtbot):
    page = RulesPage(None, in_table=True)
    qtbot.addWidget(page)
    assert set(page.rows) == set(TABLE_RULES) == set(RULE_SENTENCES) - {"name", "title", *TABLE_KINDS}


@pytest.fixture
def pages(qtbot):
    made = RulesPage(None, in_table=False), RulesPage(None, in_table=True)
    for page in made:
        qtbot.addWidget(page)
    return made


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(strategies.rules(positions=6))
def test_values_go_through_the_fields_and_a_file_and_come_back(pages, rules):
    page, table_page = pages
    draft = Draft.of(rules)
    page.show_values(draft.own, {})
    through = draft.with_values(-1, page.values)
    for number, table in enumerate(draft.tables):
        table_page.show_values(table.rules, draft.beneath(number, "violin"))
        through = through.with_values(number, table_page.values)
    assert through == draft
    assert through.rules == rules
    assert parse_rules(rules_text(through.rules), "ours.toml") == rules


@pytest.mark.parametrize("name", PRESETS)
def test_a_preset_goes_through_the_fields_unchanged(qtbot, bench, mini, name):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    chosen = PRESETS.index(name)
    shown.presets.setCurrentIndex(chosen)
    shown.presets.activated.emit(chosen)
    for place in range(shown.editor.places.list.count()):
        shown.editor.places.list.setCurrentRow(place)
        values = shown.editor.page.values
        assert values == dict(shown.editor.draft.values(place - 1))
    assert shown.rules == preset(name)


def test_each_field_says_what_its_rule_holds(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    field(shown, "title").line.setText("Afternoon")
    field(shown, "name").line.setText("afternoon")
    for number, box in field(shown, "positions").boxes.items():
        box.setChecked(number in (0, 1, 12))
    choose(field(shown, "home").box, "half position")
    choose(field(shown, "lower_strings_to").box, "4th position")
    field(shown, "keep_on").boxes[2].click()
    field(shown, "never_open").boxes[3].click()
    field(shown, "longest_open").box.setCurrentText("3/2")
    choose(field(shown, "open_or_fourth").box, "the fourth finger")
    choose(field(shown, "printed").box, "on every note")
    choose(field(shown, "reach").box, "small")
    for name in ("fourth_saves_crossing", "avoid_shrill_open", "extensions", "same_again"):
        field(shown, name).box.click()
    field(shown, "tempo").spin.setValue(72.5)
    field(shown, "size").box.setCurrentText("3/4")
    weight = field(shown, "weights").rows["shift"]
    weight.box.click()
    weight.spin.setValue(2.5)
    own = {"fourth_saves_crossing": False, "avoid_shrill_open": False, "extensions": False, "same_again": False}
    expected = rules_from(
        {
            **own, "title": "Afternoon", "name": "afternoon", "positions": [0, 1, 12], "home": 0, "lower_strings_to": 4,
            "keep_on": [2], "never_open": [3], "longest_open": "3/2", "open_or_fourth": "fourth", "tempo": 72.5,
            "printed": "every-note", "reach": "small", "size": "3/4", "weights": {"shift": 2.5},
            **{kind: dict(getattr(preset("two-homes"), kind)) for kind in ("instrument", "part")},
        }
    )  # fmt: skip
    assert shown.rules == expected


def test_every_value_of_a_rule_can_be_chosen_and_has_words(qtbot):
    """What the checks let pass, the fields offer; and no more."""
    page = RulesPage(None, in_table=True)
    qtbot.addWidget(page)
    for name, values in (("open_or_fourth", OPEN_OR_FOURTH), ("printed", PRINTED), ("reach", REACHES)):
        box = page.rows[name].field.box
        assert sorted(box.itemData(number) for number in range(box.count())) == sorted(values)
    for name in ("positions", "never_open", "keep_on"):
        numbers = list(page.rows[name].field.boxes)
        assert CHECKS[name](name, numbers) == tuple(numbers)
        for beyond in (numbers[0] - 1, numbers[-1] + 1):
            with pytest.raises(HouseRuleError):
                CHECKS[name](name, [beyond])
    for spin, check in ((page.rows["tempo"].field.spin, CHECKS["tempo"]), (weight_spin(page), weight_check)):
        for bound, step in ((spin.minimum(), -0.1), (spin.maximum(), 0.1)):
            assert check("it", bound)
            with pytest.raises(HouseRuleError):
                check("it", bound + step)
    everything = {name: value for name, value in Draft.of(HouseRules()).own.items() if name in TABLE_RULES}
    for name, value in everything.items():
        assert table_words(TableDraft("instrument", "violin", {name: value}), VIOLIN) != "nothing otherwise yet"


def weight_spin(page):
    return page.rows["weights"].field.rows["shift"].spin


def weight_check(name, value):
    return CHECKS["weights"](name, {"shift": value})


def test_a_number_with_many_digits_is_kept_to_the_last_while_nobody_changes_it(qtbot):
    page = RulesPage(None, in_table=False)
    qtbot.addWidget(page)
    rules = HouseRules(tempo=71.23456, weights=(("shift", 1.23456),))
    page.show_values(Draft.of(rules).own, {})
    assert rules_from(page.values) == rules
    page.rows["tempo"].field.spin.setValue(60)
    assert page.values["tempo"] == 60
