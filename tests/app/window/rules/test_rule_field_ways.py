"""The fields of house rules say what players say, leave the wheel to the page and are heard; the window fits."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QDoubleSpinBox, QLineEdit

from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.terms import TERMS
from app.job.rules.draft import Draft
from app.window.rules.rules_page import RulesPage
from tests.app.window.rules.bench import edited, field, laid, places


def test_positions_and_strings_have_the_names_that_players_of_the_instrument_use(qtbot, bench, mini):
    """Position names and strings of cello and violin: common practice, no source."""
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    assert [box.text() for box in field(shown, "positions").boxes.values()][:4] == ["half", "1st", "2nd", "3rd"]
    assert field(shown, "positions").boxes[8].text() == "8th"
    assert [box.text() for box in field(shown, "never_open").boxes.values()] == [
        "E string", "A string", "D string", "G string", "5th string",
    ]  # fmt: skip
    shown.editor.places.list.setCurrentRow(places(shown).index("Cello"))
    assert field(shown, "positions").boxes[8].text() == "thumb"
    assert field(shown, "never_open").boxes[1].text() == "A string"
    assert field(shown, "never_open").boxes[4].text() == "C string"


def test_every_effort_term_can_be_weighed_from_0_to_20_by_its_words(qtbot):
    page = RulesPage(None, in_table=False)
    qtbot.addWidget(page)
    page.show_values(Draft.of(HouseRules()).own, {})
    weights = page.rows["weights"].field
    assert [r.box.text() for r in weights.rows.values()] == [term.says for term in TERMS]
    assert all((r.spin.minimum(), r.spin.maximum()) == (0, 20) for r in weights.rows.values())
    assert not weights.list.isVisibleTo(page)
    weights.unfold.click()
    assert weights.list.isVisibleTo(page)
    assert weights.value == {}
    weights.rows["crossing"].box.click()
    assert weights.value == {"crossing": 1.0}
    weights.rows["crossing"].spin.setValue(99)
    assert weights.value == {"crossing": 20.0}
    assert weights.unfold.text() == f"1 of {len(TERMS)} otherwise"


def test_the_wheel_scrolls_and_changes_no_value_under_the_pointer(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    shown.editor.places.setFocus()
    boxes = [*shown.editor.page.findChildren(QComboBox), *shown.editor.page.findChildren(QDoubleSpinBox)]
    assert len(boxes) > 8
    for box in boxes:
        wheel = QWheelEvent(
            QPointF(5, 5), box.mapToGlobal(QPointF(5, 5)), QPoint(), QPoint(0, -120), Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(box, wheel)
    assert shown.rules == preset("two-homes")


def test_every_field_has_a_name_for_those_who_hear_the_screen(qtbot):
    page = RulesPage(None, in_table=True)
    qtbot.addWidget(page)
    heard = page.findChildren(QLineEdit) + page.findChildren(QComboBox) + page.findChildren(QDoubleSpinBox)
    heard += page.findChildren(QAbstractButton)
    for widget in heard:
        if widget.objectName() != "qt_spinbox_lineedit" and not isinstance(widget.parent(), QComboBox):
            assert widget.accessibleName() or widget.text(), widget


def test_the_window_fits_on_a_small_screen_with_nothing_cut_off(qtbot, bench, example):
    laid(qtbot, bench, example)
    shown = edited(qtbot, bench)
    shown.resize(1085, 560)  # 1366 by 768, everything a quarter larger
    assert (shown.width(), shown.height()) == (1085, 560)
    for place in range(shown.editor.places.list.count()):
        shown.editor.places.list.setCurrentRow(place)
        field(shown, "weights").unfold.setChecked(True)
        QApplication.processEvents()
        assert shown.editor._area.horizontalScrollBar().maximum() == 0
