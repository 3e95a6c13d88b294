"""Colours: what stands out from what, what those who see fewer colours tell apart, and what the user chooses."""

from __future__ import annotations

import itertools
from types import SimpleNamespace

import numpy as np
import pytest
from PySide6.QtCore import QEvent, QSettings, QSize, Qt
from PySide6.QtGui import QColor, QIcon, QImage, QPainter, QPalette
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QWidget

from app.window.panels.mark_icons import Inks, MarkPictures
from app.window.style import look
from app.window.style.colouring import Colouring, Colours, Paper, WindowColours, desktop_shades
from app.window.style.colours_dialog import ColoursDialog
from app.window.style.outlined import OutlinedStyle
from app.window.style.shades import DARK, HIGH_CONTRAST, LIGHT, ROLES, palette_of
from app.window.widgets.labels import quiet_label
from engraving.styles import COMPUTED, OWN, PAPER

EVERY = {"light": LIGHT, "dark": DARK, "high contrast": HIGH_CONTRAST}
# WCAG 2.2, success criteria 1.4.3 (4.5 to 1) and 1.4.6 (7 to 1).
LEAST = {"light": 4.5, "dark": 4.5, "high contrast": 7.0}
# WCAG 2.2, success criterion 1.4.11.
LEAST_OF_SHAPES = 3.0
# Which ink is written on what, and what is drawn on what; the frame of a note under the pointer lies on both.
TEXTS = [
    *itertools.product(("ink", "quiet", "caution", "link"), ("ground", "field")),
    ("ink", "button"),
    ("on_chosen", "chosen"),
]
SHAPES = [
    *itertools.product(("line", "chosen"), ("ground", "field", "button")),
    ("own", "ground"),
    ("quiet", "ground"),
    ("caution", "field"),
]
# The notes of the engraved page.
MUSIC = QColor("#000000")


def linear(colour: QColor) -> np.ndarray:
    """Light of red, green and blue, from 0 to 1. WCAG 2.2, "relative luminance"."""
    values = np.array(colour.getRgbF()[:3])
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def contrast(one: QColor | str, other: QColor | str) -> float:
    """WCAG 2.2, "contrast ratio"."""
    light = sorted(float(linear(QColor(colour)) @ (0.2126, 0.7152, 0.0722)) for colour in (one, other))
    return (light[1] + 0.05) / (light[0] + 0.05)


def on_paper(colour: QColor, tint: QColor) -> QColor:
    """A colour on white, which it may let through, tinted as the paper is."""
    share = colour.alphaF()
    on_white = (a * share + 1 - share for a in colour.getRgbF()[:3])
    return QColor.fromRgbF(*(a * b for a, b in zip(on_white, tint.getRgbF()[:3], strict=True)))


# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for Simulation of Color Vision
# Deficiency", IEEE TVCG 15 (6), 2009, the matrices for severity 1.0.
VISIONS = {
    "usual": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}
# IEC 61966-2-1 (sRGB): to CIE XYZ under D65.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def lab(colour: QColor, vision: str) -> np.ndarray:
    """CIE 1976 L*a*b* of a colour as it is seen. CIE 15, "Colorimetry"."""
    seen = np.clip(VISIONS[vision] @ linear(colour), 0, 1)
    share = TO_XYZ @ seen / TO_XYZ.sum(axis=1)
    x, y, z = np.where(share > (6 / 29) ** 3, np.cbrt(share), share * (29 / 6) ** 2 / 3 + 4 / 29)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def apart(one: QColor, other: QColor, vision: str) -> float:
    """CIE 1976 difference of two colours as they are seen."""
    return float(np.linalg.norm(lab(one, vision) - lab(other, vision)))


def test_the_reckoning_is_that_of_the_sources():
    """WCAG 2.2, "contrast ratio": from 1 to 21; #767676 is known for 4.54 on white (from memory).

    CIE 15: white is 100, 0, 0. A matrix of Machado and others keeps greys: its rows sum to 1.
    """
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)
    for vision, matrix in VISIONS.items():
        assert matrix.sum(axis=1) == pytest.approx(1, abs=2e-6)
        assert lab(look.PAPER, vision) == pytest.approx([100, 0, 0], abs=0.05)


@pytest.mark.parametrize("name", EVERY)
def test_words_of_the_window_stand_out_from_their_ground(name):
    shades = EVERY[name]
    ratios = {pair: contrast(*(getattr(shades, one) for one in pair)) for pair in TEXTS}
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < LEAST[name]} == {}


@pytest.mark.parametrize("name", EVERY)
def test_lines_focus_and_pictures_stand_out_from_their_ground(name):
    shades = EVERY[name]
    ratios = {pair: contrast(*(getattr(shades, one) for one in pair)) for pair in SHAPES}
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < LEAST_OF_SHAPES} == {}


@pytest.mark.parametrize("name", EVERY)
def test_what_cannot_be_used_can_still_be_read(name):
    """WCAG 2.2, 1.4.3, asks nothing of it; this is Handframe's own measure."""
    shades = EVERY[name]
    assert min(contrast(shades.disabled, ground) for ground in (shades.ground, shades.field)) >= 3
    assert contrast(shades.disabled, shades.ground) < contrast(shades.ink, shades.ground)


@pytest.mark.parametrize("tint", [look.PAPER, look.CREAM], ids=["white", "cream"])
def test_what_is_said_on_paper_stands_out_from_it(tint):
    """Also where it is tinted, and within a passage that is selected."""
    paper, passage, label = (on_paper(QColor(one), tint) for one in (look.PAPER, look.PASSAGE, OWN.label))
    texts = [
        *itertools.product((look.INK, look.QUIET_INK, look.ACCENT, look.OWN_INK, look.PASSAGE_EDGE), (paper,)),
        *itertools.product((look.ACCENT, look.OWN_INK), (passage,)),
        (look.OWN_INK, label),
    ]
    ratios = {(ink.name(), ground.name()): contrast(on_paper(ink, tint), ground) for ink, ground in texts}
    assert {pair: ratio for pair, ratio in ratios.items() if ratio < LEAST["light"]} == {}
    for edge in (look.LIT_EDGE, look.PASSAGE_EDGE, look.ACCENT, look.OWN_INK, look.LINE):
        assert contrast(on_paper(edge, tint), paper) >= LEAST_OF_SHAPES, edge.name()
    for light in (look.LIT, look.SOUNDING, look.SELECTED_NOTE, look.PASSAGE):
        assert contrast(MUSIC, on_paper(light, tint)) >= LEAST["high contrast"], light.name()


@pytest.mark.parametrize("vision", VISIONS)
@pytest.mark.parametrize("tint", [look.PAPER, look.CREAM], ids=["white", "cream"])
def test_who_sees_fewer_colours_tells_the_same_things_apart(vision, tint):
    """By 20 and more on the scale of CIE 1976, on which some 2.3 are just noticed (from memory).

    The grounds of passages and lights are paler: their edges are what counts.
    """
    black, paper, accent, own, edge, sounding, lit = (
        on_paper(one, tint)
        for one in (MUSIC, look.PAPER, look.ACCENT, look.OWN_INK, look.PASSAGE_EDGE, look.SOUNDING, look.LIT)
    )
    pairs = {
        "fingers and notes": (accent, black),
        "own marks and notes": (own, black),
        "fingers and own marks": (accent, own),
        "what sounds and what is pointed at": (sounding, lit),
        "what sounds and paper": (sounding, paper),
        "edges of a passage and notes": (edge, black),
        "edges of a passage and paper": (edge, paper),
    }
    differences = {name: apart(one, other, vision) for name, (one, other) in pairs.items()}
    assert {name: difference for name, difference in differences.items() if difference < 20} == {}


def test_the_teachers_digits_differ_in_more_than_colour():
    assert (OWN.bold, COMPUTED.bold) == (True, False)
    assert OWN.label is not None
    assert COMPUTED.label is None
    assert PAPER.ink == "#000000"  # in print nothing hangs on a colour at all


# The palette


@pytest.mark.parametrize("name", EVERY)
def test_widgets_find_every_colour_in_the_palette(name):
    palette = palette_of(EVERY[name])
    for field, roles in ROLES.items():
        assert {palette.color(role).name() for role in roles} == {getattr(EVERY[name], field)}
    dimmed = palette.color(QPalette.ColorGroup.Disabled, QPalette.ColorRole.ButtonText)
    assert dimmed.name() == EVERY[name].disabled
    assert len([role for roles in ROLES.values() for role in roles]) == len({r for rs in ROLES.values() for r in rs})


def delete(colouring: Colouring) -> None:
    """At once: it would follow the desktop in the next test."""
    colouring.deleteLater()
    QApplication.sendPostedEvents(colouring, QEvent.Type.DeferredDelete)


@pytest.fixture
def colouring(qapp, tmp_path):
    """With settings of its own; the application looks as before afterwards."""
    style, palette = qapp.style().objectName(), QPalette(qapp.palette())
    made = Colouring(QSettings(str(tmp_path / "colours.ini"), QSettings.Format.IniFormat))
    yield made
    made.show(Colours())
    delete(made)
    qapp.setProperty("paper", None)
    qapp.setStyle(style or "Fusion")
    qapp.setPalette(palette)


def pixels(widget: QWidget) -> set[str]:
    QApplication.processEvents()
    image = widget.grab().toImage()
    return {image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())}


def test_labels_and_fields_change_at_once(qtbot, colouring):
    colouring.show(Colours(WindowColours.LIGHT))
    holder = QWidget()
    qtbot.addWidget(holder)
    label, field = quiet_label(look.CAUTION, holder), QLineEdit(holder)
    label.setText("█")
    field.move(0, 40)
    field.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    holder.show()
    assert {LIGHT.caution, LIGHT.ground} <= pixels(label)
    for which, shades in ((WindowColours.DARK, DARK), (WindowColours.HIGH_CONTRAST, HIGH_CONTRAST)):
        colouring.show(Colours(which))
        assert {shades.caution, shades.ground} <= pixels(label)
        assert LIGHT.caution not in pixels(label)
        assert {shades.field, shades.line} <= pixels(field)
    assert isinstance(QApplication.style(), OutlinedStyle)


def test_pictures_of_marks_are_drawn_in_the_inks_of_the_window(qapp):
    pictures = MarkPictures()
    inks = Inks(QColor(DARK.own), QColor(DARK.quiet))
    bare = pictures.icon("tenuto", inks).pixmap(QSize(48, 48), 1.0).toImage()
    shown = {bare.pixelColor(x, y).name() for x in range(48) for y in range(48) if bare.pixelColor(x, y).alpha() == 255}
    assert {DARK.own, DARK.quiet} <= shown
    on_paper = pictures.icon("tenuto", inks).pixmap(QSize(48, 48), 1.0, QIcon.Mode.Active).toImage()
    assert on_paper.pixelColor(24, 3) == look.PAPER
    assert OWN.ink in {on_paper.pixelColor(x, y).name() for x in range(48) for y in range(48)}


def test_cream_tints_white_and_leaves_black(qapp, colouring):
    image = QImage(2, 1, QImage.Format.Format_RGB32)
    image.setPixelColor(0, 0, QColor("#ffffff"))
    image.setPixelColor(1, 0, QColor("#000000"))

    def tinted():
        copy = QImage(image)
        painter = QPainter(copy)
        look.tint(painter, copy.rect())
        painter.end()
        return [copy.pixelColor(x, 0).name() for x in (0, 1)]

    assert tinted() == ["#ffffff", "#000000"]
    colouring.show(Colours(paper=Paper.CREAM))
    assert tinted() == [look.CREAM.name(), "#000000"]
    assert look.paper() == look.CREAM


# The choice


def test_a_desktop_that_asks_for_contrast_or_for_dark_gets_it():
    much, usual = Qt.ContrastPreference.HighContrast, Qt.ContrastPreference.NoPreference
    assert desktop_shades(Qt.ColorScheme.Unknown, usual) is LIGHT
    assert desktop_shades(Qt.ColorScheme.Light, usual) is LIGHT
    assert desktop_shades(Qt.ColorScheme.Dark, usual) is DARK
    assert desktop_shades(Qt.ColorScheme.Light, much) is HIGH_CONTRAST


def test_the_window_follows_the_desktop_only_where_it_is_asked_to(colouring, monkeypatch):
    schemes = [Qt.ColorScheme.Dark]
    shown = []

    def dressed(application, shades, paper):
        if paper == look.CREAM:  # another window that is still there follows too, on white paper
            shown.append(shades)

    monkeypatch.setattr(look, "dress", dressed)

    hints = SimpleNamespace(colorScheme=lambda: schemes[-1], setColorScheme=lambda scheme: None)
    real, colouring._hints = colouring._hints, hints
    colouring.show(Colours(WindowColours.DESKTOP, Paper.CREAM))
    schemes.append(Qt.ColorScheme.Light)
    real.colorSchemeChanged.emit(Qt.ColorScheme.Light)
    assert shown == [DARK, LIGHT]
    colouring.show(Colours(WindowColours.DARK, Paper.CREAM))
    real.colorSchemeChanged.emit(Qt.ColorScheme.Light)
    assert shown == [DARK, LIGHT, DARK]
    colouring._hints = real


def test_what_is_agreed_to_is_there_at_the_next_start(qtbot, colouring, tmp_path):
    dialog = ColoursDialog(colouring)
    qtbot.addWidget(dialog)
    dialog.windows[WindowColours.DARK].setChecked(True)
    dialog.papers[Paper.CREAM].setChecked(True)
    assert colouring.shown == Colours(WindowColours.DARK, Paper.CREAM)
    assert QApplication.palette().color(QPalette.ColorRole.Window).name() == DARK.ground
    dialog.accept()
    again = QSettings(str(tmp_path / "colours.ini"), QSettings.Format.IniFormat)
    assert Colouring(again, dialog).kept == Colours(WindowColours.DARK, Paper.CREAM)


def chosen(buttons):
    return [which for which, button in buttons.items() if button.isChecked()]


@pytest.mark.parametrize("window", WindowColours)
def test_the_dialog_begins_with_the_colours_that_are_shown(qtbot, colouring, window):
    colouring.show(Colours(window, Paper.CREAM))
    dialog = ColoursDialog(colouring)
    qtbot.addWidget(dialog)
    assert (chosen(dialog.windows), chosen(dialog.papers)) == ([window], [Paper.CREAM])


def test_the_paper_is_chosen_alone(qtbot, colouring):
    colouring.show(Colours(WindowColours.LIGHT))
    dialog = ColoursDialog(colouring)
    qtbot.addWidget(dialog)
    dialog.papers[Paper.CREAM].click()
    assert colouring.shown == dialog.colours == Colours(WindowColours.LIGHT, Paper.CREAM)
    assert (chosen(dialog.windows), chosen(dialog.papers)) == ([WindowColours.LIGHT], [Paper.CREAM])


def test_cancelling_brings_the_old_colours_back(qtbot, colouring, tmp_path):
    colouring.show(Colours(WindowColours.LIGHT))
    dialog = ColoursDialog(colouring)
    qtbot.addWidget(dialog)
    dialog.windows[WindowColours.HIGH_CONTRAST].setChecked(True)
    assert QApplication.palette().color(QPalette.ColorRole.Window).name() == HIGH_CONTRAST.ground
    dialog.reject()
    assert colouring.shown == Colours(WindowColours.LIGHT)
    assert QApplication.palette().color(QPalette.ColorRole.Window).name() == LIGHT.ground
    assert not (tmp_path / "colours.ini").exists()


def test_settings_that_nobody_knows_count_for_nothing(qapp, tmp_path):
    path = tmp_path / "colours.ini"
    path.write_text("[colours]\nwindow=plaid\npaper=cream\n")
    made = Colouring(QSettings(str(path), QSettings.Format.IniFormat))
    assert made.kept == Colours(WindowColours.DESKTOP, Paper.CREAM)
    delete(made)


def test_a_label_keeps_no_palette_of_its_own(qtbot):
    """Else another palette would not reach it."""
    holder = QWidget()
    qtbot.addWidget(holder)
    label = quiet_label(look.QUIET, holder)
    assert isinstance(label, QLabel)
    assert not label.testAttribute(Qt.WidgetAttribute.WA_SetPalette)
