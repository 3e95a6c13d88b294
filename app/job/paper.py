"""The part on paper: its pages engraved, with the digits of a plan at their places."""

from __future__ import annotations

from collections.abc import Sequence

from analysis.fingering.plan import Plan
from app.job.digits import wanted_digits
from engraving.document import Document
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4, LETTER, Layout
from engraving.metrics import FontMetrics, data_folder
from engraving.placing import Placed, Wanted, place

PAPERS = {"a4": A4, "letter": LETTER}

MarkedPage = tuple[EngravedPage, tuple[Placed, ...]]


def marked_pages(
    document: Document, plan: Plan, layout: Layout, measures: tuple[int, int] | None = None
) -> list[MarkedPage]:
    """The part of ``plan`` engraved on ``layout``, all of it or the measures of these indices, with its digits."""
    pages = engrave(part_for_engraving(document, plan.part.id), layout, measures)
    return place_digits(pages, wanted_digits(plan, measures))


def place_digits(pages: Sequence[EngravedPage], wanted: Sequence[Wanted]) -> list[MarkedPage]:
    """Each page with the digits whose notes lie on it."""
    metrics = FontMetrics(data_folder())
    return [(page, place(page.map, wanted, metrics)) for page in pages]
