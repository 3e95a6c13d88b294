"""The practice sheet: what it chooses and in which order, and the page it is laid out on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtGui import QGuiApplication

from analysis.fingering.cautions import CAUTION
from analysis.fingering.plan import Plan
from analysis.fingering.rules.files import preset
from analysis.music import Part
from analysis.watch.finding import Finding
from analysis.watch.kinds import KINDS
from app.errors import AppError
from app.job.files.opening import Opened, open_any
from app.job.fingerboard.chart import fingerboard_chart
from app.job.paper.digits import struck_notes
from app.job.paper.practice import ORDER, practice
from app.job.paper.practice_sheet import BREAKS, PROPOSED, practice_sheet
from app.job.project.file import save_project
from app.job.teacher.printing import PAPERS
from app.job.teacher.watching import OWN, Entry, Remark, Standing
from app.main import main
from tests.analysis.lines import line, plan
from tests.app.programs import without_display
from tests.scores import score

POINTS_A_MM = 72 / 25.4
KIND = "finger-pattern"

# Measures of four quarter notes.
PART = line("D4/1 E4 F#4 G4 " * 16)


def entry(
    first: int, last: int | None = None, *, kind: str = KIND, standing: Standing = Standing.ACCEPTED, sure: float = 1.0
) -> Entry:
    """An entry for the first notes of measures, by their printed numbers."""
    notes = tuple(f"n{4 * measure - 3}" for measure in range(first, (last or first) + 1))
    return Entry(Finding(kind, notes, sure, f"Measure {first} it is."), Remark(standing))


def shown(entries: Sequence[Entry], part: Part = PART) -> list[tuple[int, int]]:
    """The printed measures of every item in order."""
    labels = [measure.label for measure in part.measures]
    return [(int(labels[low]), int(labels[high])) for low, high in (i.measures for i in practice(part, entries).items)]


def test_accepted_findings_alone_stand_on_the_sheet():
    entries = [entry(2, 3), entry(6, 7, standing=Standing.OPEN), entry(10, 11, standing=Standing.HIDDEN)]
    made = practice(PART, entries)
    assert [item.entries for item in made.items] == [(entries[0],)]
    assert not made.is_proposed


def test_findings_in_neighbouring_measures_are_practised_together():
    assert shown([entry(2, 3), entry(3, 4)]) == [(2, 4)]  # overlapping
    assert shown([entry(2, 3), entry(4, 5)]) == [(2, 5)]  # touching
    assert shown([entry(2, 3), entry(5, 6)]) == [(2, 6)]  # a measure between
    assert shown([entry(2, 3), entry(6, 7)]) == [(2, 3), (6, 7)]


def test_an_excerpt_has_no_more_than_eight_measures():
    assert shown([entry(1, 4), entry(5, 8), entry(9, 12)]) == [(1, 8), (9, 12)]
    assert shown([entry(1, 4), entry(4, 7), entry(7, 10)]) == [(1, 8)]  # what begins inside is begun there


def test_a_long_finding_is_shown_by_its_first_measures():
    assert shown([entry(2, 12)]) == [(2, 5)]


def test_a_finding_at_several_places_is_shown_at_the_first():
    notes = ("n5", "n9", "n41", "n45")
    assert shown([Entry(Finding(KIND, notes, 1.0, "Twice."), Remark(Standing.ACCEPTED))]) == [(2, 3)]


def test_a_measure_by_itself_gets_the_one_before_it():
    assert shown([entry(7)]) == [(6, 7)]
    assert shown([entry(1)]) == [(1, 2)]
    one = line("D4/1 E4 F#4 G4")
    assert shown([entry(1)], one) == [(1, 1)]


def test_measures_full_of_notes_make_short_excerpts():
    busy = line("D4/0.125 " + "E4 " * 31 + "D4 " * 32 + "C#4 " * 32)
    every = Entry(Finding(KIND, tuple(note.id for note in busy), 1.0, "All."), Remark(Standing.ACCEPTED))
    assert shown([every], busy) == [(1, 1)]


def test_what_the_teacher_wrote_comes_first_then_hard_spots_then_what_only_asks_for_attention():
    entries = [
        entry(1, 2, kind="dynamics"),
        entry(5, 6, kind="hard-spot"),
        entry(9, 10, kind=KIND),
        entry(13, 14, kind=OWN),
    ]
    assert shown(entries) == [(13, 14), (5, 6), (9, 10), (1, 2)]


def test_of_one_kind_the_surest_comes_first_and_of_these_the_first_in_the_part():
    assert shown([entry(1, 2, sure=0.6), entry(5, 6, sure=0.9), entry(9, 10, sure=0.9)]) == [(5, 6), (9, 10), (1, 2)]


def test_every_kind_of_finding_has_its_place_in_the_order():
    assert sorted(practised.kind for practised in ORDER) == sorted([OWN, *(kind.name for kind in KINDS)])


def test_while_nothing_is_accepted_a_few_things_are_proposed_kind_by_kind():
    kinds = [KIND, KIND, KIND, KIND, KIND, "hard-spot", "shift", "bar-line", "texture", "dynamics", "bowing"]
    long = line("D4/1 E4 F#4 G4 " * 40)
    entries = [entry(3 * n + 1, kind=kind, standing=Standing.OPEN) for n, kind in enumerate(kinds)]
    made = practice(long, entries)
    assert made.is_proposed
    assert [item.entries[0].finding.kind for item in made.items] == ["hard-spot", "shift", KIND, KIND, "bar-line"]


def test_what_is_hidden_or_unsure_is_not_proposed():
    entries = [entry(1, standing=Standing.HIDDEN), entry(5, standing=Standing.OPEN, sure=0.4)]
    assert practice(PART, entries).items == ()


# The page


def spelled(text: str) -> str:
    """A text without its blanks: where the font changes, lines are broken when it is read back."""
    return "".join(text.split())


def read(path: Path) -> str:
    """All that is said on a PDF, without blanks."""
    return spelled("".join(page.extract_text() for page in PdfReader(path).pages))


def example_part(opened: Opened, number: int) -> tuple[Part, Plan]:
    part = opened.score.parts[number]
    made = opened.work.parts[part.id].plan(part)
    assert made is not None
    return part, made


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("number", range(1, 6))
def test_the_example_gets_one_page_a_part(
    qapp: QGuiApplication, example: Path, tmp_path: Path, number: int, paper: str
):
    path = tmp_path / "sheet.pdf"
    assert main(["sheet", str(example), "--part", str(number), "--paper", paper, "-o", str(path)]) == 0
    (page,) = PdfReader(path).pages
    layout = PAPERS[paper]
    assert float(page.mediabox.width) == pytest.approx(layout.width_mm * POINTS_A_MM, abs=0.6)
    assert float(page.mediabox.height) == pytest.approx(layout.height_mm * POINTS_A_MM, abs=0.6)
    words = read(path)
    opened = open_any(example)
    assert spelled(opened.score.title) in words
    assert spelled(opened.score.parts[number - 1].name) in words
    assert spelled(PROPOSED) in words
    # The usual cautions: analysis.fingering.cautions names their sources.
    assert spelled(f"{CAUTION} {BREAKS}") in words
    assert "half hour" in BREAKS


def test_every_font_of_a_sheet_is_inside_it(qapp: QGuiApplication, example: Path, tmp_path: Path):
    path = tmp_path / "sheet.pdf"
    assert main(["sheet", str(example), "--part", "1", "-o", str(path)]) == 0
    fonts = [font.get_object() for page in PdfReader(path).pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"].get_object()
        assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)


def test_a_sentence_that_does_not_name_its_measure_has_its_place_before_it(
    qapp: QGuiApplication, example: Path, tmp_path: Path
):
    # The number of a finger or of a position is not that of measure 1.
    opened, path = open_any(example), tmp_path / "sheet.pdf"
    part, made = example_part(opened, 3)
    every = opened.work.parts[part.id].watched(opened.score, part, made)
    first = next(one for one in every if one.finding.text.startswith("In 1st position the hand is 1 3 4"))
    named = replace(first.finding, kind="dynamics", text="Measure 1: softly.", says_where=True)
    reworded = Remark(Standing.ACCEPTED, "Set 1 and 3 together.")
    entries = [Entry(one, Remark(Standing.ACCEPTED)) for one in (first.finding, named)] + [Entry(named, reworded)]
    practice_sheet(path, opened.document, "Title", made, practice(part, entries), PAPERS["a4"])
    words = read(path)
    place = spelled("Measure 1, beat 4:")
    assert place + spelled(first.finding.text) in words
    assert place + spelled("Set 1 and 3 together.") in words
    assert spelled(named.text) in words
    assert place + spelled(named.text) not in words


def accepted_project(example: Path, path: Path, most: int) -> list[str]:
    """A project with findings of the first part accepted, an own note and a remark; what the sheet should say."""
    opened = open_any(example)
    part, made = example_part(opened, 0)
    work = opened.work.parts[part.id]
    every = work.watched(opened.score, part, made)[:most]
    for one in every:
        work = work.with_remark(one.finding.key, Remark(Standing.ACCEPTED))
    work = work.with_remark(every[1].finding.key, Remark(Standing.ACCEPTED, "My own words & signs <here>.", "Sing it."))
    work = work.with_own_note(part.notes_in(40)[0].id, "Count the rests aloud.")
    save_project(path, opened.document, opened.work.with_part(part.id, work))
    said = [one.finding.text for number, one in enumerate(every) if number != 1]
    return [*said, "My own words & signs <here>. Sing it.", "Count the rests aloud."]


def test_accepted_findings_are_said_in_the_teachers_words(qapp: QGuiApplication, example: Path, tmp_path: Path):
    project, path = tmp_path / "work.handframe", tmp_path / "sheet.pdf"
    said = accepted_project(example, project, 4)
    assert main(["sheet", str(project), "--part", "1", "-o", str(path)]) == 0
    words = read(path)
    assert spelled(PROPOSED) not in words
    for sentence in said:
        assert spelled(sentence) in words


def test_what_does_not_fit_on_a_page_goes_on_the_next_whole(qapp: QGuiApplication, example: Path, tmp_path: Path):
    project, path = tmp_path / "work.handframe", tmp_path / "sheet.pdf"
    said = accepted_project(example, project, 30)
    assert main(["sheet", str(project), "--part", "1", "--paper", "letter", "-o", str(path)]) == 0
    pages = PdfReader(path).pages
    assert len(pages) > 1
    words = read(path)
    for sentence in said:
        assert spelled(sentence) in words
    assert all(spelled(CAUTION) in spelled(page.extract_text()) for page in pages)
    assert spelled("Violin I, page 2") in words


def baselines(path: Path) -> Iterator[tuple[str, float, float, int]]:
    """Every piece of text on a PDF: what it says, x and y of its beginning in points from the bottom, its page."""
    for number, page in enumerate(PdfReader(path).pages):
        found: list[tuple[str, float, float]] = []

        def visit(text: str, matrix: list[float], text_matrix: list[float], *_: object, into=found) -> None:
            a, b, c, d, e, f = matrix
            x, y = text_matrix[4:6]
            if text.strip():
                into.append((text.strip(), a * x + c * y + e, b * x + d * y + f))

        page.extract_text(visitor_text=visit)
        yield from ((*one, number) for one in found)


def test_no_sentence_runs_into_the_foot_or_off_the_paper(qapp: QGuiApplication, example: Path, tmp_path: Path):
    project, path = tmp_path / "work.handframe", tmp_path / "sheet.pdf"
    opened = open_any(example)
    part, _ = example_part(opened, 0)
    work = opened.work.parts[part.id]
    for note in part.notes[:60]:
        work = work.with_own_note(note.id, f"A sentence of the teacher's about note {note.id}. " * 5)
    save_project(project, opened.document, opened.work.with_part(part.id, work))
    assert main(["sheet", str(project), "--part", "1", "-o", str(path)]) == 0
    placed = list(baselines(path))
    foot = {page: y for text, _, y, page in placed if text.startswith("Warm")}
    said = [one for one in placed if "sentence" in one[0]]
    assert len(foot) == len(PdfReader(path).pages) > 2
    assert len(said) > 150
    for _, x, y, page in said:
        assert x > 12 * POINTS_A_MM
        assert foot[page] < y < (297 - 12) * POINTS_A_MM
    words = read(path)
    assert all(spelled(f"about note {note.id}. A") in words for note in part.notes[:60])


def test_the_digits_over_an_excerpt_are_those_of_the_plan(qapp: QGuiApplication, tmp_path: Path):
    """Without a chart there are no other digits at this height: an entry that is not the left hand's gets none."""
    source, path = tmp_path / "tune.musicxml", tmp_path / "sheet.pdf"
    source.write_bytes(score("Violin", "4/4", "D5/1 E5 F#5 G5 | A5 G5 F#5 E5 | D5/4", key=2))
    opened = open_any(source)
    part, made = example_part(opened, 0)
    notes = tuple(note.id for measure in (0, 1) for note in part.notes_in(measure))
    told = Entry(Finding("dynamics", notes, 1.0, "Softly."), Remark(Standing.ACCEPTED))
    practice_sheet(path, opened.document, "Tune", made, practice(part, [told]), PAPERS["a4"])
    digits = [(x, text) for text, x, y, _ in baselines(path) if text.isdigit()]
    assert "".join(text for _, text in sorted(digits)) == "".join(
        str(placement.finger) for _, placement in struck_notes(made, (0, 1))
    )
    assert spelled("mm from the nut") not in read(path)


def test_the_tapes_are_told_for_the_size_that_is_played(qapp: QGuiApplication, example: Path, tmp_path: Path):
    """Distances of a 3/4 violin of 307 mm (Wikipedia, "Scale length (string instruments)"), equal temperament."""
    rules, path = tmp_path / "small.toml", tmp_path / "sheet.pdf"
    rules.write_text('title = "Small hands"\nsize = "3/4"\n', encoding="utf-8")
    assert main(["sheet", str(example), "--part", "1", "--rules", str(rules), "-o", str(path)]) == 0
    assert spelled("33.5, 63.3, 77.0 and 102.1 mm from the nut") in read(path)


def test_the_chart_is_of_the_measures_and_the_size_that_are_asked_for():
    """A 3/4 violin has strings of 307 mm (Wikipedia, "Scale length (string instruments)")."""
    made = plan("B4/1 C#5 B4 C#5 D5 r r r G4", replace(preset("first"), size="3/4"))
    shown = fingerboard_chart(made, (0, 1))
    assert shown.instrument.string_length_mm == 307
    assert [(dot.placement.string, dot.placement.place, dot.name) for dot in shown.dots] == [
        (2, 2, "B"),
        (2, 4, "C♯"),
        (2, 5, "D"),
    ]


def test_a_part_with_nothing_to_practise_is_told(qapp: QGuiApplication, tmp_path: Path):
    source, path = tmp_path / "tune.musicxml", tmp_path / "sheet.pdf"
    source.write_bytes(score("Violin", "4/4", "r/4"))
    opened = open_any(source)
    _, made = example_part(opened, 0)
    with pytest.raises(AppError, match=r"^Violin: its watch-list has nothing to practise$"):
        practice_sheet(path, opened.document, "Tune", made, practice(opened.score.parts[0], []), PAPERS["a4"])
    assert not path.exists()


BAD = {
    "output kind": (["--part", "1", "-o", "sheet.png"], "sheet.png: the file to write ends in .pdf"),
    "unknown part": (["--part", "Oboe", "-o", "sheet.pdf"], "no part 'Oboe'; the file has Violin I"),
    "unknown instrument": (["--part", "1", "--instrument", "kazoo", "-o", "sheet.pdf"], "no instrument 'kazoo'"),
    "output folder": (["--part", "1", "-o", "no/such/sheet.pdf"], "sheet.pdf cannot be written in"),
}


@pytest.mark.parametrize(("words", "sentence"), BAD.values(), ids=BAD)
def test_bad_input_gets_one_sentence(
    qapp: QGuiApplication,
    example: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    sentence: str,
):
    monkeypatch.chdir(tmp_path)
    assert main(["sheet", str(example), *words]) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert sentence in told
    assert not list(tmp_path.iterdir())


def test_a_sheet_is_painted_without_a_display(example: Path, tmp_path: Path):
    path = tmp_path / "sheet.pdf"
    run = without_display("sheet", str(example), "--part", "viola", "-o", str(path))
    assert (run.returncode, run.stderr) == (0, "")
    assert len(PdfReader(path).pages) == 1
