"""The fingerboard chart: to scale, its tapes where schools put them, its dots apart and told apart without colour."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise
from math import hypot

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication, QImage, QPainter

from analysis.fingering.placements import Lie, Placement
from analysis.fingering.plan import Plan
from analysis.instruments import BASS, CELLO, INSTRUMENTS, VIOLA, VIOLIN, Instrument, guess_instrument
from engraving.fingerboard import GAP, RING, ChartLayout, Dot, FingerboardChart, lay_out, usual_tapes
from engraving.fingerboard_painter import paint_chart
from engraving.page import Rect
from engraving.reading import read_score
from tests.analysis.lines import plan
from tests.engraving.pages import corpus_document, grey

SCALE = 20.0  # pixels a millimetre
AREA = Rect(3.0, 2.0, 61.0, 62.0)

# Millimetres from the nut of the stops so many semitones above the open string, in equal temperament, worked out from
# string lengths published for each size: violin 4/4 makingtheviolin.com, smaller ones Wikipedia, "Scale length (string
# instruments)"; viola a maker's table, stop plus neck; cello 5stringcello.com; bass the jrank encyclopedia, "Bass".
STOPS = (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12)
MILLIMETRES = {
    ("violin", "4/4"): (18.4, 35.8, 52.2, 67.7, 82.3, 96.1, 109.1, 121.4, 133.0, 143.9, 164.0),
    ("violin", "3/4"): (17.2, 33.5, 48.8, 63.3, 77.0, 89.9, 102.1, 113.6, 124.5, 134.7, 153.5),
    ("violin", "1/2"): (16.1, 31.3, 45.7, 59.2, 72.0, 84.1, 95.5, 106.2, 116.3, 125.9, 143.5),
    ("violin", "1/4"): (15.0, 29.1, 42.5, 55.1, 67.0, 78.2, 88.8, 98.8, 108.2, 117.2, 133.5),
    ("viola", "16 in"): (21.0, 40.9, 59.7, 77.4, 94.1, 109.8, 124.7, 138.8, 152.0, 164.5, 187.5),
    ("cello", "4/4"): (38.7, 75.3, 109.8, 142.3, 173.1, 202.1, 229.5, 255.3, 279.7, 302.8, 345.0),
    ("bass", "3/4"): (59.9, 116.4, 169.8, 220.1, 267.7, 312.5, 354.9, 394.8, 432.6, 468.2, 533.5),
}


def dot(string: int, place: int, finger: int, lie: Lie = Lie.NORMAL, name: str = "", hand: float = 2.0) -> Dot:
    return Dot(Placement(string, 1, finger, place, lie, hand=hand), name)


def chart(*dots: Dot, instrument: Instrument = VIOLIN) -> FingerboardChart:
    return FingerboardChart(instrument, dots, usual_tapes(instrument))


def chart_of(text: str, rules: str = "first", instrument: Instrument = VIOLIN) -> FingerboardChart:
    """The chart of a line of words."""
    return charted(plan(text, rules, instrument))


def charted(made: Plan, measures: range | None = None) -> FingerboardChart:
    """The chart of a plan, all of it or some measures."""
    struck = [(made.part.note(note_id), way) for note_id, way in made.choices() if made.struck(note_id)]
    shown = [(note, way) for note, way in struck if measures is None or note.measure in measures]
    return chart(*dict.fromkeys(Dot(way, note.pitch.words) for note, way in shown), instrument=made.setting.played_on)


def image_of(shown: FingerboardChart, area: Rect = AREA) -> QImage:
    image = QImage(QSize(round((area.x1 + 3) * SCALE), round((area.y1 + 3) * SCALE)), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.scale(SCALE, SCALE)
    paint_chart(painter, shown, area)
    painter.end()
    return image


def painted(shown: FingerboardChart, area: Rect = AREA) -> NDArray[np.uint8]:
    return grey(image_of(shown, area))


@pytest.mark.parametrize(("key", "size"), MILLIMETRES)
def test_stops_lie_as_far_from_the_nut_as_on_the_instrument(key: str, size: str) -> None:
    instrument = next(one for one in INSTRUMENTS if one.key == key).in_size(size)
    layout = lay_out(chart(dot(1, 12, 4), instrument=instrument), AREA)
    away = [(layout.y(place) - layout.nut) / layout.factor for place in STOPS]
    assert away == pytest.approx(MILLIMETRES[key, size], abs=0.1)


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
def test_the_octave_lies_halfway_to_the_bridge_and_a_fifth_at_a_third(instrument: Instrument) -> None:
    """The monochord's ratios 1:2 and 2:3 (from memory); the fifth of equal temperament is a fiftieth of a step flat."""
    layout = lay_out(chart(dot(1, 12, 4), instrument=instrument), AREA)
    assert layout.y(12) - layout.nut == pytest.approx(layout.factor * instrument.string_length_mm / 2)
    fifth = (layout.y(7) - layout.nut) / (layout.y(12) - layout.nut)
    assert fifth == pytest.approx(2 / 3, abs=0.003)


@pytest.mark.parametrize(
    ("instrument", "places", "text"),
    [
        (VIOLIN, (2, 4, 5, 7), "B4/1 C#5 D5 E5"),
        (VIOLA, (2, 4, 5, 7), "E4/1 F#4 G4 A4"),
        (CELLO, (2, 4, 5), "B3/1 C#4 D4"),
        (BASS, (2, 4), "E2/1 F#2"),
    ],
    ids=lambda value: value.key if isinstance(value, Instrument) else "",
)
def test_the_tapes_lie_under_the_fingers_of_first_position(
    instrument: Instrument, places: tuple[int, ...], text: str
) -> None:
    """First finger, high second, third and fourth on violin and viola; 1 3 4 on the cello, 1 4 on the bass: common
    practice, no source."""
    shown = chart_of(f"{text} {text.split()[0].split('/')[0]}/1", instrument=instrument)
    tapes = {tape.place: tape.finger for tape in usual_tapes(instrument)}
    assert tuple(tapes) == places
    stopped = {d.placement.place: d.placement.finger for d in shown.stopped if d.placement.position == 1}
    assert {place: stopped[place] for place in places if place in stopped} == {
        place: finger for place, finger in tapes.items() if place in stopped
    }
    assert len(stopped.keys() & tapes.keys()) >= len(places) - 1


def test_tapes_are_painted_across_the_board_where_they_lie(qapp: QGuiApplication) -> None:
    shown = chart(dot(1, 2, 1), instrument=VIOLIN.in_size("3/4"))
    layout = lay_out(shown, AREA)
    pixels = painted(shown)
    column = pixels[:, round((layout.x(4) + layout.x(3)) / 2 * SCALE)]
    band = np.nonzero((column > 200) & (column < 240))[0]
    runs = np.split(band, np.nonzero(np.diff(band) > 1)[0] + 1)
    middles = [run.mean() / SCALE for run in runs if len(run) > 0.5 * SCALE]  # not the blurred edges
    nut = np.nonzero(column < 30)[0].max() / SCALE
    away = [(middle - nut) / layout.factor for middle in middles]
    assert away == pytest.approx([33.5, 63.3, 77.0, 102.1], abs=0.5)


def test_in_third_position_the_second_finger_stands_on_the_fourth_fingers_tape() -> None:
    """Third position on the A string: E is on the fourth tape, F sharp a whole step on, G close beside it: common
    practice, no source."""
    shown = chart_of("D5/1 E5 F#5 G5", "third")
    places = {d.placement.finger: d.placement.place for d in shown.stopped}
    tapes = {tape.finger: tape.place for tape in shown.tapes}
    assert places[2] == tapes[4]
    layout = lay_out(shown, AREA)
    (hand, place, _) = layout.hands[0]
    assert hand.name == "3rd"
    assert place == layout.y(5) == next(y for tape, y in layout.tapes if tape.finger == 3)


def test_the_lowest_string_is_on_the_left_and_the_nut_above(qapp: QGuiApplication) -> None:
    layout = lay_out(chart(dot(4, 2, 1), dot(1, 7, 4)), AREA)
    assert layout.x(4) < layout.x(3) < layout.x(2) < layout.x(1)
    low, high = layout.spots[1], layout.spots[0]
    assert (low.text, high.text) == ("1", "4")
    assert layout.nut < low.y < high.y


def test_open_strings_stand_above_the_nut() -> None:
    layout = lay_out(chart_of("G3/1 A3 D4 E4"), AREA)
    above = [spot for spot in layout.spots if spot.y < layout.nut]
    assert [(spot.x, spot.text) for spot in above] == [(layout.x(3), "0"), (layout.x(4), "0")]
    assert all(spot.box.y1 < layout.nut and spot.box.y0 > AREA.y0 for spot in above)


def test_low_and_high_fingers_are_told_by_a_word() -> None:
    """Second finger: low for C, high for C sharp on the A string, and nothing between: common practice, no source."""
    for text, word, leans in (("B4/1 C5 D5", "low", -1), ("B4/1 C#5 D5", "high", 1)):
        layout = lay_out(chart_of(text), AREA)
        second = next(spot for spot in layout.spots if spot.text == "2")
        assert (second.words, second.leans) == (word, leans)
        assert word in [label.text for label in layout.labels]


def test_low_and_high_fingers_differ_in_shape_without_their_words(qapp: QGuiApplication) -> None:
    """A low finger's dot points to the nut, a high one's to the bridge; the rows of ink on its string tell."""
    rows = {}
    for lie in (Lie.LOW, Lie.NORMAL, Lie.HIGH):
        shown = FingerboardChart(VIOLIN, (dot(2, 3, 2, lie),), ())
        layout = lay_out(shown, AREA)
        (spot,) = layout.spots
        # Beside the string, where the round dot is already narrow.
        beside = painted(shown)[:, round((spot.x - 0.35) * SCALE)]
        inked = np.nonzero(beside[: round((spot.y + 4) * SCALE)] < 128)[0]
        inked = inked[inked > (layout.nut + 0.5) * SCALE] / SCALE
        rows[lie] = inked.min() - spot.y, inked.max() - spot.y
    radius = lay_out(shown, AREA).radius
    assert rows[Lie.LOW][0] < rows[Lie.NORMAL][0] - 0.15 * radius
    assert rows[Lie.HIGH][1] > rows[Lie.NORMAL][1] + 0.15 * radius
    assert rows[Lie.LOW][1] == pytest.approx(rows[Lie.NORMAL][1], abs=0.1)
    assert rows[Lie.HIGH][0] == pytest.approx(rows[Lie.NORMAL][0], abs=0.1)


def test_the_cellos_extensions_point_where_the_finger_reaches() -> None:
    """Forward extension: fourth finger a semitone on. Backward: first finger a semitone back (audreywilliamsmusic.com,
    first-position chart)."""
    forward = dot(1, 6, 4, Lie.EXTENDED, hand=2.0)
    backward = dot(1, 1, 1, Lie.EXTENDED, hand=2.0)
    assert (forward.word, forward.leans) == ("ext.", 1)
    assert (backward.word, backward.leans) == ("ext.", -1)


def test_several_fingers_at_one_stop_share_a_dot() -> None:
    """D on the A string: third finger in first position, first finger in third."""
    layout = lay_out(chart(dot(2, 5, 3, name="D"), dot(2, 5, 1, name="D", hand=5.0)), AREA)
    (spot,) = layout.spots
    assert (spot.text, spot.names, spot.words) == ("1·3", "D", "")
    mixed = lay_out(chart(dot(2, 6, 3, Lie.HIGH, "D#"), dot(2, 6, 4, Lie.LOW, "Eb")), AREA).spots[0]
    assert (mixed.text, mixed.words, mixed.names, mixed.leans) == ("3·4", "high 3, low 4", "D#/Eb", 0)


def test_a_harmonic_is_only_touched(qapp: QGuiApplication) -> None:
    shown = chart_of("A4/1o", "whole-board", CELLO)
    (spot,) = lay_out(shown, AREA).spots
    assert (spot.words, spot.leans, spot.touches) == ("touch", 0, True)
    # Towards its points a lozenge is narrow where a round dot would still be wide.
    x, y = (round((value - share * spot.radius) * SCALE) for value, share in ((spot.x, 0.9), (spot.y, 0.8)))
    pixels = painted(shown)
    assert pixels[y, x - 3 : x + 8].min() > 200
    assert pixels[round(spot.y * SCALE), round((spot.x - 1.3 * spot.radius) * SCALE)] < 128


def test_high_passages_leave_out_the_board_before_them(qapp: QGuiApplication) -> None:
    shown = chart_of("E6/1 F#6 G6 A6 B6", "whole-board")
    layout = lay_out(shown, AREA)
    assert shown.window[0] > 7
    assert layout.top > layout.nut
    assert not layout.tapes
    real = [VIOLIN.distance_mm(place) for place in (12, 14)]
    assert layout.y(14) - layout.y(12) == pytest.approx((real[1] - real[0]) * layout.factor)
    column = painted(shown)[:, round(layout.x(4) * SCALE)]
    gap = column[round(layout.nut * SCALE) : round(layout.top * SCALE)]
    assert (gap > 240).any()  # the string is cut


def test_positions_are_named_where_the_first_finger_lies() -> None:
    """Cello: lower second position has its first finger three semitones up (thecellocompanion.info: upper first)."""
    lower_second = Placement(1, 2, 1, 3, Lie.NORMAL, hand=3.0)
    first = Placement(1, 1, 1, 2, Lie.NORMAL, hand=2.0)
    layout = lay_out(chart(Dot(lower_second, "C"), Dot(first, "B"), instrument=CELLO), Rect(0, 0, 58, 38))
    assert [(hand.name, place) for hand, place, _ in layout.hands] == [
        ("1st", layout.y(2)),
        ("lower 2nd", layout.y(3)),
    ]


def test_names_of_positions_close_together_keep_clear_of_each_other() -> None:
    high = [Dot(Placement(1, number, 1, place, Lie.NORMAL, hand=place)) for number, place in ((5, 9), (6, 10), (6, 11))]
    layout = lay_out(chart(*high, dot(1, 2, 1), instrument=CELLO), Rect(0, 0, 58, 38))
    named = [y for _, _, y in layout.hands]
    assert len(named) == 4
    assert all(below - above >= 2.4 for above, below in pairwise(named))


def test_dots_too_near_to_stand_in_a_row_give_way_to_both_sides() -> None:
    shown = chart(*(dot(1, place, 1) for place in range(1, 13)))
    layout = lay_out(shown, Rect(0, 0, 58, shown.wanted_height))
    assert {spot.side for spot in layout.spots} == {-1, 0, 1}
    for one, other in combinations(layout.spots, 2):
        assert hypot(one.x - other.x, one.y - other.y) >= 1.99 * layout.radius


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
def test_a_chart_without_notes_still_shows_the_board(qapp: QGuiApplication, instrument: Instrument) -> None:
    empty = chart(instrument=instrument)
    layout = lay_out(empty, AREA)
    assert not layout.spots
    assert len(layout.tapes) == len(usual_tapes(instrument))
    assert painted(empty).min() < 50


def test_all_is_painted_in_grey_inside_its_rectangle(qapp: QGuiApplication) -> None:
    shown = chart_of("G3/1 Ab3 B3 C4 D4 Eb4 F#4 G4 A4 Bb4 C#5 D5 E5 F5 G#5 A5 B5 C6", "whole-board")
    image = image_of(shown)
    colours = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.width(), 4)[..., :3]
    assert (colours.max(axis=2) == colours.min(axis=2)).all()
    rows, columns = np.nonzero(grey(image) < 250)
    assert AREA.x0 <= columns.min() / SCALE
    assert columns.max() / SCALE <= AREA.x1 + 0.5
    assert AREA.y0 - 0.1 <= rows.min() / SCALE
    assert rows.max() / SCALE <= AREA.y1 + 0.1


def corpus_charts() -> Iterator[FingerboardChart]:
    """Charts of four measures each, from all parts of a quartet."""
    for part in read_score(corpus_document("mozart/k155/movement1")).parts:
        instrument = guess_instrument(part.name)
        assert instrument is not None
        made = plan(part, "two-homes", instrument)
        for first in range(0, len(part.measures) - 3, 4):
            yield charted(made, range(first, first + 4))


def offences(layout: ChartLayout) -> Iterator[str]:
    """What is not as it should be: dots that overlap, words over dots, anything that leaves the board."""
    for one, other in combinations(layout.spots, 2):
        if hypot(one.x - other.x, one.y - other.y) < 1.8 * layout.radius:
            yield f"dots {one.text} and {other.text}"
    for label in layout.labels:
        if any(label.box.touches(spot.box) for spot in layout.spots):
            yield f"{label.text} over a dot"
        apart = Rect(label.box.x0 - GAP, label.box.y0, label.box.x1 + GAP, label.box.y1)
        if any(apart.touches(other.box) for other in layout.labels if other is not label):
            yield f"{label.text} over a word or next to it"
        strings = [layout.x(string.number) for string in layout.chart.instrument.strings]
        if "," not in label.text and any(label.box.x0 < x < label.box.x1 for x in strings):
            yield f"{label.text} over a string"
    left, right = layout.board
    for box in [spot.box for spot in layout.spots] + [label.box for label in layout.labels]:
        if box.x0 < left or box.x1 > right or box.y0 < layout.rect.y0 or box.y1 > layout.rect.y1:
            yield "over the edge"


def test_nothing_overlaps_on_any_chart_of_a_quartet() -> None:
    for shown in corpus_charts():
        for height in (shown.least_height, shown.wanted_height):
            assert not list(offences(lay_out(shown, Rect(0, 0, 58, height))))


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
def test_words_keep_clear_of_rings_and_of_the_next_string(qapp: QGuiApplication, instrument: Instrument) -> None:
    """Cello strings lie so near that the longest names are set smaller; between five strings some are left out."""
    dots = [
        Dot(dot(string.number, 1 + string.number, 2, lie).placement, f"+{string.number} F♯", string.number % 2 == 0)
        for string, lie in zip(instrument.strings, (Lie.HIGH, Lie.NORMAL, Lie.HIGH, Lie.NORMAL, Lie.HIGH), strict=False)
    ]
    shown = FingerboardChart(instrument, tuple(dots), usual_tapes(instrument), reach=9.0)
    layout = lay_out(shown, Rect(0, 0, 56, 62))
    assert not list(offences(layout))
    assert {spot.ringed for spot in layout.spots} == {True, False}
    for spot in layout.spots:
        edge = spot.half_width + RING * spot.ringed
        beside = [one for one in layout.labels if one.box.y0 < spot.y < one.box.y1]
        assert all(one.box.x1 <= spot.x - edge or one.box.x0 >= spot.x + edge for one in beside)
    named = [one for one in layout.labels if "F♯" in one.text]
    assert len(instrument.strings) > 4 or len(named) == len(dots)


def test_a_low_finger_and_the_next_note_are_two_words() -> None:
    """Low second fingers side by side: the word of one does not run into the name of the other."""
    shown = chart(*(dot(string, 3, 2, Lie.LOW, "C") for string in (1, 2, 3, 4)))
    for tenths in range(420, 660, 2):  # whatever the room between them
        assert not list(offences(lay_out(shown, Rect(0, 0, tenths / 10, 52))))


def test_nearly_every_low_or_high_finger_has_its_word_beside_it() -> None:
    said = missing = 0
    for shown in corpus_charts():
        layout = lay_out(shown, Rect(0, 0, 58, shown.wanted_height))
        words = [spot.words for spot in layout.spots if spot.words]
        labels = [label.text for label in layout.labels]
        said += len(words)
        missing += sum(max(0, words.count(word) - labels.count(word)) for word in set(words))
    assert said > 200
    assert missing <= 0.02 * said
