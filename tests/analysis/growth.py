"""How the work grows with the music, counted in lines of code that are run: the same on every machine."""

from __future__ import annotations

import sys
from collections.abc import Callable
from types import FrameType


def lines_run(call: Callable[[], object], within: str) -> int:
    """How many lines one call runs of the files whose paths begin with ``within``."""
    count = 0

    def trace(frame: FrameType, event: str, _: object):
        nonlocal count
        count += event == "line"
        return trace if frame.f_code.co_filename.startswith(within) else None

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        call()
    finally:
        sys.settrace(before)
    return count
