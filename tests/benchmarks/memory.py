"""How much memory a process has, where the system tells (Linux, proc(5)); elsewhere its peak stands for all."""

from __future__ import annotations

import re
import resource
from pathlib import Path

_STATUS, _REFS = Path("/proc/self/status"), Path("/proc/self/clear_refs")


def forget_peak() -> None:
    """Have the peak of memory measured from here on."""
    if _REFS.exists():
        _REFS.write_text("5")


def peak_mb() -> float:
    """The most memory that this process had at once, in MB, since it began or :func:`forget_peak`."""
    return _told("VmHWM")


def current_mb() -> float:
    """The memory that this process has now, in MB."""
    return _told("VmRSS")


def _told(name: str) -> float:
    if _STATUS.exists():
        found = re.search(rf"{name}:\s+(\d+) kB", _STATUS.read_text())
        if found is not None:
            return int(found[1]) / 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
