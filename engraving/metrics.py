"""How wide and high lettering is, without Qt: the measures of every character as the engraver itself uses them.

The tables come with the engraver. Its text tables are named Times; the Liberation Serif it draws with was made to
the same measures. Characters a table lacks count as wide as an ``n``, since another font will be found for them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from importlib.util import find_spec
from pathlib import Path

from lxml import etree

from analysis.language import _
from engraving.drawing import Lettering, Typeface
from engraving.errors import EngravingError

TEXT_FAMILY = "Liberation Serif"
MUSIC_FAMILY = "Leipzig"
_TEXT_FILES = {
    (False, False): "Times.xml",
    (True, False): "Times-bold.xml",
    (False, True): "Times-italic.xml",
    (True, True): "Times-bold-italic.xml",
}
_USUAL_ADVANCE = {False: "1479", True: "1024"}  # of upright and of italic faces, checked against the fonts in tests

_SLACK = 0.03  # the two text faces have the same advances but not quite the same outlines


def data_folder() -> Path:
    """Where the engraving library keeps its fonts and their measures; the library itself is not loaded."""
    spec = find_spec("verovio")
    if spec is None or spec.origin is None:
        raise EngravingError(_("the engraving library 'verovio' is not installed"))
    return Path(spec.origin).parent / "data"


@dataclass(frozen=True, slots=True)
class _Character:
    """The ink box and the advance of one character, in parts of the em, y upwards."""

    x0: float
    y0: float
    x1: float
    y1: float
    advance: float


@dataclass
class FontMetrics:
    """Measures lettering by the tables in ``folder``; each table is read when it is first needed."""

    folder: Path
    _tables: dict[Typeface, dict[str, _Character]] = field(default_factory=dict)

    def width(self, text: str, face: Typeface, size: float) -> float:
        """The advance of the whole text."""
        return size * sum(self._character(character, face).advance for character in text)

    def box(self, lettering: Lettering) -> tuple[float, float, float, float] | None:
        """The box x0, y0, x1, y1 of the ink, y downwards; ``None`` when nothing is inked."""
        at = 0.0
        sides: list[tuple[float, float, float, float]] = []
        for character in lettering.text:
            c = self._character(character, lettering.face)
            if c.x1 > c.x0 and c.y1 > c.y0:
                sides.append((at + c.x0, -c.y1, at + c.x1, -c.y0))
            at += c.advance
        if not sides:
            return None
        x0, y0, x1, y1 = zip(*sides, strict=True)
        x, y, size = lettering.x, lettering.y, lettering.size
        slack = size * _SLACK if lettering.face.family == TEXT_FAMILY else 0.0
        return (
            x + size * min(x0) - slack,
            y + size * min(y0) - slack,
            x + size * max(x1) + slack,
            y + size * max(y1) + slack,
        )

    def _character(self, character: str, face: Typeface) -> _Character:
        if face not in self._tables:
            self._tables[face] = _read_table(self.folder / _file(face), face)
        table = self._tables[face]
        return table.get(character) or table.get("n") or _Character(0, 0, 0, 0, 0)


def _file(face: Typeface) -> Path:
    if face.family == MUSIC_FAMILY:
        return Path(f"{MUSIC_FAMILY}.xml")
    return Path("text") / _TEXT_FILES[face.bold, face.italic]


def _read_table(path: Path, face: Typeface) -> dict[str, _Character]:
    """The tables name music signs by code point, letters by their UTF-8 bytes; an entry without advance has the
    usual one.
    """
    root = etree.parse(str(path)).getroot()
    em = float(root.get("units-per-em", "1000"))
    table = {}
    for entry in root.iter("g"):
        x, y, w, h = (float(entry.get(name, "0")) / em for name in ("x", "y", "w", "h"))
        advance = float(entry.get("h-a-x", _USUAL_ADVANCE[face.italic])) / em
        code = entry.get("c", "20")
        character = chr(int(code, 16)) if face.family == MUSIC_FAMILY else bytes.fromhex(code).decode()
        table[character] = _Character(x, y, x + w, y + h, advance)
    return table
