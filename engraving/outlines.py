"""Outlines: the path data of SVG as absolute moves, lines and curves, and the same as points.

An outline is a tuple of steps ``(letter, coordinates)`` with letters M, L, C and Z and absolute coordinates
x, y, x, y, ... in the units of the drawing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Step = tuple[str, tuple[float, ...]]
Outline = tuple[Step, ...]
Matrix = tuple[float, float, float, float, float, float]

IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_TOKEN = re.compile(r"[A-Za-z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}
_CURVE_PARTS = np.linspace(0.0, 1.0, 13)[1:, None]
_CIRCLE = 0.5522847498  # control points of four cubic curves that make a circle


def multiply(outer: Matrix, inner: Matrix) -> Matrix:
    """The matrix that applies ``inner`` first, then ``outer`` (a, b, c, d, e, f as in SVG)."""
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f


def transformed(outline: Outline, matrix: Matrix) -> Outline:
    """The outline under a matrix."""
    if matrix == IDENTITY:
        return outline
    a, b, c, d, e, f = matrix
    steps = []
    for letter, at in outline:
        pairs = zip(at[::2], at[1::2], strict=True)
        steps.append((letter, tuple(v for x, y in pairs for v in (a * x + c * y + e, b * x + d * y + f))))
    return tuple(steps)


@dataclass(slots=True)
class _Pen:
    """Where the pen stands while path data is read, and the control point a smooth curve reflects."""

    x: float = 0.0
    y: float = 0.0
    start_x: float = 0.0
    start_y: float = 0.0
    control: tuple[float, float] | None = None
    last: str = ""

    def step(self, letter: str, values: list[float], *, relative: bool) -> Step:
        """One absolute step for one path command."""
        if letter == "Z":
            self.x, self.y, self.last = self.start_x, self.start_y, letter
            return "Z", ()
        dx, dy = (self.x, self.y) if relative else (0.0, 0.0)
        if letter == "H":
            points = [values[0] + dx, self.y]
        elif letter == "V":
            points = [self.x, values[0] + dy]
        else:
            points = [v + (dy if i % 2 else dx) for i, v in enumerate(values)]
        points = self._as_cubic(letter, points)
        if letter == "M":
            self.start_x, self.start_y = points
        self.x, self.y = points[-2:]
        self.last = letter
        return ("M" if letter == "M" else "C" if len(points) == 6 else "L"), tuple(points)

    def _as_cubic(self, letter: str, points: list[float]) -> list[float]:
        if letter == "C":
            self.control = (points[2], points[3])
        elif letter == "S":
            points = [*self._reflected("CS"), *points]
            self.control = (points[2], points[3])
        elif letter in "QT":
            bend = (points[0], points[1]) if letter == "Q" else self._reflected("QT")
            end_x, end_y = points[-2:]
            self.control = bend
            points = [
                self.x + 2 / 3 * (bend[0] - self.x), self.y + 2 / 3 * (bend[1] - self.y),
                end_x + 2 / 3 * (bend[0] - end_x), end_y + 2 / 3 * (bend[1] - end_y),
                end_x, end_y,
            ]  # fmt: skip
        return points

    def _reflected(self, after: str) -> tuple[float, float]:
        if self.control is None or self.last not in after:
            return self.x, self.y
        return 2 * self.x - self.control[0], 2 * self.y - self.control[1]


def parse_path(data: str) -> Outline:
    """Read SVG path data (all commands but the elliptical arc); ValueError for anything else."""
    tokens = _TOKEN.findall(data)
    pen, steps, at, command = _Pen(), [], 0, ""
    while at < len(tokens):
        if tokens[at].isalpha():
            command, at = tokens[at], at + 1
        elif command.upper() == "M":
            command = "l" if command == "m" else "L"  # further pairs after a move are lines
        letter = command.upper()
        if letter not in _ARGUMENTS or (letter == "Z" and at < len(tokens) and not tokens[at].isalpha()):
            raise ValueError(f"path data has an unexpected '{tokens[at - 1]}'")
        values = [float(token) for token in tokens[at : at + _ARGUMENTS[letter]]]
        at += _ARGUMENTS[letter]
        steps.append(pen.step(letter, values, relative=command.islower()))
    return tuple(steps)


def polygon(points: str, *, closed: bool) -> Outline:
    """The outline of an SVG ``points`` list."""
    values = [float(token) for token in _TOKEN.findall(points)]
    pairs = list(zip(values[::2], values[1::2], strict=True))
    steps: list[Step] = [("M" if i == 0 else "L", pair) for i, pair in enumerate(pairs)]
    return (*steps, ("Z", ())) if closed else tuple(steps)


def rectangle(x: float, y: float, width: float, height: float) -> Outline:
    """The outline of a rectangle."""
    right, bottom = x + width, y + height
    return ("M", (x, y)), ("L", (right, y)), ("L", (right, bottom)), ("L", (x, bottom)), ("Z", ())


def ellipse(cx: float, cy: float, rx: float, ry: float) -> Outline:
    """The outline of an ellipse as four curves."""
    kx, ky = rx * _CIRCLE, ry * _CIRCLE
    return (
        ("M", (cx + rx, cy)),
        ("C", (cx + rx, cy + ky, cx + kx, cy + ry, cx, cy + ry)),
        ("C", (cx - kx, cy + ry, cx - rx, cy + ky, cx - rx, cy)),
        ("C", (cx - rx, cy - ky, cx - kx, cy - ry, cx, cy - ry)),
        ("C", (cx + kx, cy - ry, cx + rx, cy - ky, cx + rx, cy)),
        ("Z", ()),
    )


def polylines(outline: Outline) -> list[Floats]:
    """One array of points [n, 2] for each stroke of the pen; curves are cut into twelve straight pieces."""
    strokes: list[list[Floats]] = []
    for letter, at in outline:
        points = np.array(at, dtype=float).reshape(-1, 2)
        if letter == "M":
            strokes.append([points])
        elif letter == "C":
            strokes[-1].append(_curve(strokes[-1][-1][-1], points))
        elif letter == "L":
            strokes[-1].append(points)
        else:
            strokes[-1].append(strokes[-1][0][:1])
    return [np.concatenate(stroke) for stroke in strokes]


def _curve(start: Floats, points: Floats) -> Floats:
    first, second, end = points
    t, s = _CURVE_PARTS, 1 - _CURVE_PARTS
    curve: Floats = s**3 * start + 3 * s * s * t * first + 3 * s * t * t * second + t**3 * end
    return curve


def bounds(outlines: Iterable[Outline]) -> tuple[float, float, float, float] | None:
    """The smallest box x0, y0, x1, y1 around all of them; ``None`` when they hold no point."""
    points = [stroke for outline in outlines for stroke in polylines(outline)]
    if not points:
        return None
    every = np.concatenate(points)
    (x0, y0), (x1, y1) = every.min(axis=0), every.max(axis=0)
    return float(x0), float(y0), float(x1), float(y1)
