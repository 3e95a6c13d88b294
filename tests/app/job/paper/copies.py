"""Scores whose parts are printed in copies, and what is read in the PDFs."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from pypdf import PageObject, PdfReader

from app.job.teacher.printing import Printing
from engraving.layout import Layout
from tests.scores import full_score, part

TITLE = "Small Hours"
THREE = full_score(
    part("Violin I", "4/4", "D5/1@a E5 F#5 G5 | A5/4", key=1),
    part("Timpani", "4/4", "D3/4 | A3/4", key=1),
    part("Cello", "4/4", "D3/1 E3 F#3 G3 | A3/4", key=1),
    title=TITLE,
)
PLAIN = Printing()
# On paper with so little room that 100 long notes are three pages.
CRAMPED = Printing(staff_mm=9.6, margin_mm=35.0)
BUSY = " | ".join(["D5/4"] * 100)
LONG = full_score(part("Violin I", "4/4", BUSY), part("Violin II", "4/4", "D5/4"), title=TITLE)


@cache
def _known(work: Callable[..., Any], text: str, layout: Layout, rests: tuple[float, ...]) -> Any:
    return work(text, layout, rests)


def engraver(work: Callable[..., Any], text: str, layout: Layout, rests: Sequence[float]) -> Any:
    """Calls the engraver; what it has engraved once it knows."""
    return _known(work, text, layout, tuple(rests))


def outline(path: Path) -> list[tuple[str, int]]:
    """The entries of a PDF's outline and the pages they lead to, counted from 0."""
    reader = PdfReader(path)
    return [(str(entry.title), reader.get_destination_page_number(entry)) for entry in reader.outline]


def words(sheet: PageObject) -> str:
    return " ".join(sheet.extract_text().split())


def texts(path: Path) -> list[str]:
    return [words(sheet) for sheet in PdfReader(path).pages]


def inks(path: Path) -> set[tuple[float, ...]]:
    """The colours a PDF is painted in: the operands of rg and RG, scn and SCN (ISO 32000-2, 8.6.8), to a hundredth."""
    data = b" ".join(sheet.get_contents().get_data() for sheet in PdfReader(path).pages)
    found = re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG|scn|SCN)\b", data)
    return {tuple(round(float(share), 2) for share in colour) for colour in found}


def digits(text: str) -> list[str]:
    return re.findall(r"(?<!\S)[0-4](?!\S)", text)
