"""Pictures of a part as it is printed, for other documents: a passage in one picture, or pages one by one."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from analysis.fingering.plan import Plan
from analysis.language import _
from app.errors import AppError
from app.job.paper.part import PaperPage, printed_pages
from app.job.paper.picture_size import PASSAGE_WIDTH_MM, PICTURE_DPI
from app.job.teacher.pencilling import to_engrave
from app.job.teacher.work import PartWork
from engraving.apart import Call, here
from engraving.document import Document
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import Layout
from engraving.page import Rect
from engraving.pictures import music_area, write_png, write_svg
from engraving.styles import OWN_MARKS, OWN_MARKS_COPIED

PICTURE_SUFFIXES = (".png", ".svg")


def passage_picture(
    path: Path,
    document: Document,
    plan: Plan,
    work: PartWork,
    measures: tuple[int, int],
    *,
    width_mm: float = PASSAGE_WIDTH_MM,
    dpi: int = PICTURE_DPI,
    colour: bool = False,
    call: Call = here,
) -> None:
    """Write the measures of these indices, both included, as one PNG or SVG picture cut to its music.

    Lines of music are ``width_mm`` long; a shorter passage makes a narrower picture. ``dpi`` is for PNG alone.
    ``colour``: the teacher's marks are in colour, else black. ``call`` calls the engraver. AppError for another kind of
    file and a passage too long for one picture, EngravingError for a width or resolution out of reach.
    """
    check_picture(path)
    text = part_for_engraving(document, plan.part.id, marks=to_engrave(plan.part, work.marks))
    pages = printed_pages(call(engrave, text, Layout.excerpt(width_mm), measures), plan.part, plan, work, measures)
    words = plan.part.span(measures)
    if len(pages) > 1:
        raise AppError(
            _("{file}: {words} are too long for one picture; ask for fewer measures").format(
                file=path.name, words=words
            )
        )
    ((page, placed),) = pages
    _write(path, (page, placed), dpi, f"{plan.part.name}, {words}", colour=colour, area=music_area(page, placed))


def page_pictures(
    path: Path, pages: Sequence[PaperPage], title: str, dpi: int = PICTURE_DPI, *, colour: bool = False
) -> list[Path]:
    """Write one PNG or SVG picture a page, their names numbered as by :func:`numbered`; returns their paths.

    ``dpi`` and ``colour`` as for a passage. AppError for another kind of file, EngravingError for a resolution out of
    reach.
    """
    check_picture(path)
    paths = numbered(path, len(pages))
    for number, (one, page) in enumerate(zip(paths, pages, strict=True), start=1):
        _write(
            one,
            page,
            dpi,
            title if len(pages) == 1 else _("{title}, page {number}").format(title=title, number=number),
            colour=colour,
        )
    return paths


def numbered(path: Path, count: int) -> list[Path]:
    """``path`` for one file, for several ``x-1.png``, ``x-2.png`` and so on, all numbers with as many digits."""
    if count == 1:
        return [path]
    digits = len(str(count))
    return [path.with_name(f"{path.stem}-{number:0{digits}}{path.suffix}") for number in range(1, count + 1)]


def check_picture(path: Path) -> None:
    """AppError when that name says no kind of picture."""
    if path.suffix.casefold() not in PICTURE_SUFFIXES:
        raise AppError(
            _("{file}: a picture ends in {suffixes}").format(file=path.name, suffixes=_(" or ").join(PICTURE_SUFFIXES))
        )


def _write(path: Path, page: PaperPage, dpi: int, title: str, *, colour: bool, area: Rect | None = None) -> None:
    engraved, placed = page
    marks = OWN_MARKS if colour else OWN_MARKS_COPIED
    if path.suffix.casefold() == ".svg":
        write_svg(path, engraved, placed, marks=marks, title=title, area=area)
    else:
        write_png(path, engraved, placed, dpi, marks=marks, area=area)
