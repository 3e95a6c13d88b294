"""Between SVG and drawings: read the engraver's SVG page, write a flat one that any SVG renderer draws alike.

The engraver nests its pages deeply, hides some groups and styles others by a style sheet, and cuts texts into spans
of size 0 around spans with a size. Read here, none of this is left: the flat page has one glyph, outline or text
an element, in absolute coordinates.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from lxml import etree

from engraving.drawing import UNITS_A_MM, Drawing, Glyph, Group, Lettering, Mark, Shape, Typeface
from engraving.marks.tags import number_of
from engraving.metrics import MUSIC_FAMILY, TEXT_FAMILY, FontMetrics
from engraving.outlines import (
    IDENTITY,
    Matrix,
    Outline,
    ellipse,
    multiply,
    parse_path,
    polygon,
    rectangle,
    transformed,
)
from engraving.styles import OWN_INK

_SVG = "{http://www.w3.org/2000/svg}"
_HREF = "{http://www.w3.org/1999/xlink}href"
_EMPTY_SVG = b'<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"/>'
_UNDRAWN = {"title", "desc", "style", "defs"}
_BOLD_KINDS = {"ending", "fing", "reh", "tempo"}
_ITALIC_KINDS = {"dir", "dynam", "mNum"}
_TRANSFORM = re.compile(r"(\w+)\(([^)]*)\)")


@dataclass(frozen=True, slots=True)
class _Style:
    """What an element hands down to its children."""

    group: Group
    matrix: Matrix
    face: Typeface
    size: float = 0.0


def read_drawing(svg: str, metrics: FontMetrics) -> Drawing:
    """Read one page as the engraver wrote it; ValueError when it is none."""
    root = etree.fromstring(svg.encode())
    page = root.find(f".//{_SVG}svg[@class='definition-scale']")
    if page is None:
        raise ValueError("the engraver's page has no drawing")
    width, height = (float(value) for value in page.get("viewBox", "").split()[2:])
    glyphs = {_glyph_code(glyph.get("id", "")): _glyph_outline(glyph) for glyph in root.iterfind(f"{_SVG}defs/{_SVG}g")}
    marks = tuple(_marks(page, _Style(Group("page", ""), IDENTITY, Typeface(TEXT_FAMILY)), metrics))
    return Drawing(width, height, marks, glyphs)


def _glyph_code(element_id: str) -> str:
    return element_id.lstrip("#").partition("-")[0]


def _glyph_outline(glyph: etree._Element) -> Outline:
    return tuple(
        step
        for path in glyph.iterfind(f"{_SVG}path")
        for step in transformed(parse_path(path.get("d", "")), _matrix(path.get("transform")))
    )


def _matrix(transform: str | None) -> Matrix:
    matrix = IDENTITY
    for name, arguments in _TRANSFORM.findall(transform or ""):
        matrix = multiply(matrix, _simple_matrix(name, [float(value) for value in re.split(r"[\s,]+", arguments)]))
    return matrix


def _simple_matrix(name: str, values: list[float]) -> Matrix:
    if name == "translate":
        return 1, 0, 0, 1, values[0], values[1] if len(values) > 1 else 0
    if name == "scale":
        return values[0], 0, 0, values[-1], 0, 0
    if name == "rotate":
        cos, sin = math.cos(math.radians(values[0])), math.sin(math.radians(values[0]))
        cx, cy = values[1:] or (0.0, 0.0)
        return cos, sin, -sin, cos, cx - cos * cx + sin * cy, cy - sin * cx - cos * cy
    raise ValueError(f"the engraver's page has an unknown transform '{name}'")


def _marks(element: etree._Element, style: _Style, metrics: FontMetrics) -> Iterator[Mark]:
    for child in element:
        tag = child.tag.removeprefix(_SVG) if isinstance(child.tag, str) else "title"
        if tag in _UNDRAWN or "placeholder" in child.get("class", "").split() or child.get("visibility") == "hidden":
            continue
        if tag == "g":
            yield from _marks(child, _inherited(child, style), metrics)
        elif tag == "use":
            matrix = multiply(style.matrix, _matrix(child.get("transform")))
            yield Glyph(style.group, _glyph_code(child.get(_HREF, "")), matrix)
        elif tag == "text":
            yield from _text(child, style, metrics)
        else:
            yield _shape(child, tag, style)


def _inherited(element: etree._Element, style: _Style) -> _Style:
    kind = (element.get("class", "").split() or [""])[0]
    fill = element.get("fill")
    number = style.group.number if fill is None else number_of(fill)
    group = Group(kind, element.get("id", ""), style.group, number)
    matrix = multiply(style.matrix, _matrix(element.get("transform"))) if element.get("transform") else style.matrix
    face = style.face
    if kind in _BOLD_KINDS:
        face = replace(face, bold=True)
    elif kind in _ITALIC_KINDS:
        face = replace(face, italic=True)
    return _Style(group, matrix, face)


def _shape(element: etree._Element, tag: str, style: _Style) -> Shape:
    outline = transformed(_outline(element, tag), style.matrix)
    hollow = element.get("fill") == "none" or element.get("fill-opacity") == "0" or len(outline) < 3
    dash = tuple(float(value) for value in element.get("stroke-dasharray", "").replace(",", " ").split())
    width = float(element.get("stroke-width", "1"))
    return Shape(style.group, outline, not hollow, width, element.get("stroke-linecap", "butt"), dash)


def _outline(element: etree._Element, tag: str) -> Outline:
    if tag == "path":
        return parse_path(element.get("d", ""))
    if tag in ("polygon", "polyline"):
        return polygon(element.get("points", ""), closed=tag == "polygon")
    if tag == "rect":
        return rectangle(*(float(element.get(name, "0")) for name in ("x", "y", "width", "height")))
    if tag == "ellipse":
        return ellipse(*(float(element.get(name, "0")) for name in ("cx", "cy", "rx", "ry")))
    raise ValueError(f"the engraver's page has an unknown element '{tag}'")


@dataclass(slots=True)
class _Line:
    """A piece of text with a place of its own: runs of different faces, one after the other."""

    x: float
    y: float
    anchor: str
    runs: list[tuple[str, _Style]]


def _text(element: etree._Element, style: _Style, metrics: FontMetrics) -> Iterator[Lettering]:
    lines = [_Line(float(element.get("x", "0")), float(element.get("y", "0")), element.get("text-anchor", "start"), [])]
    _collect_runs(element, style, lines)
    for line in lines:
        yield from _set_line(line, metrics)


def _collect_runs(element: etree._Element, style: _Style, lines: list[_Line]) -> None:
    if element.get("x") and element.tag == f"{_SVG}tspan":
        line = lines[-1]
        x, y = float(element.get("x", "0")), float(element.get("y", line.y))
        lines.append(_Line(x, y, element.get("text-anchor", line.anchor), []))
    style = _text_style(element, style)
    if element.text and style.size > 0:
        lines[-1].runs.append((element.text, style))
    for span in element.iterchildren(f"{_SVG}tspan"):
        _collect_runs(span, style, lines)


def _text_style(element: etree._Element, style: _Style) -> _Style:
    family, weight, slant = (element.get(f"font-{name}") for name in ("family", "weight", "style"))
    face = style.face
    if family:
        face = replace(face, family=MUSIC_FAMILY if MUSIC_FAMILY in family else TEXT_FAMILY)
    if weight:
        face = replace(face, bold=weight == "bold")
    if slant:
        face = replace(face, italic=slant in ("italic", "oblique"))
    number = number_of(element.get("fill"))
    if number is not None:
        style = replace(style, group=Group("rend", "", style.group, number))
    size = element.get("font-size")
    return replace(style, face=face, size=float(size.removesuffix("px")) if size else style.size)


def _set_line(line: _Line, metrics: FontMetrics) -> Iterator[Lettering]:
    runs = [*line.runs]
    for number, ((text, style), (_, following)) in enumerate(pairwise(runs)):
        if style.face.family != following.face.family and not text.endswith(" "):
            runs[number] = (text + " ", style)  # the engraver sets a metronome mark close to its words
    widths = [metrics.width(text, style.face, style.size) for text, style in runs]
    x = line.x - sum(widths) * {"start": 0.0, "middle": 0.5, "end": 1.0}[line.anchor]
    for (text, style), width in zip(runs, widths, strict=True):
        if text.strip():
            indent = metrics.width(text[: len(text) - len(text.lstrip())], style.face, style.size)
            a, b, c, d, e, f = style.matrix
            at_x, at_y = a * (x + indent) + c * line.y + e, b * (x + indent) + d * line.y + f
            yield Lettering(style.group, text.strip(), at_x, at_y, style.size, style.face)
        x += width


def write_svg(drawing: Drawing) -> bytes:
    """The drawing as a flat SVG file, its size in millimetres; the teacher's marks in ``OWN_INK``."""
    width, height = f"{drawing.width:g}", f"{drawing.height:g}"
    root = etree.fromstring(_EMPTY_SVG)
    root.set("width", f"{drawing.width / UNITS_A_MM:g}mm")
    root.set("height", f"{drawing.height / UNITS_A_MM:g}mm")
    root.set("viewBox", f"0 0 {width} {height}")
    defs = etree.SubElement(root, f"{_SVG}defs")
    for code, outline in drawing.glyphs.items():
        etree.SubElement(defs, f"{_SVG}path", id=code, d=_path_data(outline))
    for mark in drawing.marks:
        _write_mark(root, mark)
    return etree.tostring(root)


def _path_data(outline: Outline) -> str:
    return "".join(letter + " ".join(f"{value:.6g}" for value in at) for letter, at in outline)


def _write_mark(root: etree._Element, mark: Mark) -> None:
    own = {"fill": OWN_INK} if mark.group.number is not None else {}
    if isinstance(mark, Glyph):
        matrix = ",".join(f"{value:.6g}" for value in mark.matrix)
        etree.SubElement(root, f"{_SVG}use", {_HREF: f"#{mark.code}", "transform": f"matrix({matrix})", **own})
    elif isinstance(mark, Lettering):
        text = etree.SubElement(root, f"{_SVG}text", {**_text_attributes(mark), **own})
        text.text = mark.text
    else:
        stroke = {"stroke": OWN_INK} if own else {}
        etree.SubElement(root, f"{_SVG}path", {**own, **_shape_attributes(mark), **stroke})


def _text_attributes(mark: Lettering) -> dict[str, str]:
    attributes = {
        "x": f"{mark.x:.6g}",
        "y": f"{mark.y:.6g}",
        "font-family": mark.face.family,
        "font-size": f"{mark.size:g}",
    }
    if mark.face.bold:
        attributes["font-weight"] = "bold"
    if mark.face.italic:
        attributes["font-style"] = "italic"
    return attributes


def _shape_attributes(mark: Shape) -> dict[str, str]:
    attributes = {"d": _path_data(mark.outline), "stroke": "black", "stroke-width": f"{mark.width:g}"}
    if not mark.filled:
        attributes["fill"] = "none"
    if mark.cap != "butt":
        attributes["stroke-linecap"] = mark.cap
    if mark.dash:
        attributes["stroke-dasharray"] = " ".join(f"{value:g}" for value in mark.dash)
    return attributes
