"""The paper a part is engraved on: its size, its margins and the size of the staff, all in millimetres."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.language import _
from analysis.wording import decimal
from engraving.errors import EngravingError

STAFF_MM = (3.6, 9.6)  # what the engraver can draw
MARGIN_MM = (0.0, 35.0)  # it takes 50, and over the music digits and positions need some of them
_WIDTH_MM = (40.0, 2000.0)


@dataclass(frozen=True, slots=True)
class Layout:
    """Paper and staff. ``staff_mm`` is the height of a staff of five lines.

    ``heading``: the first page carries title, part and composer, later pages the part and a page number.
    ``fit_height``: the page is cut to the height of the music, ``height_mm`` being the most it may have.
    EngravingError when the paper has no room for music or the staff is too small or large to draw.
    """

    width_mm: float
    height_mm: float
    margin_mm: float = 12.0
    staff_mm: float = 7.0
    heading: bool = True
    fit_height: bool = False

    def __post_init__(self) -> None:
        low, high = STAFF_MM
        if not low <= self.staff_mm <= high:
            raise EngravingError(
                _("a staff is {low} to {high} mm high, not {staff_mm} mm").format(
                    low=decimal(f"{low}"), high=decimal(f"{high}"), staff_mm=decimal(f"{self.staff_mm:g}")
                )
            )
        if not _WIDTH_MM[0] <= self.width_mm <= _WIDTH_MM[1]:
            raise EngravingError(
                _("a page is {least:g} to {most:g} mm wide, not {width_mm:g} mm").format(
                    least=_WIDTH_MM[0], most=_WIDTH_MM[1], width_mm=self.width_mm
                )
            )
        if not MARGIN_MM[0] <= self.margin_mm <= MARGIN_MM[1]:
            raise EngravingError(
                _("margins are {least:g} to {most:g} mm wide, not {margin_mm:g} mm").format(
                    least=MARGIN_MM[0], most=MARGIN_MM[1], margin_mm=self.margin_mm
                )
            )
        if self.margin_mm > self.width_mm / 4:
            raise EngravingError(
                _("margins of {margin_mm:g} mm leave no room on {width_mm:g} mm wide paper").format(
                    margin_mm=self.margin_mm, width_mm=self.width_mm
                )
            )
        if self.height_mm < 2 * self.margin_mm + 4 * self.staff_mm:
            raise EngravingError(
                _("paper {height_mm:g} mm high has no room for a staff of {staff_mm:g} mm").format(
                    height_mm=self.height_mm, staff_mm=self.staff_mm
                )
            )

    @classmethod
    def excerpt(cls, width_mm: float, *, staff_mm: float = 7.0) -> Layout:
        """For a few measures on a card or a practice sheet: no heading, as high as the music."""
        return cls(width_mm, 2000.0, margin_mm=2.0, staff_mm=staff_mm, heading=False, fit_height=True)

    @property
    def staff_space_mm(self) -> float:
        """The distance of two neighbouring staff lines."""
        return self.staff_mm / 4


A4 = Layout(210.0, 297.0)
LETTER = Layout(215.9, 279.4)
FULL_SCORE = Layout(210.0, 297.0, staff_mm=5.0)
