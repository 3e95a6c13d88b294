"""The bar under the music, played through a device that the test itself asks for frames."""

from __future__ import annotations

import wave
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QSlider, QSpinBox
from pytestqt.qtbot import QtBot

from analysis.sounding.tones import Head
from app.sound.notes import RATE
from app.sound.speaker import NO_DEVICE, NoDeviceError
from app.window import dialogs
from app.window.listening.listen_bar import ListenBar
from app.window.listening.player import sounding_at
from app.window.main_window import MainWindow
from app.window.style import look
from tests.app.conftest import opened, settled
from tests.scores import full_score, part, score

SCALE = "!=60 D5/1 E5 F#5 G5 | A5/4 | D5/1 E5 F#5 G5"


class Drawn:
    """A device that is heard at once, and asks for frames when the test says so."""

    delay = 0.0

    def __init__(self) -> None:
        self.read: Callable[[int], np.ndarray] | None = None
        self.starts = 0

    def start(self, read: Callable[[int], np.ndarray]) -> None:
        self.read = read
        self.starts += 1

    def stop(self) -> None:
        self.read = None

    def hear(self, seconds: float) -> np.ndarray:
        assert self.read is not None
        return self.read(round(seconds * RATE)) / 32768


class Missing(Drawn):
    def start(self, read: Callable[[int], np.ndarray]) -> None:
        raise NoDeviceError(NO_DEVICE)


@pytest.fixture
def speaker(window: MainWindow) -> Drawn:
    made = Drawn()
    window.player.speaker = made
    return made


@pytest.fixture
def bar(qtbot: QtBot, window: MainWindow, speaker: Drawn, tmp_path: Path) -> ListenBar:
    path = tmp_path / "duo.musicxml"
    path.write_bytes(full_score(part("Violin I", "4/4", SCALE), part("Violin II", "4/4", "G4/4 | A4 | B4")))
    opened(qtbot, window, path)
    return window.listen_bar


def play(qtbot: QtBot, window: MainWindow) -> None:
    window.listen_bar.play_button.click()
    settled(qtbot, window)


def lit(window: MainWindow) -> list[str]:
    """The pitches of the notes that are lit."""
    window.player.look()
    return [window.desk.part.note(note_id).pitch.name for note_id in window.music.sounding]


def test_the_bar_is_hidden_until_it_is_asked_for(qtbot: QtBot, window: MainWindow, bar: ListenBar):
    assert bar.isHidden()
    window.actions_by_name["listen"].trigger()
    settled(qtbot, window)
    assert bar.isVisible()
    window.actions_by_name["listen"].trigger()
    assert bar.isHidden()


def test_playing_lights_the_note_that_sounds(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    play(qtbot, window)
    assert bar.play_button.text() == "Stop"
    heard = []
    for _ in range(5):
        speaker.hear(0.5)
        heard += lit(window)
        speaker.hear(0.5)
    assert heard == ["D5", "E5", "F#5", "G5", "A5"]


def test_the_light_is_seen_on_the_page_and_goes_out(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    first = window.desk.part.notes[0].id
    area = window.music.note_area(first).toRect().adjusted(-4, -4, 4, 4)

    def coloured() -> int:
        picture = window.music.viewport().grab(area).toImage()
        return sum(
            picture.pixelColor(x, y).hue() in range(170, 200) and picture.pixelColor(x, y).saturation() > 60
            for x in range(picture.width())
            for y in range(picture.height())
        )

    dark = coloured()
    play(qtbot, window)
    speaker.hear(0.5)
    assert lit(window) == ["D5"]
    assert look.SOUNDING.hue() in range(170, 200)
    assert coloured() > dark + 20
    bar.play_button.click()
    assert coloured() == dark


def test_what_is_heard_is_the_passage_selected(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    window.desk.select_passage((1, 1))
    play(qtbot, window)
    speaker.hear(2.0)
    assert lit(window) == ["A5"]
    speaker.hear(3.0)
    window.player.look()
    assert not window.player.plays
    assert bar.play_button.text() == "Play"
    assert speaker.read is None


def test_without_a_passage_it_begins_at_the_selected_note_s_measure(
    qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn
):
    window.desk.select_note(window.desk.part.notes[6].id)
    play(qtbot, window)
    speaker.hear(0.5)
    assert lit(window) == ["D5"]
    assert bar.wanted.measures == (2, 2)


def test_a_loop_goes_on_and_the_light_goes_back(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    window.desk.select_passage((0, 0))
    bar.loop.click()
    play(qtbot, window)
    heard = []
    for _ in range(9):
        speaker.hear(0.5)
        heard += lit(window)
        speaker.hear(0.5)
    assert heard == ["D5", "E5", "F#5", "G5", "D5", "E5", "F#5", "G5", "D5"]


def test_another_tempo_goes_on_from_the_same_place(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    play(qtbot, window)
    speaker.hear(1.5)
    assert lit(window) == ["E5"]
    bar.tempo.setValue(30)
    assert (bar.share.value(), bar.share_slider.value()) == (50, 50)
    qtbot.waitUntil(lambda: speaker.starts == 2, timeout=10_000)
    speaker.hear(0.5)
    assert lit(window) == ["E5"]
    speaker.hear(1.0)
    assert lit(window) == ["F#5"]


def test_slider_and_fields_show_one_tempo(window: MainWindow, bar: ListenBar):
    assert (bar.share.value(), bar.tempo.value()) == (100, 60)
    bar.share_slider.setValue(150)
    assert (bar.share.value(), bar.tempo.value()) == (150, 90)
    bar.share.setValue(80)
    assert (bar.share_slider.value(), bar.tempo.value()) == (80, 48)
    bar.tempo.setValue(600)
    assert (bar.share.value(), bar.tempo.value()) == (200, 120)


def test_others_and_click_are_heard_as_they_are_set(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    bar.others.setValue(0)
    window.desk.turn_to("P2")
    settled(qtbot, window)
    window.desk.select_passage((0, 0))
    play(qtbot, window)
    alone = speaker.hear(1.5)
    bar.others.setValue(100)
    both = speaker.hear(1.0)
    assert np.abs(both).mean() > 1.2 * np.abs(alone[RATE // 2 :]).mean()
    bar.others.setValue(0)
    bar.click.click()
    before, after = np.split(speaker.hear(1.0), 2)
    assert np.abs(after[:500]).max() > 1.5 * np.abs(before).max()


def test_a_count_in_comes_first_and_lights_nothing(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    bar.count_in.click()
    play(qtbot, window)
    speaker.hear(3.5)
    assert lit(window) == []
    speaker.hear(1.0)
    assert lit(window) == ["D5"]


def test_the_space_bar_plays_and_stops_over_the_music(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    window.activateWindow()
    window.music.setFocus()
    qtbot.waitUntil(window.music.hasFocus)
    qtbot.keyClick(window.music, Qt.Key.Key_Space)
    settled(qtbot, window)
    assert window.player.plays
    assert bar.isVisible()
    qtbot.keyClick(window.music, Qt.Key.Key_Space)
    assert not window.player.plays


def test_the_space_bar_over_a_box_sets_the_box(qtbot: QtBot, window: MainWindow, bar: ListenBar):
    bar.open_bar()
    settled(qtbot, window)
    bar.click.setFocus()
    qtbot.keyClick(bar.click, Qt.Key.Key_Space)
    assert bar.click.isChecked()
    assert not window.player.plays


def test_without_a_device_the_bar_says_so_and_files_are_written(
    qtbot: QtBot, window: MainWindow, bar: ListenBar, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    window.player.speaker = Missing()
    bar.open_bar()
    play(qtbot, window)
    assert bar.sentence.isVisible()
    assert bar.sentence.text() == NO_DEVICE
    assert not window.player.plays
    out = tmp_path / "home"
    monkeypatch.setattr(dialogs, "ask_save", lambda parent, title, name, files: (out, files.split(";;")[0]))
    bar.write_button.click()
    settled(qtbot, window)
    with wave.open(str(tmp_path / "home.wav")) as file:
        assert file.getnframes() >= 12 * RATE


def test_a_midi_file_is_written_where_it_is_chosen(
    qtbot: QtBot, window: MainWindow, bar: ListenBar, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    names = []

    def answer(parent: object, title: str, name: str, files: str) -> tuple[Path, str]:
        names.append(Path(name).name)
        return tmp_path / "home", files.split(";;")[1]

    monkeypatch.setattr(dialogs, "ask_save", answer)
    window.desk.select_passage((0, 1))
    window.actions_by_name["sound"].trigger()
    settled(qtbot, window)
    assert names == ["duo, Violin I, measures 1–2.wav"]
    assert (tmp_path / "home.mid").read_bytes()[:4] == b"MThd"


@pytest.mark.parametrize(
    ("typed", "kind", "endings", "written"),
    [
        ("mix.mid", "Sound (*.wav)", (".wav", ".mid"), "mix.mid"),
        ("mix.MID", "Sound (*.wav)", (".wav", ".mid"), "mix.MID"),
        ("mix", "MIDI (*.mid)", (".wav", ".mid"), "mix.mid"),
        ("mix", "", (".wav", ".mid"), "mix.wav"),
        ("duo, op. 3", "Sound (*.wav)", (".wav", ".mid"), "duo, op. 3.wav"),
        ("chart.svg", "Picture in dots (*.png)", (".png", ".svg"), "chart.svg"),
        ("score.mxl", "MusicXML (*.musicxml)", (".musicxml", ".mxl"), "score.mxl"),
        ("score.pdf", "Compressed MusicXML (*.mxl)", (".musicxml", ".mxl"), "score.pdf.mxl"),
    ],
)
def test_an_ending_that_is_typed_decides(typed: str, kind: str, endings: tuple[str, ...], written: str):
    assert dialogs.path_to_write((Path("home") / typed, kind), *endings) == Path("home") / written


def test_a_midi_file_is_written_where_its_ending_is_typed(
    qtbot: QtBot, window: MainWindow, bar: ListenBar, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (tmp_path / "mix.mid", "Sound (*.wav)"))
    window.desk.select_passage((0, 1))
    bar.write_button.click()
    settled(qtbot, window)
    assert (tmp_path / "mix.mid").read_bytes()[:4] == b"MThd"


def test_a_file_that_cannot_be_written_is_told(
    qtbot: QtBot, window: MainWindow, bar: ListenBar, tmp_path: Path, told: list[str], monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (tmp_path / "no" / "x.wav", "Sound (*.wav)"))
    bar.write_button.click()
    settled(qtbot, window)
    assert len(told) == 1
    assert "cannot be written" in told[0]


def test_another_part_stops_what_plays(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    play(qtbot, window)
    speaker.hear(0.5)
    assert lit(window)
    window.desk.turn_to("P2")
    assert not window.player.plays
    assert not window.music.sounding


def test_stopping_before_it_is_ready_keeps_silent(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    bar.play_button.click()
    assert bar.play_button.text() == "Stop"
    bar.play_button.click()
    settled(qtbot, window)
    assert (speaker.starts, bar.play_button.text()) == (0, "Play")


def test_what_was_prepared_begins_at_once(qtbot: QtBot, window: MainWindow, bar: ListenBar, speaker: Drawn):
    bar.open_bar()
    settled(qtbot, window)
    bar.play_button.click()
    assert speaker.starts == 1


def test_the_music_follows_what_is_heard(qtbot: QtBot, window: MainWindow, speaker: Drawn, tmp_path: Path):
    path = tmp_path / "long.musicxml"
    path.write_bytes(
        score("Violin", "4/4", " | ".join(["!=240 D5/1 E5 F#5 G5", *["A5/0.5 G5 F#5 E5 D5 E5 F#5 G5"] * 79]))
    )
    opened(qtbot, window, path)
    window.resize(1000, 500)
    play(qtbot, window)
    bar, places = window.music.verticalScrollBar(), []
    for _ in range(16):
        speaker.hear(4.9)
        assert lit(window)
        places.append(bar.value())
        view = window.music.viewport().rect()
        assert view.contains(window.music.note_area(window.music.sounding[0]).toRect())
    assert places == sorted(places)
    assert places[0] == 0 < places[-1]
    # It stands still while the notes are in view.
    assert any(a == b for a, b in pairwise(places))


def test_everything_in_the_bar_has_a_name_and_is_reached_by_the_keyboard(window: MainWindow, bar: ListenBar):
    fields = [
        widget
        for kind in (QAbstractButton, QSlider, QSpinBox)
        for widget in bar.findChildren(kind)
        if not widget.objectName().startswith("qt_")
    ]
    assert len(fields) >= 10
    assert all(field.accessibleName() and field.toolTip() for field in fields)
    assert all(field.focusPolicy() & Qt.FocusPolicy.TabFocus for field in fields)


def test_notes_that_overlap_sound_together():
    heads = (Head("a", 0, 4), Head("b", 1, 2), Head("c", 2, 3))
    assert [sounding_at(heads, second) for second in (0.5, 1.5, 2.0, 3.5, 4.0)] == [
        ("a",), ("a", "b"), ("a", "c"), ("a",), (),
    ]  # fmt: skip
