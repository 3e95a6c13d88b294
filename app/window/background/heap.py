"""The memory that the C library keeps of what was freed.

By itself it gives each thread a heap of its own, and what one of them frees no other uses again: while music is
engraved and drawn on several threads again and again, memory grows though nothing more is held.
"""

from __future__ import annotations

import ctypes
from typing import Any

_ARENA_MAX = -8  # M_ARENA_MAX of GNU malloc.h


def share_one_heap() -> None:
    """Have all threads that begin later use one heap; where the C library knows no others, there is nothing to do."""
    choose = _library_call("mallopt")
    if choose is not None:
        choose(_ARENA_MAX, 1)


def give_back() -> None:
    """Give what is kept of freed memory back to the system, where the C library can."""
    trim = _library_call("malloc_trim")
    if trim is not None:
        trim(0)


def _library_call(name: str) -> Any:
    try:
        return getattr(ctypes.CDLL(None), name, None)
    except (OSError, TypeError):  # Windows has no library without a name
        return None
