"""What all tests share: Qt paints without a screen, and no window or thread outlives its test."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

os.environ["QT_QPA_PLATFORM"] = "offscreen"

EXAMPLE = Path(__file__).parent.parent / "examples" / "three-crossings.musicxml"


@pytest.fixture(scope="session")
def example() -> Path:
    """The suite that comes with Handframe."""
    return EXAMPLE
