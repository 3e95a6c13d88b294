"""A paint device that writes down what is painted on it as one flat SVG picture, lettering as outlines.

Such a picture needs no font and looks the same wherever it is shown. Qt's own generator would leave lettering as text.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from types import MappingProxyType

from lxml import etree
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import (
    QBrush,
    QColor,
    QPaintDevice,
    QPaintEngine,
    QPaintEngineState,
    QPainterPath,
    QPen,
    QPolygonF,
    QTransform,
)

from engraving.drawing import UNITS_A_MM

_SVG = "{http://www.w3.org/2000/svg}"
_EMPTY_SVG = b'<svg xmlns="http://www.w3.org/2000/svg"/>'
_UNITS_AN_INCH = 2540
_BLACK = "#000000"
_CAPS = MappingProxyType({Qt.PenCapStyle.RoundCap: "round", Qt.PenCapStyle.SquareCap: "square"})
_JOINS = MappingProxyType({Qt.PenJoinStyle.RoundJoin: "round", Qt.PenJoinStyle.BevelJoin: "bevel"})
_LETTERS = MappingProxyType({QPainterPath.ElementType.LineToElement: "L", QPainterPath.ElementType.CurveToElement: "C"})


class SvgDevice(QPaintDevice):
    """A white picture of that size, ``UNITS_A_MM`` units a millimetre, for one QPainter.

    It takes paths, lettering, lines and polygons in plain colours, but no images. The painter must have ended before it
    is asked for the picture.
    """

    def __init__(self, width_mm: float, height_mm: float, title: str) -> None:
        super().__init__()
        self._size = round(width_mm * UNITS_A_MM), round(height_mm * UNITS_A_MM)
        self._root = _empty(width_mm, height_mm, title)
        self._engine = _Engine(self._root)

    @property
    def picture(self) -> bytes:
        """The SVG file."""
        return etree.tostring(self._root, xml_declaration=True, encoding="UTF-8")

    def paintEngine(self) -> QPaintEngine:
        """What Qt paints with."""
        return self._engine

    def metric(self, metric: QPaintDevice.PaintDeviceMetric) -> int:
        """What Qt asks of the paper: its size and its dots an inch."""
        asked = QPaintDevice.PaintDeviceMetric
        width, height = self._size
        answers = {
            asked.PdmWidth: width,
            asked.PdmHeight: height,
            asked.PdmWidthMM: round(width / UNITS_A_MM),
            asked.PdmHeightMM: round(height / UNITS_A_MM),
            asked.PdmDpiX: _UNITS_AN_INCH,
            asked.PdmDpiY: _UNITS_AN_INCH,
            asked.PdmPhysicalDpiX: _UNITS_AN_INCH,
            asked.PdmPhysicalDpiY: _UNITS_AN_INCH,
            asked.PdmNumColors: 1 << 24,
            asked.PdmDepth: 24,
        }
        return answers.get(metric) or super().metric(metric)


class _Engine(QPaintEngine):
    """Adds one ``<path>`` to ``root`` for everything that is painted; Qt hands it lettering as outlines."""

    def __init__(self, root: etree._Element) -> None:
        super().__init__(QPaintEngine.PaintEngineFeature.AllFeatures)
        self._root = root

    def type(self) -> QPaintEngine.Type:
        return QPaintEngine.Type.User

    def begin(self, device: QPaintDevice) -> bool:
        return True

    def end(self) -> bool:
        return True

    def updateState(self, state: QPaintEngineState) -> None:
        """Nothing is kept: the painter is asked at every path."""

    def drawPath(self, path: QPainterPath) -> None:
        self._add(path, self.painter().brush())

    def drawPolygon(self, points: Iterable[QPointF], mode: QPaintEngine.PolygonDrawMode) -> None:
        path = QPainterPath()
        path.addPolygon(QPolygonF(list(points)))
        is_line = mode == QPaintEngine.PolygonDrawMode.PolylineMode
        if not is_line:
            path.closeSubpath()
        self._add(path, QBrush() if is_line else self.painter().brush())

    def _add(self, path: QPainterPath, brush: QBrush) -> None:
        painter = self.painter()
        transform = painter.combinedTransform()
        data = _path_data(transform.map(path))
        look = _fill(brush, path.fillRule()) | _stroke(painter.pen(), transform)
        if data and look != {"fill": "none"}:
            etree.SubElement(self._root, f"{_SVG}path", {"d": data, **look})


def _empty(width_mm: float, height_mm: float, title: str) -> etree._Element:
    """A white picture with its title."""
    width, height = width_mm * UNITS_A_MM, height_mm * UNITS_A_MM
    root = etree.fromstring(_EMPTY_SVG)
    root.set("width", f"{width_mm:g}mm")
    root.set("height", f"{height_mm:g}mm")
    root.set("viewBox", f"0 0 {width:g} {height:g}")
    etree.SubElement(root, f"{_SVG}title").text = title
    etree.SubElement(root, f"{_SVG}rect", width=f"{width:g}", height=f"{height:g}", fill="#ffffff")
    return root


def _path_data(path: QPainterPath) -> str:
    """The path in the units of the picture; every part that ends where it began is closed."""
    parts: list[list[str]] = []
    for element in (path.elementAt(index) for index in range(path.elementCount())):
        at = f"{_number(element.x)} {_number(element.y)}"
        if element.type == QPainterPath.ElementType.MoveToElement:
            parts.append([at])
        else:
            parts[-1].append(_LETTERS.get(element.type, " ") + at)
    return "".join(f"M{''.join(part)}{'Z' if _is_closed(part) else ''}" for part in parts if len(part) > 1)


def _is_closed(part: Sequence[str]) -> bool:
    return part[-1].lstrip("LC ") == part[0]


def _number(value: float) -> str:
    """To a thousandth of a millimetre."""
    return f"{round(value, 1) + 0.0:.1f}".removesuffix(".0")


def _fill(brush: QBrush, rule: Qt.FillRule) -> dict[str, str]:
    """Black needs no word, and neither does the rule that SVG begins with."""
    if brush.style() == Qt.BrushStyle.NoBrush:
        return {"fill": "none"}
    fill = _colour("fill", brush.color(), _BLACK)
    return fill if rule == Qt.FillRule.WindingFill else {**fill, "fill-rule": "evenodd"}


def _stroke(pen: QPen, transform: QTransform) -> dict[str, str]:
    if pen.style() == Qt.PenStyle.NoPen:
        return {}
    width = pen.widthF() * abs(transform.determinant()) ** 0.5
    stroke = _colour("stroke", pen.color(), "") | {"stroke-width": _number(width)}
    if pen.capStyle() in _CAPS:
        stroke["stroke-linecap"] = _CAPS[pen.capStyle()]
    if pen.joinStyle() in _JOINS:
        stroke["stroke-linejoin"] = _JOINS[pen.joinStyle()]
    if pen.dashPattern():
        stroke["stroke-dasharray"] = " ".join(_number(length * width) for length in pen.dashPattern())
    return stroke


def _colour(name: str, colour: QColor, usual: str) -> dict[str, str]:
    said = {} if colour.name() == usual else {name: colour.name()}
    return said if colour.alpha() == 255 else {**said, f"{name}-opacity": f"{colour.alphaF():.3g}"}
