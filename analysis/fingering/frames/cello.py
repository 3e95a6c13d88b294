"""The hand frames of the cello: closed and extended hand on the neck, three fingers above it, thumb position.

Closed hand: fingers 1 to 4 a semitone apart. Extended: a whole tone from first to second finger, forwards from where
the first lies or with the first drawn back (thecellocompanion.info, "Three finger positions"; audreywilliamsmusic.com,
first-position chart). Names of the neck positions: University of Idaho Pressbooks, Violoncellschule, article on
positions; the second name: thecellocompanion.info. Above the neck and in thumb position: common practice, no source.
"""

from __future__ import annotations

from types import MappingProxyType

from analysis.fingering.frames.semitones import SemitoneFrame, Shape, thumb_shape
from analysis.fingering.frames.stops import HandPlace, Lie

_NORMAL, _EXTENDED = Lie.NORMAL, Lie.EXTENDED

_NECK = Shape(
    hands=(
        HandPlace(1.0, 0, "half", ("lower 1st",)),
        HandPlace(2.0, 1, "1st"),
        HandPlace(3.0, 2, "lower 2nd", ("1 1/2", "upper 1st")),
        HandPlace(4.0, 2, "upper 2nd", ("2nd", "lower 3rd")),
        HandPlace(5.0, 3, "3rd"),
        HandPlace(6.0, 3, "upper 3rd", ("3 1/2", "lower 4th")),
        HandPlace(7.0, 4, "4th"),
    ),
    reach=MappingProxyType(
        {
            1: {-1: _EXTENDED, 0: _NORMAL},
            2: {1: _NORMAL, 2: _EXTENDED},
            3: {2: _NORMAL, 3: _EXTENDED},
            4: {3: _NORMAL, 4: _EXTENDED},
        }
    ),
    # Only between first and second finger does the hand open.
    apart=MappingProxyType(
        {(1, 2): (1, 2), (1, 3): (2, 3), (1, 4): (3, 4), (2, 3): (1, 1), (2, 4): (2, 2), (3, 4): (1, 1)}
    ),
    # A whole tone is trilled with the next finger but one, or with an open hand.
    trills=frozenset({(1, 2), (2, 3), (3, 4), (1, 3), (2, 4)}),
)

_ABOVE = Shape(
    hands=(
        HandPlace(8.0, 5, "lower 5th", ("upper 4th",)),
        HandPlace(9.0, 5, "upper 5th"),
        HandPlace(10.0, 6, "lower 6th"),
        HandPlace(11.0, 6, "upper 6th"),
        HandPlace(12.0, 7, "7th"),
    ),
    reach=MappingProxyType(
        {1: {0: _NORMAL}, 2: {1: _NORMAL, 2: _NORMAL}, 3: {2: _NORMAL, 3: _NORMAL, 4: _EXTENDED}},
    ),
    apart=MappingProxyType({(1, 2): (1, 2), (1, 3): (2, 4), (2, 3): (1, 2)}),
    trills=frozenset({(1, 2), (2, 3)}),
)

# The fourth finger reaches from fourth position to the harmonic in the middle of the string.
CELLO_FRAME = SemitoneFrame((_NECK, _ABOVE, thumb_shape(7, 24)), highest=(28, 24, 17), closed_span=3, octave_hand=7.0)
