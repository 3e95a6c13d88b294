"""The fingerboard beside the music: what is shown of the selected note, and how another place is chosen there."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QHelpEvent, qGray
from PySide6.QtWidgets import QApplication, QToolTip

from analysis.fingering.rules.files import preset
from analysis.instruments import BASS, CELLO, INSTRUMENTS, VIOLA, VIOLIN
from app.job.fingerboard.stops import near, offer_words, place_words, places
from tests.analysis.lines import plan
from tests.app.conftest import opened, settled
from tests.scores import score
from tests.waiting import wait

# E5 can be had on three strings of a violin in first and third position; the open A stands before it, a chord after.
LINE = "D5/1@a A4@b E5@c F#5@d | G5@e E5@f D5@g [D4@h B4@i]/1"


@pytest.fixture
def board(qtbot, window, tmp_path):
    """The window on a part of one line, the fingerboard in front and its third note selected."""
    path = tmp_path / "line.musicxml"
    path.write_bytes(score("Violin", "4/4", LINE, key=2))
    opened(qtbot, window, path)
    window.lists.setCurrentWidget(window.fingerboard)
    window.desk.select_note("c")
    wait(50)  # the sentences over the ways come a moment later, and take their room
    return window


def neck(window):
    return window.fingerboard.neck


def place_on(window, string):
    return next(place for place in neck(window).places if place.where[0] == string)


def point(window, string):
    return neck(window).spot_of(place_on(window, string)).toPoint()


def choice(window, note_id="c"):
    return window.desk.plan.choice(note_id)


def test_the_fingerboard_is_the_third_list_beside_the_music(board):
    assert [board.lists.tabText(tab) for tab in range(board.lists.count())] == ["Watch-list", "Marks", "Fingerboard"]
    assert neck(board).accessibleName() == "Fingerboard"


def test_every_way_of_the_panel_beside_it_lies_on_the_board(board):
    ways = {way.placement for way in board.ways.model.ways}
    assert ways == {way.placement for place in neck(board).places for way in place.ways}
    assert [place.where for place in neck(board).places] == [(1, 0), (2, 7), (3, 14)]


def test_a_click_on_a_place_chooses_it_as_the_list_of_ways_does(qtbot, board):
    assert choice(board).string == 2
    offered = place_on(board, 1).offered
    qtbot.mouseClick(neck(board), Qt.MouseButton.LeftButton, pos=point(board, 1))
    settled(qtbot, board)
    assert choice(board).as_played == offered.as_played == (1, None, 0)
    assert place_on(board, 1).is_chosen
    assert not place_on(board, 2).is_chosen
    assert board.desk.history.undoText().startswith("E5: ")
    clicked = board.desk.plan.locks["c"]
    board.desk.history.undo()
    board.notes.choose(next(way for way in board.desk.plan.ways("c") if way.placement == offered))
    assert board.desk.plan.locks["c"] == clicked


def test_a_place_chosen_again_gives_its_next_way_and_comes_round(qtbot, board):
    seen = []
    for _ in range(len(place_on(board, 2).ways) + 1):
        qtbot.mouseClick(neck(board), Qt.MouseButton.LeftButton, pos=point(board, 2))
        settled(qtbot, board)
        seen.append(choice(board).as_played)
    assert len(set(seen)) == len(place_on(board, 2).ways) >= 2
    assert seen[0] == seen[-1]


def test_a_click_beside_every_place_and_with_the_other_button_chooses_nothing(qtbot, board):
    qtbot.mouseClick(neck(board), Qt.MouseButton.LeftButton, pos=QPoint(2, neck(board).height() - 2))
    qtbot.mouseClick(neck(board), Qt.MouseButton.RightButton, pos=point(board, 2))
    assert not board.desk.plan.locks


def test_a_place_outside_the_house_rules_can_be_asked_for(qtbot, board):
    outside = place_on(board, 3)
    assert not outside.ways
    assert "outside the house rules" in place_words(board.desk.plan, outside)
    qtbot.mouseClick(neck(board), Qt.MouseButton.LeftButton, pos=point(board, 3))
    settled(qtbot, board)
    assert choice(board).as_played == outside.offered.as_played


def test_arrows_go_from_place_to_place_and_return_chooses(qtbot, board):
    start = neck(board).places[neck(board).at].where
    assert start[0] == choice(board).string
    qtbot.keyClick(neck(board), Qt.Key.Key_Right)
    qtbot.keyClick(neck(board), Qt.Key.Key_Right)
    assert neck(board).places[neck(board).at].where == (1, 0)
    qtbot.keyClick(neck(board), Qt.Key.Key_Left)
    assert neck(board).places[neck(board).at].where == (2, 7)
    qtbot.keyClick(neck(board), Qt.Key.Key_Down)
    assert neck(board).places[neck(board).at].where == (3, 14)
    qtbot.keyClick(neck(board), Qt.Key.Key_Up)
    assert neck(board).accessibleDescription() == board.fingerboard.words
    offered = place_on(board, 2).offered
    qtbot.keyClick(neck(board), Qt.Key.Key_Return)
    settled(qtbot, board)
    assert choice(board).as_played == offered.as_played


def tip(window, at):
    QApplication.sendEvent(neck(window), QHelpEvent(QHelpEvent.Type.ToolTip, at, neck(window).mapToGlobal(at)))


def test_the_tool_tip_says_the_way_and_its_extra_effort(board, monkeypatch):
    shown = []
    monkeypatch.setattr(QToolTip, "showText", lambda at, text, widget: shown.append(text))
    (way,) = place_on(board, 1).ways
    assert way.extra > 0
    tip(board, point(board, 1))
    tip(board, point(board, 2))
    tip(board, QPoint(2, neck(board).height() - 2))
    best, *others = shown[1].splitlines()
    assert (shown[0], best, shown[2]) == (f"Open E string: {way.extra:+.1f}", "4 on A, 1st position: chosen", "")
    assert len(others) == len(place_on(board, 2).ways) - 1 > 0


def test_the_pointer_brings_a_place_in_hand_and_says_it(qtbot, board):
    assert board.fingerboard.words == offer_words(board.desk.plan, place_on(board, 2))
    qtbot.mouseMove(neck(board), point(board, 1))
    assert board.fingerboard.words == offer_words(board.desk.plan, place_on(board, 1))


def looks(window):
    return {shown.dot.where: shown.style for shown in neck(window)._shown}


def test_notes_before_and_after_differ_from_the_selected_one_and_each_other_without_colour(board):
    styles, here = looks(board), choice(board)
    before, after = choice(board, "a"), choice(board, "e")
    style = {
        "this": styles[here.string, here.place],
        "before": styles[before.string, before.place],
        "after": styles[after.string, after.place],
        "other": next(styles[place.where] for place in neck(board).places if not place.is_chosen),
    }

    this, grey, white = (qGray(QColor(style[name].fill).rgb()) for name in ("this", "before", "after"))
    assert this < 120 < 200 < grey < 230 < white
    assert style["before"].fill == style["before"].edge  # no edge
    assert style["after"].fill != style["after"].edge
    assert not style["after"].dotted
    assert style["other"].dotted


def test_a_stop_that_comes_before_and_after_is_grey_with_a_ring(board):
    made = plan("F#4/1 G4 F#4 G4 D5", preset("first"))
    neck(board).show_note(made, "n2")
    (place,) = [place for place in neck(board).places if place.is_chosen]
    assert looks(board)[place.where].ring  # it comes again two notes on
    around = looks(board)[made.choice("n1").string, made.choice("n1").place]
    assert (around.fill, bool(around.ring)) == (around.edge, True)
    assert not looks(board)[made.choice("n5").string, made.choice("n5").place].ring


def test_the_neighbours_are_those_of_the_voice_and_the_rest_of_the_chord():
    made = plan("D4/1 [G3 E4 B4] A4 G4 F#4 E4 D4")
    assert [(one.steps, one.name) for one in near(made, "n3", 2)] == [
        (-1, "D"), (0, "B"), (0, "G"), (1, "A"), (2, "G"),
    ]  # fmt: skip
    assert near(made, "nowhere") == ()
    assert [one.steps for one in near(plan("D4/1 E4 F#4"), "n1")] == [1, 2]


@pytest.mark.parametrize(
    ("instrument", "music"),
    [(VIOLIN, "A6/1 B6 E5"), (VIOLA, "A5/1 D5 G4"), (CELLO, "C5/1 D5 E5"), (BASS, "C4/1 D4 E4")],
)
def test_every_place_is_where_the_string_gives_the_note(instrument, music):
    """A stop of n semitones sounds n semitones above its open string (equal temperament; acoustics of strings)."""
    made = plan(music, preset("whole-board"), instrument=instrument)
    for note in made.part.notes:
        found = places(made, note.id)
        assert len({place.where[0] for place in found}) == len(found)
        for place in found:
            string, stop = place.where
            assert instrument.string(string).pitch.midi + stop == note.pitch.midi
        (chosen,) = [place for place in found if place.is_chosen]
        assert chosen.shown == made.choice(note.id) or chosen.shown.is_open


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
def test_on_every_instrument_in_every_size_its_places_lie_apart_on_the_board(qtbot, board, instrument):
    for size in instrument.sizes:
        rules = preset("whole-board").with_table((("size", size),))
        made = plan("D4/1 E4 F#4 G4", rules, instrument=instrument)
        neck(board).show_note(made, "n2")
        middles = [neck(board).spot_of(place) for place in neck(board).places]
        assert middles
        assert all(neck(board).rect().contains(middle.toPoint()) for middle in middles)
        for number, middle in enumerate(middles):
            assert neck(board)._place_at(QPointF(middle)) == number


def test_a_small_instrument_is_shown_to_its_own_scale(board):
    """Distances along the string go with its length: 1 - 2^(-n/12) of it (equal temperament)."""
    made = plan("G4/1 A4 B4 C5", preset("third"))
    neck(board).show_note(made, "n1")
    layout = neck(board)._layout
    spots = [layout.y(place) - layout.nut for place in (2, 5, 7, 12)]
    assert [one / spots[-1] for one in spots] == pytest.approx([2 * (1 - 2 ** (-n / 12)) for n in (2, 5, 7, 12)])


def test_the_board_lies_still_from_note_to_note(board):
    scales = set()
    for note_id in "abdeg":
        board.desk.select_note(note_id)
        layout = neck(board)._layout
        scales.add((round(layout.factor, 9), layout.nut, neck(board).height()))
    assert len(scales) == 1


def test_without_a_note_the_bare_board_is_shown_and_what_to_do_is_said(board):
    board.desk.select_note(None)
    assert neck(board).places == ()
    assert board.fingerboard.words == "Select a note to see where it is stopped."
    assert neck(board)._layout is not None
    assert not neck(board).grab().isNull()


def test_a_note_that_nothing_plays_says_why(qtbot, board):
    made = plan("C3/1 D4")
    neck(board).show_note(made, "n1")
    assert neck(board).places == ()
    assert not neck(board).grab().isNull()


def test_it_catches_up_when_it_comes_in_front(board):
    board.lists.setCurrentWidget(board.marks_panel)
    board.desk.select_note("g")
    board.lists.setCurrentWidget(board.fingerboard)
    assert {place.where for place in neck(board).places} >= {(2, 5), (3, 12)}
