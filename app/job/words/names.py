"""What house rules and positions are called on screen and on paper, in the user's language."""

from __future__ import annotations

from analysis.fingering.frames.letters import ordinal
from analysis.fingering.placements import THUMB_POSITION, Placement, hand_name
from analysis.fingering.position_words import short_position
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import Instrument
from analysis.language import _

_THUMB = "thumb"


def rules_title(rules: HouseRules) -> str:
    """The title of house rules; those that a teacher has named have no other in any language."""
    return _(rules.title) if rules.title else ""


def position_key(number: int, instrument: Instrument | None) -> str:
    """The name of a position's number as it is typed in every language: ``half``, ``1st``, ``thumb``."""
    by_thumb = instrument is not None and not instrument.letter_frame and number == THUMB_POSITION
    return _THUMB if by_thumb else ordinal(number)


def position_mark(name: str) -> str:
    """A position as it stands over a note, by the name of its :class:`HandPlace`: ``3rd pos.``"""
    return _("thumb pos.") if name == _THUMB else _("{position} pos.").format(position=short_position(name))


def hand_mark(placement: Placement, instrument: Instrument) -> str:
    """The same for where the hand lies."""
    return position_mark(hand_name(placement, instrument))
