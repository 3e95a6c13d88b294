"""The fingerboard chart as a picture: what falls where on it, how large it is, and how it is asked for."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from PySide6.QtGui import QImage, QPainter
from PySide6.QtSvg import QSvgRenderer
from scipy.ndimage import binary_dilation, find_objects, label

from analysis.fingering.rules.files import preset
from app.errors import AppError
from app.job.fingerboard.chart import CHART_WIDTH_MM, fingerboard_chart, write_chart
from app.main import main
from app.window import dialogs
from engraving.errors import EngravingError
from engraving.fingerboard import LEAST_DOT, MOST_DOT
from tests.analysis.lines import plan
from tests.app.conftest import opened, settled
from tests.app.programs import without_display
from tests.engraving.pages import grey
from tests.scores import full_score, part, score

SVG = "{http://www.w3.org/2000/svg}"
DPI = 300
SCALE = DPI / 25.4
# First, third and fourth finger on the E string in measures of four quarter notes; then the open D, a rest, a note.
TUNE = "F#5/1 A5 B5 r D4 r r r r r r r D4"
STOPS = (2, 5, 7)


def made():
    return plan(TUNE, preset("first"))


def size_mm(path: Path) -> tuple[float, float]:
    root = etree.parse(path).getroot()
    return tuple(float(root.get(side).removesuffix("mm")) for side in ("width", "height"))


def dots(path: Path, scale: float = 1.0) -> list[tuple[float, float]]:
    """The middles of the white rounds with a black edge, from the top, in mm: the dots of the fingers."""
    light, _ = label(grey(QImage(str(path))) > 200)
    found = []
    for rows, columns in find_objects(light):
        height, width = ((one.stop - one.start) / SCALE / scale for one in (rows, columns))
        # Within the edge of a dot; its digit lies in it.
        if LEAST_DOT - 0.6 < height < MOST_DOT and abs(height - width) < 0.3:
            found.append(((columns.start + columns.stop) / 2 / SCALE, (rows.start + rows.stop) / 2 / SCALE))
    return sorted(found, key=lambda at: at[1])


def test_the_fingers_lie_on_the_picture_where_the_notes_lie_on_the_string(qapp, tmp_path):
    """Equal temperament: a stop of n semitones lies 1 - 2^(-n/12) of the string from the nut."""
    write_chart(tmp_path / "x.png", made(), (0, 0), dpi=DPI)
    (x1, first), (x2, second), (x3, third) = dots(tmp_path / "x.png")
    assert x1 == pytest.approx(x2, abs=0.1)
    assert x1 == pytest.approx(x3, abs=0.1)
    away = [1 - 2 ** (-n / 12) for n in STOPS]
    assert (third - first) / (second - first) == pytest.approx((away[2] - away[0]) / (away[1] - away[0]), abs=0.02)


def test_the_measures_that_are_asked_for_are_shown(qapp, tmp_path):
    for name, measures, count in (("a", (0, 0), 3), ("b", (1, 1), 1), ("c", (0, 2), 4)):
        path = tmp_path / f"{name}.png"
        write_chart(path, made(), measures, dpi=DPI)
        assert len(dots(path)) == count


def test_both_kinds_of_picture_show_the_same(qapp, tmp_path):
    for suffix in ("png", "svg"):
        write_chart(tmp_path / f"x.{suffix}", made(), (0, 1), dpi=DPI)
    dotted = QImage(str(tmp_path / "x.png"))
    renderer = QSvgRenderer(str(tmp_path / "x.svg"))
    drawn = QImage(dotted.size(), QImage.Format.Format_RGB32)
    painter = QPainter(drawn)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    renderer.render(painter)
    painter.end()
    black = grey(dotted) < 100
    assert black.mean() > 0.01
    for one, other in ((black, grey(drawn) < 100), (grey(drawn) < 100, black)):
        near = binary_dilation(other, iterations=2)
        assert (one & ~near).sum() < 20


def test_the_picture_is_as_wide_as_on_the_practice_sheet_with_a_little_white_around(qapp, tmp_path):
    write_chart(tmp_path / "x.svg", made(), (0, 1))
    write_chart(tmp_path / "x.png", made(), (0, 1), dpi=DPI)
    width, height = size_mm(tmp_path / "x.svg")
    assert width == pytest.approx(CHART_WIDTH_MM + 3, abs=0.01)
    assert height == pytest.approx(fingerboard_chart(made(), (0, 1)).wanted_height + 3, abs=0.01)
    image = QImage(str(tmp_path / "x.png"))
    assert (image.width(), image.height()) == (round(width * SCALE), round(height * SCALE))
    ink = grey(image) < 200
    edge = round(1.0 * SCALE)
    assert not ink[:edge].any()
    assert not ink[:, :edge].any()
    assert not ink[:, -edge:].any()
    rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
    assert rows.max() - rows.min() > 0.9 * image.height()
    assert columns.max() - columns.min() > 0.9 * image.width()


@pytest.mark.parametrize("factor", [0.75, 3.0])
def test_another_height_enlarges_or_reduces_all_of_it(qapp, tmp_path, factor):
    write_chart(tmp_path / "x.png", made(), (0, 0), dpi=DPI)
    natural = QImage(str(tmp_path / "x.png")).height() / SCALE
    write_chart(tmp_path / "y.png", made(), (0, 0), height_mm=factor * natural, dpi=DPI)
    image = QImage(str(tmp_path / "y.png"))
    assert image.height() / SCALE == pytest.approx(factor * natural, abs=0.1)
    assert image.width() / SCALE == pytest.approx(factor * (CHART_WIDTH_MM + 3), abs=0.3)
    for (x, y), (larger_x, larger_y) in zip(dots(tmp_path / "x.png"), dots(tmp_path / "y.png", factor), strict=True):
        assert (larger_x, larger_y) == pytest.approx((factor * x, factor * y), abs=0.3)


def test_the_svg_says_what_it_shows_and_needs_no_fonts(qapp, tmp_path):
    write_chart(tmp_path / "x.svg", made(), (0, 1))
    root = etree.parse(tmp_path / "x.svg").getroot()
    assert root.findtext(f"{SVG}title").startswith("Fingerboard, ")
    assert root.findtext(f"{SVG}title").endswith("measures 1–2")
    assert {etree.QName(one).localname for one in root} == {"title", "rect", "path"}


@pytest.mark.parametrize(
    ("name", "measures", "wanted", "sentence"),
    [
        ("x.gif", (0, 0), {}, r"^x\.gif: a picture ends in \.png or \.svg$"),
        ("x.png", (2, 2), {}, r"^x\.png: in measure 3 .* has no notes with fingers$"),
        ("x.png", (0, 0), {"height_mm": 2.0}, r"^x\.png: a chart of the fingerboard is 30 to 600 mm high, not 2 mm$"),
        ("x.svg", (0, 0), {"height_mm": float("nan")}, r"^x\.svg: .* 30 to 600 mm high, not nan mm$"),
        ("x.png", (0, 0), {"dpi": 5}, r"^x\.png: a picture has 20 to 1200 dots an inch, not 5$"),
        ("x.png", (0, 0), {"height_mm": 600.0, "dpi": 1200}, r"^x\.png: .* has room for at most \d+ dots an inch"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(qapp, tmp_path, name, measures, wanted, sentence):
    with pytest.raises((AppError, EngravingError), match=sentence):
        write_chart(tmp_path / name, made(), measures, **wanted)
    assert not list(tmp_path.iterdir())


# The command


@pytest.fixture
def duo(tmp_path: Path) -> Path:
    path = tmp_path / "duo.musicxml"
    line = "D5/1 E5 F#5 G5 | A5 G5 F#5 E5"
    path.write_bytes(
        full_score(part("Violin", "4/4", line, key=2), part("Viola", "4/4", line.replace("5", "4"), key=2))
    )
    return path


def test_a_chart_is_asked_for_beside_other_files_or_alone(qapp, duo, tmp_path, capsys):
    chart, table = tmp_path / "chart.svg", tmp_path / "x.csv"
    assert main(["finger", str(duo), "--part", "1", "--measures", "2", "--chart", str(chart), "-o", str(table)]) == 0
    assert capsys.readouterr().out == "Wrote chart.svg\n"
    assert table.exists()
    assert etree.parse(chart).findtext(f"{SVG}title") == "Fingerboard, Violin, measure 2"
    assert main(["finger", str(duo), "--part", "2", "--chart", str(chart)]) == 0
    assert capsys.readouterr().out == "Wrote chart.svg\n"
    assert etree.parse(chart).findtext(f"{SVG}title") == "Fingerboard, Viola, measures 1–2"


def test_of_several_parts_each_has_its_chart(qapp, duo, tmp_path, capsys):
    assert main(["finger", str(duo), "--chart", str(tmp_path / "chart.svg")]) == 0
    assert capsys.readouterr().out == "Wrote chart-1.svg, chart-2.svg\n"
    assert not (tmp_path / "chart.svg").exists()


def test_the_resolution_of_a_chart_can_be_chosen(qapp, duo, tmp_path):
    words = ["finger", str(duo), "--part", "1", "--chart", str(tmp_path / "x.png")]
    assert main(words) == 0
    fine = QImage(str(tmp_path / "x.png"))
    assert main([*words, "--dpi", "100"]) == 0
    coarse = QImage(str(tmp_path / "x.png"))
    assert fine.width() == pytest.approx(3 * coarse.width(), abs=2)
    assert coarse.dotsPerMeterX() == 3937  # 100 dots an inch


def test_another_kind_of_file_is_refused_in_one_sentence_before_anything_is_written(qapp, duo, tmp_path, capsys):
    words = ["finger", str(duo), "-o", str(tmp_path / "x.csv"), "--chart", "x.pdf"]
    assert main(words) == 2
    assert capsys.readouterr().err == "handframe: x.pdf: a picture ends in .png or .svg\n"
    assert not (tmp_path / "x.csv").exists()


def test_a_chart_is_painted_without_a_display(duo, tmp_path):
    run = without_display("finger", str(duo), "--part", "1", "--chart", str(tmp_path / "a.png"))
    assert (run.returncode, run.stderr, run.stdout) == (0, "", "Wrote a.png\n")


# The window


@pytest.mark.parametrize(("kind", "written"), [("PNG (*.png)", "x.png"), ("SVG (*.svg)", "x.svg")])
def test_the_window_writes_the_chart_of_the_selected_measures(
    qtbot, window, mini, tmp_path, monkeypatch, kind, written
):
    asked = []
    monkeypatch.setattr(dialogs, "ask_save", lambda *said: asked.append(Path(said[2]).name) or (tmp_path / "x", kind))
    opened(qtbot, window, mini)
    action = window.actions_by_name["chart"]
    assert not action.isEnabled()
    window.desk.select_passage((1, 2))
    assert action.isEnabled()
    action.trigger()
    settled(qtbot, window)
    assert asked == ["mini, Violin, measures 2–3, fingerboard.png"]
    assert window.statusBar().currentMessage() == f"Wrote {written}"
    if written == "x.svg":
        title = etree.parse(tmp_path / written).findtext(f"{SVG}title")
        assert title == "Fingerboard, Violin, measures 2–3"
    else:
        assert QImage(str(tmp_path / written)).height() > 400


def test_a_passage_without_fingers_is_told(qtbot, window, told, tmp_path, monkeypatch):
    monkeypatch.setattr(dialogs, "ask_save", lambda *said: (tmp_path / "x.png", "PNG (*.png)"))
    path = tmp_path / "rests.musicxml"
    path.write_bytes(score("Violin", "4/4", "D5/1 E5 F5 G5 | r/4"))
    opened(qtbot, window, path)
    window.desk.select_passage((1, 1))
    window.actions_by_name["chart"].trigger()
    settled(qtbot, window)
    assert told == ["x.png: in measure 2 Violin has no notes with fingers"]
    assert not (tmp_path / "x.png").exists()
