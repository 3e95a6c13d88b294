"""Comparing ways: notes that align and digits that stand out, the way of the hand, and the tempo."""

from __future__ import annotations

import itertools

import pytest
from PySide6.QtCore import QPoint, QSignalBlocker
from PySide6.QtWidgets import QApplication, QStyle, QStyleOptionSlider

from analysis.fingering.rules.files import preset
from analysis.instruments import VIOLIN
from app.job.comparing.tempo_scan import FASTEST, SLOWEST, at_tempo
from app.job.comparing.ways import difference_words, differing, other_strings, weigh
from app.job.fingerboard.hand_path import furthest_mm, hand_path
from app.job.teacher.work import PartWork
from app.window.comparing.path_plot import PathPlot
from engraving.page import Rect
from tests.analysis.lines import line, plan
from tests.app.conftest import opened, settled
from tests.engraving.pages import grey
from tests.scores import score

# The last note is the open G in any position.
MUSIC = "A4/1 B4 G4 A4 | G4 B4 A4 G4 | G3/4 | F#4/1 D4 A3 D4"


@pytest.fixture
def begun(qtbot, window, tmp_path):
    """The comparison of first and third position in the first three measures, just asked for."""
    path = tmp_path / "line.musicxml"
    path.write_bytes(score("Violin", "4/4", "!=60 " + MUSIC, key=1))
    opened(qtbot, window, path)
    window.desk.select_passage((0, 2))
    window.actions_by_name["compare"].trigger()
    return window.compare_window


@pytest.fixture
def comparison(qtbot, window, begun):
    """The same, all worked out."""
    worked_out(qtbot, window)
    yield window.compare_window
    if window.compare_window is not None:
        window.compare_window.close()


def worked_out(qtbot, window, ways=2):
    shown = window.compare_window
    qtbot.waitUntil(
        lambda: (
            len(shown.ways) == ways and shown.tempo.plot.scan is not None and len(shown.tempo.plot.scan.titles) == ways
        ),
        timeout=30_000,
    )
    settled(qtbot, window)


def ways_of(music, *names):
    part = line(music)
    return weigh(part, PartWork(VIOLIN, preset("two-homes")), (0, len(part.measures) - 1), [preset(n) for n in names])


# Which notes differ


def test_a_note_differs_where_finger_or_string_is_another():
    ways = ways_of("A4/1 B4 G4 D5", "first", "third")
    played = [[way.plan.choice(note).as_played[::2] for way in ways] for note in ("n1", "n2", "n3", "n4")]
    assert {f"n{n}" for n, (one, other) in enumerate(played, 1) if one != other} == differing(ways) != frozenset()
    assert differing(ways_of("A4/1 B4 G4 D5", "first", "first")) == frozenset()


def test_a_note_that_one_way_leaves_out_differs():
    ways = ways_of("D6/1 A4 B4 D6", "first", "third")
    assert "n1" not in ways[0].plan
    assert {"n1", "n4"} <= differing(ways)


def test_the_string_is_told_where_a_way_comes_to_one_that_others_do_not_take():
    ways = ways_of("A4/1 B4 G4 B4", "first", "third")
    assert [[way.plan.choice(f"n{n}").string for n in (1, 2, 3, 4)] for way in ways] == [[2, 2, 3, 2], [3, 3, 3, 3]]
    assert other_strings(ways, ways[0]) == {"n1", "n4"}
    assert other_strings(ways, ways[1]) == {"n1", "n4"}


@pytest.mark.parametrize(
    ("first", "value", "words"),
    [("5", "7", "+2"), ("7", "5", "−2"), ("4", "4", ""), ("4.5", "3.2", "−1.3"), ("0.0", "93.0", "+93.0")],
)
def test_a_value_is_told_beside_that_of_the_first_way(first, value, words):
    assert difference_words(first, value) == words


# The strips and the table


def test_the_notes_of_the_strips_stand_under_one_another(comparison):
    maps = [[page.map for page in strip.sheets.pages] for strip in comparison.strips]
    assert len(maps) == 2
    assert maps[0] == maps[1]
    assert comparison.strips[0].width() == comparison.strips[1].width()


def test_digits_that_differ_stand_on_a_ground_and_no_others(comparison):
    ids = differing(comparison.ways)
    assert len(ids) < 9
    for strip, way in zip(comparison.strips, comparison.ways, strict=True):
        digits = strip.sheets.digits(0)
        grounds = strip.standing_out(0)
        assert len(grounds) == len(ids & {note_id for note_id, _ in way.plan.choices()}) > 0
        for one in (*digits.computed, *digits.own):
            x, y = one.digit.rect.centre
            assert any(rect.distance(x, y) == 0 for rect in grounds) == (one.note_id in ids)


def test_the_ground_is_seen_without_colour(comparison):
    strip = comparison.strips[0]
    scale = strip.width() / 170.0
    picture = grey(strip.grab().toImage())
    for rect in strip.standing_out(0):
        ground = picture[round(rect.y0 * scale) + 1 : round(rect.y1 * scale) - 1, round(rect.x0 * scale) + 1]
        assert ground.max() < 245
        line = picture[round(rect.y1 * scale) : round(rect.y1 * scale) + 3, round(rect.centre[0] * scale)]
        assert line.min() < 190


def test_the_ground_touches_nothing_of_the_music(comparison):
    for strip in comparison.strips:
        ink = strip.sheets.pages[0].map.ink
        for rect in strip.standing_out(0):
            assert not any(Rect(*box).touches(rect) for box in ink.tolist())


def test_a_strip_is_as_high_as_its_width_wants_however_many_there_are(comparison):
    comparison.resize(900, 400)
    QApplication.processEvents()
    for strip in comparison.strips:
        assert strip.width() >= 520
        assert strip.height() >= strip.heightForWidth(strip.width())


def test_the_table_tells_how_much_more_or_less_a_way_asks_than_the_first(comparison):
    names = [comparison.table.verticalHeaderItem(row).text() for row in range(comparison.table.rowCount())]
    row = names.index("String crossings")
    first, third = (way.counts.crossings for way in comparison.ways)
    assert first > third
    assert comparison.table.item(row, 0).text() == str(first)
    assert comparison.table.item(row, 1).text() == f"{third} (−{first - third})"
    row = names.index("Notes fingered")
    assert [comparison.table.item(row, column).text() for column in (0, 1)] == ["9", "9"]


# The way of the hand


def test_a_path_holds_where_on_the_string_each_note_is_stopped():
    """A stop of n semitones lies 1 - 2^(-n/12) of the string from the nut; 328 mm full size (makingtheviolin.com)."""
    path = hand_path(plan("A4/1 B4/2 [G3 D4]/1", preset("first")))
    assert [(float(stop.onset), float(stop.end), stop.string) for stop in path] == [
        (0, 1, 2), (1, 3, 2), (3, 4, 3), (3, 4, 4),
    ]  # fmt: skip
    assert [stop.stop_mm for stop in path] == pytest.approx([0, 328 * (1 - 2 ** (-2 / 12)), 0, 0])
    assert path[1].hand == "1st"
    assert furthest_mm([path]) == pytest.approx(328 * (1 - 2 ** (-2 / 12)))
    assert furthest_mm([()]) == 0


def drawn(music, rules, height=None):
    made = plan(music, preset(rules))
    path = hand_path(made)
    plot = PathPlot(path, made.part, (0, len(made.part.measures) - 1), VIOLIN, furthest_mm([path]))
    plot.resize(600, plot.height())
    return plot, path


def test_a_plot_has_time_across_and_the_distance_from_the_nut_upwards(qtbot):
    plot, _ = drawn("A4/1 B4 C#5 D5 E5/4", "first")
    qtbot.addWidget(plot)
    beats = [plot.across(beat) for beat in range(9)]
    assert [b - a for a, b in itertools.pairwise(beats)] == pytest.approx([(beats[8] - beats[0]) / 8] * 8)
    assert plot.height_of(0) - plot.height_of(60) == pytest.approx(2 * (plot.height_of(0) - plot.height_of(30)))
    assert plot.height_of(60) < plot.height_of(0)
    assert plot.accessibleDescription() == "Positions: 1st"


def test_the_strings_of_a_plot_are_told_apart_without_colour(qtbot):
    """Each string has a line of its own, from the same place on it: first finger in first position."""
    columns = set()
    for music in ("F#5/4", "B4/4", "E4/4", "A3/4"):
        plot, path = drawn(music, "first")
        qtbot.addWidget(plot)
        picture = grey(plot.grab().toImage())
        x, y = plot.across(2), plot.height_of(path[0].stop_mm)
        area = picture[round(y) - 4 : round(y) + 5, round(x) : round(x) + 12] < 100
        columns.add(tuple(map(tuple, area)))
    assert len(columns) == 4


def test_all_ways_are_drawn_to_one_scale(comparison):
    nut, high = ({(plot.height_of(mm), plot.across(4)) for plot in comparison.plots} for mm in (0, 100))
    assert len(nut) == len(high) == 1


# The tempo


def test_the_slider_begins_at_the_printed_tempo_and_the_way_that_pays_is_named(comparison):
    assert comparison.tempo.slider.value() == 60
    assert not comparison.tempo.back.isEnabled()
    (crossing,) = comparison.tempo.plot.scan.crossings
    assert f"From about quarter = {crossing.tempo:.0f} on, Third position costs less." in comparison.tempo.sentence
    assert comparison.tempo.plot.accessibleDescription() == comparison.tempo.sentence


def test_the_handle_of_the_slider_stands_over_the_line_of_the_plot(comparison):
    slider, plot = comparison.tempo.slider, comparison.tempo.plot
    option = QStyleOptionSlider()
    for tempo in (SLOWEST, 90, FASTEST):
        with QSignalBlocker(slider):
            slider.setValue(tempo)
        slider.initStyleOption(option)
        control, part = QStyle.ComplexControl.CC_Slider, QStyle.SubControl.SC_SliderHandle
        handle = slider.style().subControlRect(control, option, part, slider).center()
        assert slider.mapTo(comparison, handle).x() == pytest.approx(
            plot.mapTo(comparison, QPoint(round(plot.across(tempo)), 0)).x(), abs=3
        )


def test_two_ways_are_seen_in_the_table_however_large_the_letters(comparison):
    font = comparison.font()
    font.setPointSize(18)
    comparison.setFont(font)
    comparison.resize(1240, 740)
    comparison._fill_table()
    QApplication.processEvents()
    table = comparison.table
    columns = table.columnViewportPosition(1) + table.columnWidth(1)
    assert columns <= table.viewport().width()


def test_ways_are_worked_out_at_the_tempo_of_the_slider(qtbot, window, comparison):
    part, work = window.desk.part, window.desk.part_work
    printed = [way.counts for way in comparison.ways]
    comparison.tempo.slider.setValue(150)
    every = [way.rules for way in comparison.ways]
    fast = [way.counts for way in weigh(at_tempo(part, 150), work, (0, 2), every)]
    assert fast != printed
    qtbot.waitUntil(lambda: [way.counts for way in comparison.ways] == fast, timeout=30_000)
    worked_out(qtbot, window)
    comparison.tempo.back.click()
    qtbot.waitUntil(lambda: [way.counts for way in comparison.ways] == printed, timeout=30_000)
    worked_out(qtbot, window)
    assert comparison.tempo.slider.value() == 60


def test_four_ways_are_compared_at_the_most(qtbot, window, comparison):
    comparison._more.click()
    worked_out(qtbot, window, 3)
    comparison._more.click()
    worked_out(qtbot, window, 4)
    chosen = [chooser.currentText() for chooser in comparison.choosers]
    assert len(set(chosen)) == 4, "each by rules of its own"
    assert not comparison._more.isEnabled()
    assert len(comparison.strips) == len(comparison.plots) == comparison.table.columnCount() == 4
    assert not comparison.tempo.plot.grab().isNull()


def test_a_comparison_that_is_closed_before_it_is_engraved_leaves_no_trace(qtbot, window, begun, told):
    begun.close()
    qtbot.waitUntil(lambda: window.compare_window is None, timeout=30_000)
    settled(qtbot, window)
    assert told == []


def test_a_comparison_that_is_closed_early_leaves_no_trace(qtbot, window, comparison, told):
    comparison.tempo.slider.setValue(150)
    comparison.weigh()
    comparison.close()
    qtbot.waitUntil(lambda: window.compare_window is None, timeout=30_000)
    settled(qtbot, window)
    assert told == []
