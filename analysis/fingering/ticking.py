"""How long work tells how far it is, and how it is stopped: a function called with the share done, 0 to 1."""

from __future__ import annotations

from collections.abc import Callable

Tick = Callable[[float], None]


def no_tick(share: float) -> None:
    """Tell nobody."""


def part_of(tick: Tick, number: int, parts: int) -> Tick:
    """A tick for one of several equal parts of the work, ``number`` counting from 0."""
    return lambda share: tick((number + share) / parts)
