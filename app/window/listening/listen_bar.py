"""The bar under the music: play and stop, tempo, click, count-in, loop, how loud the others are, writing to a file."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Qt, QTimer, Signal
from PySide6.QtGui import QShortcut
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QPushButton, QSlider, QSpinBox, QVBoxLayout, QWidget

from analysis.language import _
from app.job.listening import MIDI, WAV, Listening, instruments_of, write_sound
from app.job.paper.part_set import file_name
from app.sound.stream import Mix
from app.window import dialogs
from app.window.editing.desk import Desk
from app.window.keys import MUSIC, keys_of
from app.window.listening.player import Player
from app.window.style import look
from app.window.widgets.flow import FlowLayout, order_focus
from app.window.widgets.labels import quiet_label

_LEAST_SHARE, _MOST_SHARE = 25, 200
_OTHERS = 40
_LEAST_SLIDER = 60
_SETTLED_MS = 150


class ListenBar(QWidget):
    """Hidden until it is asked for. ``closed``: it is hidden again."""

    closed = Signal()

    def __init__(self, desk: Desk, player: Player, music: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk, self.player, self._music = desk, player, music
        self._factor = 1.0
        # A slider on its way stands still for a moment before the music follows.
        self._settled = QTimer(self)
        self._settled.setSingleShot(True)
        self._settled.setInterval(_SETTLED_MS)
        self.play_button = QPushButton(_("Play"), self)
        self.share_slider = QSlider(Qt.Orientation.Horizontal, self)
        self.share = QSpinBox(self)
        self.tempo = QSpinBox(self)
        self.click, self.count_in, self.loop = (
            QCheckBox(text, self) for text in (_("Click"), _("Count-in"), _("Loop"))
        )
        self.others = QSlider(Qt.Orientation.Horizontal, self)
        self.write_button = QPushButton(_("Write sound file…"), self)
        self.hide_button = QPushButton(_("Hide"), self)
        self.sentence = quiet_label(look.QUIET, self)
        self._name_fields()
        self._lay_out()
        self._connect()
        self._show_tempo()
        self.hide()

    def _name_fields(self) -> None:
        for field, least, most in (
            (self.share_slider, _LEAST_SHARE, _MOST_SHARE),
            (self.share, _LEAST_SHARE, _MOST_SHARE),
            (self.tempo, 1, 999),
            (self.others, 0, 100),
        ):
            field.setRange(least, most)
        self.share.setSuffix(" %")
        self.share_slider.setPageStep(10)
        for slider in (self.share_slider, self.others):
            slider.setMinimumWidth(_LEAST_SLIDER)
        self.others.setValue(_OTHERS)
        for spin in (self.share, self.tempo):
            spin.setKeyboardTracking(False)
        for widget, name, tip in (
            (
                self.play_button,
                _("Play or stop"),
                _("Play the selected measures, or from the selected note on (space bar)"),
            ),
            (self.share_slider, _("Tempo, share of the written tempo"), _("Slower or faster than written")),
            (self.share, _("Tempo, per cent of the written tempo"), _("Per cent of the written tempo")),
            (self.tempo, _("Tempo, quarter notes a minute"), _("Quarter notes a minute at the beginning")),
            (self.click, _("Click on the beats"), _("A click on every beat, stronger on the first")),
            (self.count_in, _("Count-in"), _("A measure of clicks before the music")),
            (self.loop, _("Loop"), _("The measures again and again")),
            (self.others, _("Loudness of the other parts"), _("How loud the other parts are beside this one")),
            (
                self.write_button,
                _("Write sound file"),
                _("What you hear as a WAV or MIDI file, to practise with at home"),
            ),
            (self.hide_button, _("Hide the bar"), _("Stop and hide this bar")),
        ):
            widget.setAccessibleName(name)
            widget.setToolTip(tip)

    def _lay_out(self) -> None:
        rows = QVBoxLayout(self)
        rows.setContentsMargins(10, 6, 10, 6)
        rows.setSpacing(4)
        for widgets in (
            (
                self.play_button,
                (_("Tempo"), self.share_slider),
                self.share,
                ("♩ =", self.tempo),
                self.hide_button,
            ),
            (self.click, self.count_in, self.loop, (_("Other parts"), self.others), self.write_button),
        ):
            row = FlowLayout()
            row.setSpacing(8)
            for one in widgets:
                row.addWidget(self._beside(*one) if isinstance(one, tuple) else one)
            rows.addLayout(row)
        rows.addWidget(self.sentence)
        self.sentence.hide()
        order_focus(self.play_button, self.share_slider, self.share, self.tempo, self.hide_button, self.click)
        order_focus(self.click, self.count_in, self.loop, self.others, self.write_button)

    def _beside(self, words: str, field: QWidget) -> QWidget:
        """A field with its label, which stay together where a row goes on in the next line."""
        both = QWidget(self)
        label = QLabel(words, both)
        label.setBuddy(field)
        row = QHBoxLayout(both)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(label)
        row.addWidget(field, 1 if isinstance(field, QSlider) else 0)
        return both

    def _connect(self) -> None:
        desk, player = self._desk, self.player
        desk.part_changed.connect(self._turn_over)
        for signal in (desk.passage_changed, desk.note_changed):
            signal.connect(self._show_tempo)
        player.changed.connect(self._show_playing)
        player.failed.connect(self._say)
        self.play_button.clicked.connect(self.play_or_stop)
        self.write_button.clicked.connect(self.ask_write)
        self.hide_button.clicked.connect(self.close_bar)
        self.share_slider.valueChanged.connect(lambda share: self._take_factor(share / 100))
        self.share.valueChanged.connect(lambda share: self._take_factor(share / 100))
        self.tempo.valueChanged.connect(self._take_tempo)
        self.loop.toggled.connect(self._play_on)
        self._settled.timeout.connect(self._play_on)
        for box in (self.click, self.count_in):
            box.toggled.connect(self._mix)
        self.others.valueChanged.connect(self._mix)
        space = QShortcut(keys_of(MUSIC, "play")[0], self._music)
        space.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        space.activated.connect(self.play_or_stop)

    # What is wanted

    @property
    def wanted(self) -> Listening | None:
        """What would be heard now: the selected measures, else all from the selected note's measure on."""
        score, part = self._desk.score, self._desk.part
        if score is None or part is None or not part.measures:
            return None
        note, last = self._desk.note, len(part.measures) - 1
        measures = self._desk.passage or (note.measure if note is not None else 0, last)
        return Listening(
            score.score, part.id, measures, instruments_of(score), self._factor, self.count_in.isChecked(), self._mixed
        )

    @property
    def _mixed(self) -> Mix:
        part = self._desk.part
        click = self.click.isChecked() or self.count_in.isChecked()
        return Mix(None if part is None else part.id, self.others.value() / 100, click)

    # What the buttons do

    def open_bar(self) -> None:
        """Show the bar, ready to play."""
        self.show()
        self._show_tempo()
        self.play_button.setFocus()
        wanted = self.wanted
        if wanted is not None:
            self.player.prepare(wanted)

    def close_bar(self) -> None:
        """Stop, and hide the bar."""
        self.player.stop()
        self.hide()
        self._music.setFocus()
        self.closed.emit()

    def toggle(self) -> None:
        """Show the bar, or hide it."""
        if self.isHidden():
            self.open_bar()
        else:
            self.close_bar()

    def play_or_stop(self) -> None:
        """Play what is wanted, showing the bar; or stop."""
        self.show()
        wanted = self.wanted
        if self.player.plays:
            self.player.stop()
        elif wanted is not None:
            self._say("")
            self.player.play(wanted, looped=self.loop.isChecked())

    def ask_write(self) -> None:
        """Ask for a WAV or MIDI file and write what would be heard to it."""
        score, part, wanted = self._desk.score, self._desk.part, self.wanted
        if score is None or part is None or wanted is None:
            return
        name = file_name(f"{score.score.title}, {part.name}, {part.span(wanted.measures)}")
        path = dialogs.ask_target(
            self, _("Write a sound file"), self._desk.folder, f"{name}.wav", dialogs.SOUND_FILES, *WAV, *MIDI
        )
        if path is None:
            return
        self._desk.tasks.run(
            _("Writing {name}").format(name=path.name),
            lambda tick: write_sound(path, wanted, tick),
            lambda done: self._desk.said.emit(_("Wrote {name}").format(name=path.name)),
            lambda error: self._desk.failed.emit(str(error)),
        )

    # What changes

    def _turn_over(self) -> None:
        self.player.stop()
        self._show_tempo()

    def _take_factor(self, factor: float) -> None:
        self._factor = factor
        self._show_tempo()
        self._settled.start()

    def _take_tempo(self, quarters: int) -> None:
        wanted = self.wanted
        if wanted is not None:
            self._take_factor(min(max(quarters / wanted.written_tempo, _LEAST_SHARE / 100), _MOST_SHARE / 100))

    def _play_on(self) -> None:
        """What plays goes on as it is wanted now."""
        playing, wanted = self.player.heard, self.wanted
        if playing is not None and wanted is not None:
            asked = replace(playing, factor=self._factor, mix=self._mixed)
            self.player.play(asked, looped=self.loop.isChecked(), goes_on=True)

    def _mix(self) -> None:
        self.player.mix(self._mixed)

    def _show_tempo(self) -> None:
        wanted = self.wanted
        share = round(100 * self._factor)
        with QSignalBlocker(self.share_slider), QSignalBlocker(self.share), QSignalBlocker(self.tempo):
            self.share_slider.setValue(share)
            self.share.setValue(share)
            if wanted is not None:
                self.tempo.setValue(round(wanted.written_tempo * self._factor))

    def _show_playing(self) -> None:
        self.play_button.setText(_("Stop") if self.player.plays else _("Play"))

    def _say(self, sentence: str) -> None:
        self.sentence.setText(sentence)
        self.sentence.setVisible(bool(sentence))
