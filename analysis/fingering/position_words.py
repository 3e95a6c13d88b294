"""What the positions of the hand are called in the user's language: by themselves, in full, and after "in"."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from analysis.language import _, later


@dataclass(frozen=True, slots=True)
class _Position:
    """A name as it stands in a column, ``1st``; with the noun; and as a sentence says where the hand is."""

    short: str
    full: str
    inside: str


_POSITIONS: Mapping[str, _Position] = MappingProxyType(
    {
        one.short: one
        for one in (
            _Position(later("half"), later("half position"), later("in half position")),
            _Position(later("1st"), later("1st position"), later("in 1st position")),
            _Position(later("2nd"), later("2nd position"), later("in 2nd position")),
            _Position(later("3rd"), later("3rd position"), later("in 3rd position")),
            _Position(later("4th"), later("4th position"), later("in 4th position")),
            _Position(later("5th"), later("5th position"), later("in 5th position")),
            _Position(later("6th"), later("6th position"), later("in 6th position")),
            _Position(later("7th"), later("7th position"), later("in 7th position")),
            _Position(later("8th"), later("8th position"), later("in 8th position")),
            _Position(later("9th"), later("9th position"), later("in 9th position")),
            _Position(later("10th"), later("10th position"), later("in 10th position")),
            _Position(later("11th"), later("11th position"), later("in 11th position")),
            _Position(later("12th"), later("12th position"), later("in 12th position")),
            _Position(later("thumb"), later("thumb position"), later("in thumb position")),
            _Position(later("lower 2nd"), later("lower 2nd position"), later("in lower 2nd position")),
            _Position(later("upper 2nd"), later("upper 2nd position"), later("in upper 2nd position")),
            _Position(later("upper 3rd"), later("upper 3rd position"), later("in upper 3rd position")),
            _Position(later("lower 5th"), later("lower 5th position"), later("in lower 5th position")),
            _Position(later("upper 5th"), later("upper 5th position"), later("in upper 5th position")),
            _Position(later("lower 6th"), later("lower 6th position"), later("in lower 6th position")),
            _Position(later("upper 6th"), later("upper 6th position"), later("in upper 6th position")),
            _Position(later("2nd-3rd"), later("2nd-3rd position"), later("in 2nd-3rd position")),
            _Position(later("3rd-4th"), later("3rd-4th position"), later("in 3rd-4th position")),
            _Position(later("5th-6th"), later("5th-6th position"), later("in 5th-6th position")),
            _Position(later("6th-7th"), later("6th-7th position"), later("in 6th-7th position")),
        )
    }
)


def short_position(name: str) -> str:
    """A position by the name of its :class:`HandPlace`, without the noun: ``1st``, ``lower 2nd``, ``thumb``."""
    return _(_POSITIONS[name].short)


def full_position(name: str) -> str:
    """The same with the noun: ``1st position``."""
    return _(_POSITIONS[name].full)


def in_position(name: str) -> str:
    """Where the hand lies, to follow a finger or a verb: ``in 1st position``."""
    return _(_POSITIONS[name].inside)
