"""What all tests share: Qt paints without a screen, all is said in English, no window or thread outlives its test."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["LANGUAGE"] = "en"

# The same examples in every run: a failure seen once is seen by everyone.
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")

EXAMPLE = Path(__file__).parent.parent / "examples" / "three-crossings.musicxml"


@pytest.fixture(scope="session")
def example() -> Path:
    """The suite that comes with Handframe."""
    return EXAMPLE
