"""``handframe finger`` as it is typed to write pictures and MEI."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from lxml import etree
from PySide6.QtGui import QGuiApplication, QImage

from app.errors import AppError
from app.job.files.opening import open_any
from app.job.paper.pictures import numbered, passage_picture
from app.main import main
from engraving.document import open_document
from engraving.engraver import engrave
from engraving.layout import Layout
from tests.app.programs import without_display
from tests.scores import full_score, part, score

SVG, MEI = "{http://www.w3.org/2000/svg}", "{http://www.music-encoding.org/ns/mei}"


@pytest.fixture
def duo(tmp_path: Path) -> Path:
    path = tmp_path / "duo.musicxml"
    line = " | ".join(["D5/1 E5 F#5 G5"] * 12)
    path.write_bytes(
        full_score(part("Violin", "4/4", line, key=1), part("Viola", "4/4", line.replace("5", "4"), key=1))
    )
    return path


def size_mm(path: Path) -> tuple[float, float]:
    root = etree.parse(path).getroot()
    return tuple(float(root.get(side, "").removesuffix("mm")) for side in ("width", "height"))


def told(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    """What a command that goes well prints."""
    assert main(["finger", *map(str, words)]) == 0
    printed = capsys.readouterr()
    assert printed.err == ""
    return printed.out


def refused(capsys: pytest.CaptureFixture[str], *words: object) -> str:
    """The one sentence with which a command is refused."""
    assert main(["finger", *map(str, words)]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.count("\n") == 1
    return printed.err.removeprefix("handframe: ").rstrip("\n")


def test_some_measures_are_one_picture_as_wide_as_a_text_column(qapp, example, tmp_path, capsys):
    words = [example, "--part", "Violin I", "--measures", "12-20"]
    png, svg = tmp_path / "x.png", tmp_path / "x.svg"
    assert told(capsys, *words, "-o", png, "-o", svg) == "Wrote x.png\nWrote x.svg\n"
    width, height = size_mm(svg)
    assert width == pytest.approx(160, abs=0.01)
    assert 40 < height < 80
    image = QImage(str(png))
    assert (image.width(), image.height()) == (round(width / 25.4 * 300), round(height / 25.4 * 300))
    assert image.dotsPerMeterX() == 11811  # 300 dots an inch
    assert etree.parse(svg).findtext(f"{SVG}title") == "Violin I, measures 12–20"


def test_resolution_and_width_can_be_chosen(qapp, example, tmp_path, capsys):
    words = [example, "--part", "1", "--measures", "12-20", "-o", tmp_path / "x.png", "-o", tmp_path / "x.svg"]
    told(capsys, *words, "--dpi", "96", "--width", "90")
    width, height = size_mm(tmp_path / "x.svg")
    assert width == pytest.approx(90, abs=0.01)
    image = QImage(str(tmp_path / "x.png"))
    assert (image.width(), image.height()) == (round(width / 25.4 * 96), round(height / 25.4 * 96))


def test_a_whole_part_is_a_picture_a_page(qapp, example, tmp_path, capsys):
    words = [example, "--part", "Violin I", "--paper", "letter", "--dpi", "50"]
    assert told(capsys, *words, "-o", tmp_path / "part.svg") == "Wrote part-1.svg, part-2.svg\n"
    told(capsys, *words, "-o", tmp_path / "part.png")
    for number in (1, 2):
        svg = tmp_path / f"part-{number}.svg"
        assert size_mm(svg) == (215.9, 279.4)
        assert etree.parse(svg).findtext(f"{SVG}title") == f"Three Crossings, Violin I, page {number}"
        image = QImage(str(tmp_path / f"part-{number}.png"))
        assert (image.width(), image.height()) == (425, 550)
    assert len(list(tmp_path.iterdir())) == 4


def test_a_part_of_one_page_keeps_the_name_that_was_asked_for(qapp, mini, tmp_path, capsys):
    assert told(capsys, mini, "-o", tmp_path / "one.PNG") == "Wrote one.PNG\n"
    assert (tmp_path / "one.PNG").read_bytes().startswith(b"\x89PNG")


def test_of_several_parts_each_has_its_picture_of_the_measures(qapp, duo, tmp_path, capsys):
    assert told(capsys, duo, "--measures", "2-3", "-o", tmp_path / "both.svg") == "Wrote both-1.svg, both-2.svg\n"
    titles = [etree.parse(tmp_path / f"both-{number}.svg").findtext(f"{SVG}title") for number in (1, 2)]
    assert titles == ["Violin, measures 2–3", "Viola, measures 2–3"]


def test_many_pictures_are_named_by_the_first_and_the_last_and_sort_by_name(qapp, example, tmp_path, capsys):
    assert told(capsys, example, "--dpi", "20", "-o", tmp_path / "all.png") == "Wrote all-01.png to all-10.png\n"
    assert sorted(path.name for path in tmp_path.iterdir()) == [path.name for path in numbered(Path("all.png"), 10)]


def test_a_picture_shows_the_digits_that_are_printed(qapp, duo, tmp_path, capsys):
    """With the fingers of other rules the same measures look otherwise."""
    for rules in ("first", "third"):
        told(capsys, duo, "--part", "1", "--measures", "1", "--rules", rules, "-o", tmp_path / f"{rules}.svg")
    first, third = (etree.parse(tmp_path / f"{rules}.svg").getroot() for rules in ("first", "third"))
    assert [path.get("d") for path in first] != [path.get("d") for path in third]


def test_mei_holds_the_measures_of_the_part_with_its_fingers(duo, tmp_path, capsys):
    words = [duo, "--part", "Viola", "--measures", "2-3"]
    assert told(capsys, *words, "-o", tmp_path / "x.mei") == ""
    root = etree.parse(tmp_path / "x.mei").getroot()
    assert [staff.findtext(f"{MEI}label") for staff in root.iter(f"{MEI}staffDef")] == ["Viola"]
    assert len(list(root.iter(f"{MEI}measure"))) == 2
    assert len(list(root.iter(f"{MEI}note"))) == 8
    assert len(list(root.iter(f"{MEI}fing"))) == 8


def test_mei_without_a_part_is_the_whole_score(duo, tmp_path, capsys):
    told(capsys, duo, "-o", tmp_path / "x.mei")
    root = etree.parse(tmp_path / "x.mei").getroot()
    assert [staff.findtext(f"{MEI}label") for staff in root.iter(f"{MEI}staffDef")] == ["Violin", "Viola"]
    assert len(list(root.iter(f"{MEI}fing"))) == 96


def test_mei_of_parts_that_number_their_measures_otherwise_asks_for_one_part(tmp_path, capsys):
    path = tmp_path / "odd.musicxml"
    data = full_score(part("Violin", "4/4", "D5/4 | E5 | F5"), part("Viola", "4/4", "D4/4 | E4 | F4"))
    viola = data.rindex(b"<part ")
    for old, new in ((b'number="3"', b'number="X"'), (b'number="2"', b'number="3"')):
        data = data[:viola] + data[viola:].replace(old, new)
    path.write_bytes(data)
    words = [path, "--measures", "3", "-o", tmp_path / "x.mei"]
    assert refused(capsys, *words).startswith("x.mei: the parts number their measures otherwise; name one with --part")
    told(capsys, *words, "--part", "Viola")


BAD = {
    "another kind of file": (["-o", "x.gif"], "x.gif: the file to write ends in .csv, .json, .mei, .musicxml, .mxl, "
                             ".pdf, .png, .svg"),
    "no ending": (["-o", "x"], "x: the file to write ends in "),
    "too fine": (["-o", "x.png", "--dpi", "1300"], "x.png: a picture has 20 to 1200 dots an inch, not 1300"),
    "too coarse": (["-o", "x.png", "--measures", "1", "--dpi", "0"], "x.png: a picture has 20 to 1200 dots an inch"),
    "too wide": (["-o", "x.svg", "--measures", "1", "--width", "3000"], "a page is 40 to 2000 mm wide, not 3000 mm"),
    "no width": (["-o", "x.svg", "--measures", "1", "--width", "nan"], "a page is 40 to 2000 mm wide, not nan mm"),
    "no such measure": (["-o", "x.svg", "--measures", "90"], "no measure 90 in Violin"),
    "no such folder": (["-o", "no/such/x.svg"], "x.svg cannot be written in "),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_what_cannot_be_is_refused_in_one_sentence_and_nothing_is_written(
    case, qapp, mini, tmp_path, capsys, monkeypatch
):
    folder = tmp_path / "empty"
    folder.mkdir()
    monkeypatch.chdir(folder)
    words, expected = BAD[case]
    assert refused(capsys, mini, *words).startswith(expected)
    assert not list(folder.iterdir())


@pytest.mark.parametrize("words", [["--dpi", "many"], ["--dpi", "96.5"], ["--width", "wide"]])
def test_a_size_that_is_no_number_is_refused(words, mini, capsys):
    with pytest.raises(SystemExit) as ended:
        main(["finger", str(mini), *words])
    assert ended.value.code == 2
    assert words[0] in capsys.readouterr().err


def test_pictures_are_painted_without_a_display(mini, tmp_path):
    outputs = ["--measures", "1-2", "-o", str(tmp_path / "a.svg"), "-o", str(tmp_path / "a.png")]
    run = without_display("finger", str(mini), *outputs)
    assert (run.returncode, run.stderr, run.stdout) == (0, "", "Wrote a.svg\nWrote a.png\n")
    assert size_mm(tmp_path / "a.svg")[0] < 160


def test_a_passage_is_engraved_by_whom_the_caller_says(qapp: QGuiApplication, mini: Path, tmp_path: Path) -> None:
    opened = open_any(mini)
    (one,) = opened.score.parts
    work = opened.work.parts[one.id]
    plan = work.plan(one)
    asked: list[object] = []

    def call(work: Callable[..., Any], text: str, layout: Layout, measures: tuple[int, int]) -> Any:
        asked.append((work, layout, measures))
        return work(text, layout, measures)

    document = open_document(mini)
    passage_picture(tmp_path / "x.svg", document, plan, work, (1, 2), width_mm=120.0, call=call)
    assert asked == [(engrave, Layout.excerpt(120.0), (1, 2))]
    with pytest.raises(AppError, match=r"^x\.pdf: a picture ends in \.png or \.svg$"):
        passage_picture(tmp_path / "x.pdf", document, plan, work, (1, 2))


def test_a_passage_too_long_for_one_picture_is_refused(qapp: QGuiApplication, tmp_path: Path) -> None:
    path = tmp_path / "long.musicxml"
    path.write_bytes(score("Violin", "4/4", " | ".join(["D5/0.25 E5 F5 G5 " * 4] * 150)))
    opened = open_any(path)
    (one,) = opened.score.parts
    plan = opened.work.parts[one.id].plan(one)
    with pytest.raises(
        AppError, match=r"^x\.png: measures 1–150 are too long for one picture; ask for fewer measures$"
    ):
        passage_picture(tmp_path / "x.png", opened.document, plan, opened.work.parts[one.id], (0, 149), width_mm=40.0)
