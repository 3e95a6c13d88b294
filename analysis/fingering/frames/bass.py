"""The hand frames of the double bass: 1-2-4 a semitone apart, and thumb position beyond.

Fingers 1, 2, 4 a semitone apart: asodb.com, "sp4". Half position and eleven others: contents of Simandl's New Method
for String Bass (ed. Sankey); half and first position by notes: fowlerbass.com, ch. 4. Method books name the positions
with Roman numerals; since those name strings too, the numerals are only second names here. Names above first: from
memory. Thumb position: common practice, no source.
"""

from __future__ import annotations

from types import MappingProxyType

from analysis.fingering.frames.semitones import SemitoneFrame, Shape, thumb_shape
from analysis.fingering.frames.stops import HandPlace, Lie

# A hand between two positions counts with the lower one.
_NECK = Shape(
    hands=(
        HandPlace(1.0, 0, "half"),
        HandPlace(2.0, 1, "1st", ("I",)),
        HandPlace(3.0, 2, "2nd", ("II",)),
        HandPlace(4.0, 2, "2nd-3rd", ("II-III",)),
        HandPlace(5.0, 3, "3rd", ("III",)),
        HandPlace(6.0, 3, "3rd-4th", ("III-IV",)),
        HandPlace(7.0, 4, "4th", ("IV",)),
        HandPlace(8.0, 5, "5th", ("V",)),
        HandPlace(9.0, 5, "5th-6th", ("V-VI",)),
        HandPlace(10.0, 6, "6th", ("VI",)),
        HandPlace(11.0, 6, "6th-7th", ("VI-VII",)),
        HandPlace(12.0, 7, "7th", ("VII",)),
    ),
    reach=MappingProxyType({1: {0: Lie.NORMAL}, 2: {1: Lie.NORMAL}, 4: {2: Lie.NORMAL}}),
    apart=MappingProxyType({(1, 2): (1, 1), (1, 4): (2, 2), (2, 4): (1, 1)}),
    # A whole tone is trilled with first and fourth finger.
    trills=frozenset({(1, 2), (2, 4), (1, 4)}),
)

BASS_FRAME = SemitoneFrame((_NECK, thumb_shape(12, 24)), highest=(24, 24, 17), closed_span=2)
