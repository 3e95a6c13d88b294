"""A chart of the fingerboard, to scale: the strings, the tapes of a school instrument, and where the fingers fall.

The nut is at the top and the lowest string on the left, as one looks at the instrument from the front. Along the
strings every length is that on the instrument times one factor. Lengths in mm: the caller scales the QPainter.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from types import MappingProxyType

from analysis.fingering.placements import HandPlace, Lie, Placement, along_string, finger_text, hand_places
from analysis.fingering.position_words import short_position
from analysis.instruments import Instrument
from analysis.language import _, later, p_
from engraving.drawing import Typeface
from engraving.metrics import TEXT_FAMILY, FontMetrics, data_folder
from engraving.page import Rect

# A dot: its size at most and at least, its share of the way to the next one, how far its point reaches and how
# large a lozenge is, in radii.
MOST_DOT, LEAST_DOT, _SHARE, POINT, LOZENGE = 4.2, 3.3, 0.9, 1.45, 1.3
# From the top: letters of the strings, open strings, nut.
_NUT, NUT_THICK, _OPENGAP = 9.6, 0.9, 0.3
# Lettering, and the height of a capital in parts of the em.
LETTER_EM, WORD_EM, _CAPITAL = 3.6, 2.45, 0.66
# Beside the board: the numbers of the tapes on the left, the names of positions on the right.
_LEFT, TICK, POSITION_WORD = 5.4, 2.2, later("pos.")
# From the edge of the board to the outer strings, with room for a word; between a dot and a word.
_EDGE, GAP = 7.1, 0.5
# How far round a dot its ring lies; the sizes of a word that has no room before the next string, in parts.
RING, _WORD_SIZES = 0.55, (1.0, 0.9, 0.82, 0.75)
# How much of the board is shown, in semitones: before the first stop, up to this stop at the least, and from the nut
# where no more than this would be left out.
_BEFORE, _LEAST_SHOWN, _LEAST_BREAK = 1.2, 5.0, 5.0
# The height of what stands for a part of the board that is left out, and that of the board beyond the last stop.
_BREAK, _END = 5.0, 3.4
# The least height of any chart; the most that one needs, and the most that one wants.
_HEIGHTS = (38.0, 52.0, 62.0)
_FACE = Typeface(TEXT_FAMILY)


@dataclass(frozen=True, slots=True)
class Tape:
    """A tape across the board ``place`` semitones from the nut, under the finger that first position has there."""

    place: int
    finger: int


# Violin and viola: first finger, high second, third and fourth. Cello: first, third and fourth finger of the closed
# hand. Bass: first and fourth finger. All in first position (all common practice, no source).
_TAPES: Mapping[str, tuple[Tape, ...]] = MappingProxyType(
    {
        "letters": (Tape(2, 1), Tape(4, 2), Tape(5, 3), Tape(7, 4)),
        "cello": (Tape(2, 1), Tape(4, 3), Tape(5, 4)),
        "bass": (Tape(2, 1), Tape(4, 4)),
    }
)


def usual_tapes(instrument: Instrument) -> tuple[Tape, ...]:
    """The tapes that a school puts on the instrument."""
    return _TAPES[instrument.frame]


@dataclass(frozen=True, slots=True)
class Dot:
    """A finger at a stop of the chart; ``name`` is what the note is called there, ``F♯``; ``ringed``: in a ring."""

    placement: Placement
    name: str = ""
    ringed: bool = False

    @property
    def where(self) -> tuple[int, int]:
        """Its string and its stop in semitones above the open string."""
        return self.placement.string, self.placement.place

    @property
    def word(self) -> str:
        """How the finger lies, "" for its usual place: low, high, extended, or only touching the string."""
        if self.placement.harmonic:
            return p_("finger", "touch")
        words = {Lie.LOW: p_("finger", "low"), Lie.HIGH: p_("finger", "high"), Lie.EXTENDED: p_("finger", "ext.")}
        return words.get(self.placement.lie, "")

    @property
    def leans(self) -> int:
        """Towards which end of the string the finger lies out of its usual place: -1 the nut, 1 the bridge, 0 none."""
        placement = self.placement
        if placement.harmonic or placement.lie in (Lie.OPEN, Lie.NORMAL):
            return 0
        back = placement.lie is Lie.LOW or (placement.lie is Lie.EXTENDED and placement.place < placement.hand)
        return -1 if back else 1


@dataclass(frozen=True)
class FingerboardChart:
    """What a chart shows: the ``instrument`` in the size that is played, a dot for each way of stopping, and tapes.

    ``hands_for``: the placements whose positions are named beside the board, those of the dots where it is empty.
    ``reach``: the board is shown from the nut up to this stop at the least; 0 shows what the dots need.
    """

    instrument: Instrument
    dots: tuple[Dot, ...]
    tapes: tuple[Tape, ...]
    hands_for: tuple[Placement, ...] = ()
    reach: float = 0.0

    @property
    def stopped(self) -> tuple[Dot, ...]:
        """The dots on the board; those of open strings stand above it."""
        return tuple(dot for dot in self.dots if not dot.placement.is_open)

    @cached_property
    def hands(self) -> tuple[HandPlace, ...]:
        """Where the hand lies for the dots, from the nut up."""
        played = [way for way in self.hands_for if not way.is_open] or [dot.placement for dot in self.stopped]
        used = {(placement.position, placement.hand) for placement in played}
        places = [hand for hand in hand_places(self.instrument) if (hand.number, hand.place) in used]
        return tuple(sorted(places, key=lambda hand: hand.place))

    @cached_property
    def window(self) -> tuple[float, float]:
        """From where to where the board is shown, in semitones above the open string.

        It begins at the nut unless all is played above the lowest tapes.
        """
        tapes = [tape.place for tape in self.tapes]
        stops = [float(dot.placement.place) for dot in self.stopped]
        first = min([*stops, *(hand.place for hand in self.hands)], default=0.0) - _BEFORE
        if self.reach or first < max(tapes, default=_LEAST_BREAK) - _BEFORE:
            return 0.0, max([*stops, *tapes, _LEAST_SHOWN, self.reach])
        return first, max(stops)

    @property
    def wanted_height(self) -> float:
        """How high it should be for the largest dots to stand clear of one another, within reason."""
        return self._height(MOST_DOT, _HEIGHTS[2])

    @property
    def least_height(self) -> float:
        """How high it has to be to be read."""
        return self._height(LEAST_DOT, _HEIGHTS[1])

    def _height(self, dot: float, most: float) -> float:
        low, high = (self.instrument.distance_mm(place) for place in self.window)
        factor = dot / _SHARE / min(self.gaps(), default=high)
        return min(max(_NUT + (_BREAK if low else 0.0) + (high - low) * factor + _END, _HEIGHTS[0]), most)

    def gaps(self) -> Iterator[float]:
        """The distances of neighbouring stops, string by string, on the instrument."""
        stops = sorted({dot.where for dot in self.stopped})
        for _string, on_string in itertools.groupby(stops, key=lambda where: where[0]):
            for (_string, low), (_string, high) in itertools.pairwise(on_string):
                yield self.instrument.distance_mm(high) - self.instrument.distance_mm(low)


@dataclass(frozen=True, slots=True)
class Spot:
    """All that falls on one stop of one string, as a dot of ``radius`` at ``x``, ``y``.

    ``text`` names the fingers, ``words`` how they lie where that is not their usual place, ``names`` the notes.
    ``leans`` is that of the fingers where they agree. ``side``: -1 where it gives way to the left, 1 to the right.
    """

    x: float
    y: float
    radius: float
    text: str
    words: str = ""
    names: str = ""
    leans: int = 0
    side: int = 0
    touches: bool = False
    ringed: bool = False

    @property
    def half_width(self) -> float:
        """From its middle to its side: more than the radius where several fingers stand in it."""
        return self.radius * (LOZENGE if self.touches else 1.0) * (1 + 0.35 * (len(self.text) - 1))

    @property
    def reach(self) -> float:
        """From its middle to the side of its ring, or to its own where it has none."""
        return self.half_width + RING * self.ringed

    @property
    def box(self) -> Rect:
        """All that it covers, its point and its ring included."""
        ring = RING * self.ringed
        up, down = ((POINT if self.leans == side else 1.0) * self.radius + ring for side in (-1, 1))
        return Rect(self.x - self.reach, self.y - up, self.x + self.reach, self.y + down)


@dataclass(frozen=True, slots=True)
class Label:
    """A word whose baseline begins at ``x``, ``y``; ``box`` is the room it takes."""

    text: str
    x: float
    y: float
    em: float
    box: Rect


@dataclass(frozen=True)
class ChartLayout:
    """Where everything of a chart lies in ``rect``."""

    chart: FingerboardChart
    rect: Rect
    metrics: FontMetrics

    @property
    def nut(self) -> float:
        """The height of the nut's edge, from which the strings sound."""
        return self.rect.y0 + _NUT

    @property
    def top(self) -> float:
        """Where the window begins: below the nut where what lies between them is left out."""
        return self.nut + (_BREAK if self.chart.window[0] else 0.0)

    @property
    def factor(self) -> float:
        """Lengths on the chart over those on the instrument, along the strings."""
        low, high = (self.chart.instrument.distance_mm(place) for place in self.chart.window)
        return (self.rect.y1 - _END - self.top) / (high - low)

    def y(self, place: float) -> float:
        """The height of a stop so many semitones above the open string."""
        instrument = self.chart.instrument
        return self.top + (instrument.distance_mm(place) - instrument.distance_mm(self.chart.window[0])) * self.factor

    @cached_property
    def board(self) -> tuple[float, float]:
        """The left and the right edge of the board."""
        names = [_(POSITION_WORD), *(short_position(hand.name) for hand in self.chart.hands)]
        right = max(self.metrics.width(name, _FACE, WORD_EM) for name in names) + TICK
        return self.rect.x0 + _LEFT, self.rect.x1 - right

    @property
    def spacing(self) -> float:
        """From string to string."""
        left, right = self.board
        return (right - left - 2 * _EDGE) / (len(self.chart.instrument.strings) - 1)

    def x(self, string: int) -> float:
        """Where a string lies; 1 is the highest, on the right."""
        return self.board[1] - _EDGE - self.spacing * (string - 1)

    @cached_property
    def radius(self) -> float:
        """Half the size of a dot: as large as the nearest stops of one string allow, within limits."""
        nearest = min(self.chart.gaps(), default=MOST_DOT / self.factor) * self.factor
        return min(max(nearest * _SHARE, LEAST_DOT), MOST_DOT) / 2

    @property
    def tapes(self) -> tuple[tuple[Tape, float], ...]:
        """The tapes in the window with their heights."""
        low, high = self.chart.window
        return tuple((tape, self.y(tape.place)) for tape in self.chart.tapes if low < tape.place <= high)

    @property
    def hands(self) -> tuple[tuple[HandPlace, float, float], ...]:
        """Each place of the hand, its height and that of its name: names keep clear of one another."""
        found, free = [], self.rect.y0
        for hand in self.chart.hands:
            named = max(self.y(hand.place), free)
            found.append((hand, self.y(hand.place), named))
            free = named + WORD_EM
        return tuple(found)

    @cached_property
    def spots(self) -> tuple[Spot, ...]:
        """A spot for every stop, string by string; where they would touch they give way to both sides in turn."""
        found: list[Spot] = []
        dots = sorted(self.chart.dots, key=lambda dot: dot.where)
        for (string, place), group in itertools.groupby(dots, key=lambda dot: dot.where):
            open_y = self.nut - NUT_THICK - self.radius - _OPENGAP
            x, y = self.x(string), self.y(place) if place else open_y
            spot = _spot(list(group), x, y, self.radius)
            before = found[-1] if found else None
            if before and place and before.y >= self.top and self._too_near(before, spot, x):
                if not before.side:
                    before = found[-1] = replace(before, x=x - self.radius, side=-1)
                spot = replace(spot, x=x - before.side * self.radius, side=-before.side)
            found.append(spot)
        return tuple(found)

    def _too_near(self, before: Spot, spot: Spot, x: float) -> bool:
        same_string = abs(before.x - x) < self.spacing / 2
        return same_string and spot.y - before.y < 2 * self.radius

    @cached_property
    def labels(self) -> tuple[Label, ...]:
        """How fingers lie, and what notes are called, beside the spots; left out where there is no room.

        None lies on another string: it is set smaller rather than that. Only what is said of several fingers may.
        """
        taken = [spot.box for spot in self.spots]
        strings = [self._line_of(string.number) for string in self.chart.instrument.strings]
        found: list[Label] = []
        asked = [(spot, spot.words, (1, -1)) for spot in self.spots] + [
            (spot, spot.names, (-1, 1)) for spot in self.spots if spot.y > self.nut
        ]
        for spot, text, sides in asked:
            keep = taken if text is spot.words and "," in text else taken + strings
            label = self._label(spot, text, (spot.side,) if spot.side else sides, keep) if text else None
            if label is not None:
                taken.append(_widened(label.box, GAP))
                found.append(label)
        return tuple(found)

    def _line_of(self, string: int) -> Rect:
        """What a word keeps clear of a string."""
        x = self.x(string)
        return Rect(x - GAP, self.nut, x + GAP, self.rect.y1)

    def _label(self, spot: Spot, text: str, sides: Sequence[int], taken: Sequence[Rect]) -> Label | None:
        """A word beside a spot, on the first side with room for it in full size, else in a smaller size."""
        full = self.metrics.width(text, _FACE, WORD_EM)
        for size in _WORD_SIZES:
            width, rise = full * size, WORD_EM * size * _CAPITAL / 2
            for side in sides:
                x = spot.x + side * (spot.reach + GAP) - (width if side < 0 else 0)
                box = Rect(x, spot.y - rise, x + width, spot.y + rise)
                inside = self.board[0] <= box.x0 and box.x1 <= self.board[1]
                if inside and not any(box.touches(other) for other in taken):
                    return Label(text, x, box.y1, WORD_EM * size, box)
        return None


def _widened(box: Rect, more: float) -> Rect:
    return Rect(box.x0 - more, box.y0, box.x1 + more, box.y1)


def lay_out(chart: FingerboardChart, rect: Rect) -> ChartLayout:
    """The places of a chart in a rectangle of its least height or more."""
    return ChartLayout(chart, rect, FontMetrics(data_folder()))


def _spot(dots: Sequence[Dot], x: float, y: float, radius: float) -> Spot:
    """The dots of one stop, the fingers in their order along the string."""
    ordered = sorted(dots, key=lambda dot: along_string(dot.placement.finger))
    fingers = list(dict.fromkeys(finger_text(dot.placement.finger) for dot in ordered))
    words = dict.fromkeys((dot.word, finger_text(dot.placement.finger)) for dot in ordered)
    alike = len({word for word, _ in words}) == 1
    leans = {dot.leans for dot in ordered}
    return Spot(
        x, y, radius,
        text="·".join(fingers),
        words=ordered[0].word if alike else ", ".join(f"{word} {finger}" for word, finger in words if word),
        names="/".join(dict.fromkeys(dot.name for dot in ordered if dot.name)),
        leans=leans.pop() if len(leans) == 1 else 0,
        touches=all(dot.placement.harmonic for dot in ordered),
        ringed=any(dot.ringed for dot in ordered),
    )  # fmt: skip
