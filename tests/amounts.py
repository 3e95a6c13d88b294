"""How much is tried: part of a corpus and some random cases in every run, all and many with ``TRY=all``."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

_V = TypeVar("_V")

ALL = os.environ.get("TRY") == "all"


def sampled(scores: Sequence[_V], first: int = 0) -> list[_V]:
    """Every eighth score for a sweep, so that a run of all tests stays short; or all of them."""
    return list(scores) if ALL else list(scores[first::8])


def cases(some: int, many: int) -> int:
    """So many random cases."""
    return many if ALL else some
