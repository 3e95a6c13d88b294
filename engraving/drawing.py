"""A page as plain values: glyphs, outlines and lettering, each knowing the musical group it belongs to.

Coordinates are absolute, in hundredths of a millimetre, y downwards.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from engraving.outlines import Matrix, Outline, transformed

UNITS_A_MM = 100.0


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """A node of the engraved page: ``kind`` is what it is (note, stem, staff, measure, ...), ``id`` its id.

    ``number``: which of the teacher's marks it belongs to, ``None`` for the composer's music.
    """

    kind: str
    id: str
    parent: Group | None = None
    number: int | None = None

    def lineage(self) -> Iterator[Group]:
        """The group itself, then its parents outwards."""
        group: Group | None = self
        while group is not None:
            yield group
            group = group.parent

    def within(self, kind: str) -> Group | None:
        """The nearest group of that kind, itself included."""
        return next((group for group in self.lineage() if group.kind == kind), None)


@dataclass(frozen=True, slots=True)
class Glyph:
    """A music sign: ``code`` names its outline in the drawing, ``matrix`` places it."""

    group: Group
    code: str
    matrix: Matrix


@dataclass(frozen=True, slots=True)
class Shape:
    """An outline, filled or only drawn along; ``width`` is that of its line, ``dash`` empty for a solid one."""

    group: Group
    outline: Outline
    filled: bool
    width: float
    cap: str = "butt"
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Typeface:
    """A face by family, weight and slant."""

    family: str
    bold: bool = False
    italic: bool = False


@dataclass(frozen=True, slots=True)
class Lettering:
    """A run of text in one face, its baseline beginning at ``x``, ``y``; ``size`` is the height of the em."""

    group: Group
    text: str
    x: float
    y: float
    size: float
    face: Typeface


Mark = Glyph | Shape | Lettering


def moved(mark: Mark, dx: float, dy: float) -> Mark:
    """The mark so far to the right and down."""
    if isinstance(mark, Lettering):
        return replace(mark, x=mark.x + dx, y=mark.y + dy)
    if isinstance(mark, Glyph):
        return replace(mark, matrix=(*mark.matrix[:4], mark.matrix[4] + dx, mark.matrix[5] + dy))
    return replace(mark, outline=transformed(mark.outline, (1.0, 0.0, 0.0, 1.0, dx, dy)))


@dataclass(frozen=True)
class Drawing:
    """A whole page: its size, its marks in drawing order, and the outlines of its glyphs by code."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    glyphs: Mapping[str, Outline]
