"""What stands on the copies of a set."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from app.job.paper.part import paper_part
from app.job.paper.part_set import write_part, write_set
from app.job.teacher.printing import PAPERS, Printing
from engraving.layout import MARGIN_MM, STAFF_MM
from engraving.marks.teacher import TeacherMark
from engraving.styles import OWN_INK
from tests.app.job.paper.copies import CRAMPED, LONG, THREE, TITLE, digits, engraver, inks, texts
from tests.scores import full_score, part


def test_a_part_that_nobody_can_finger_is_printed_without_digits(job, tmp_path):
    score, work = job(THREE)
    path = tmp_path / "set.pdf"
    write_set(path, score, work, {}, engraver)
    violin, timpani, cello = texts(path)
    assert digits(violin)
    assert digits(cello)
    assert digits(timpani) == []
    assert timpani == f"{TITLE} Timpani"


def test_parts_are_fingered_as_they_are_set_and_fingerings_at_hand_are_taken(job, tmp_path):
    score, work = job(THREE)
    path = tmp_path / "set.pdf"
    write_set(path, score, work, {}, engraver)
    fresh = texts(path)
    plans = {one.id: work.parts[one.id].plan(one) for one in score.score.parts if work.parts[one.id].instrument}
    asked = []
    told = replace(work.parts["P1"], instrument=None)
    write_set(path, score, work.with_part("P1", told), plans, engraver, asked.append)
    assert texts(path) == fresh
    write_set(path, score, work.with_part("P1", told), {}, engraver)
    assert digits(texts(path)[0]) == []


@pytest.mark.parametrize(("paper", "inches"), [("a4", (210 / 25.4, 297 / 25.4)), ("letter", (8.5, 11.0))])
def test_all_sheets_have_the_size_of_the_paper(job, tmp_path, paper, inches):
    """A4 is 210 by 297 mm (ISO 216), Letter 8.5 by 11 in (ASME Y14.1); a point is 1/72 in (ISO 32000-2, 8.3.2.3)."""
    score, work = job(THREE, printing=Printing(paper))
    path = tmp_path / "set.pdf"
    write_set(path, score, work, {}, engraver)
    for sheet in PdfReader(path).pages:
        assert (float(sheet.mediabox.width) / 72, float(sheet.mediabox.height) / 72) == pytest.approx(inches, abs=0.01)


@pytest.mark.parametrize("kind", ["accent", "circle"], ids=["engraved", "painted"])
def test_marks_are_black_for_the_copier_or_in_colour(job, tmp_path, kind):
    own = tuple(round(int(OWN_INK[at : at + 2], 16) / 255, 2) for at in (1, 3, 5))
    path = tmp_path / "set.pdf"
    for colour in (False, True):
        score, work = job(THREE, printing=Printing(colour=colour))
        ids = [note.id for note in score.score.parts[0].notes]
        mark = TeacherMark(kind, ids[0], ids[1] if kind == "circle" else "")
        work = work.with_part("P1", replace(work.parts["P1"], marks=(mark,)))
        write_set(path, score, work, {}, engraver)
        assert (own in inks(path)) is colour
        coloured = {ink for ink in inks(path) if len(set(ink)) > 1}
        assert coloured == ({own} if colour else set())


@pytest.mark.parametrize("paper", PAPERS)
def test_the_widest_margins_are_kept_at_the_largest_staff(job, paper):
    """Also where the part's name stands over the music of a later page."""
    margin = MARGIN_MM[1]
    printing = Printing(paper, staff_mm=STAFF_MM[1], margin_mm=margin)
    score, work = job(LONG, printing=printing)
    first = score.score.parts[0]
    pages = paper_part(score, first, None, work.parts[first.id], printing, engraver).pages
    assert len(pages) > 2
    for page, _ in pages:
        music = page.map.ink[page.map.ink[:, 3] > page.map.music_top]
        assert music[:, 0].min() >= margin - 3
        assert music[:, 2].max() <= page.width_mm - margin + 1
        assert music[:, 1].min() >= margin
        assert music[:, 3].max() <= page.height_mm - margin + 1


def test_turns_where_nobody_rests_are_told_with_the_part(job, tmp_path):
    score, work = job(LONG, printing=CRAMPED)
    (remark,) = write_set(tmp_path / "set.pdf", score, work, {}, engraver).remarks
    found = re.fullmatch(
        r"Violin I: Page 1 turns before measure (\d+) with no rest: let one player of the desk turn\.", remark
    )
    first_on_page_2 = min(int(number) for number in re.findall(r"\b\d\d\b", texts(tmp_path / "set.pdf")[1]))
    assert found is not None
    assert int(found[1]) == first_on_page_2
    part_alone = write_part(tmp_path / "part.pdf", score, work, score.score.parts[0], None, engraver)
    assert part_alone.remarks == (remark,)


def test_turns_in_rests_are_not_told(job, tmp_path):
    """Every other measure rests, for 4 seconds at 60 a minute."""
    resting = " | ".join(["!=60 D5/0.5 E5 F#5 G5 A5 G5 F#5 E5", *["r/4", "D5/0.5 E5 F#5 G5 A5 G5 F#5 E5"] * 34])
    score, work = job(full_score(part("Violin I", "4/4", resting)), printing=CRAMPED)
    written = write_set(tmp_path / "set.pdf", score, work, {}, engraver)
    assert written.pages > 2
    assert written.remarks == ()
