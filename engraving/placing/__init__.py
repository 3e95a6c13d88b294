"""Places for fingering digits and for marks painted over the page: near their notes, touching no ink."""

from engraving.placing.figures import Arrow, Figure, Placed, Wanted
from engraving.placing.ground import Ground
from engraving.placing.page import Overlay, mark_page, place, place_marks
from engraving.placing.painted import PaintedMark, is_painted

__all__ = [
    "Arrow",
    "Figure",
    "Ground",
    "Overlay",
    "PaintedMark",
    "Placed",
    "Wanted",
    "is_painted",
    "mark_page",
    "place",
    "place_marks",
]
