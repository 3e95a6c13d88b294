"""The example score that is installed with the program."""

from __future__ import annotations

from importlib import resources
from pathlib import Path


def example_score() -> Path:
    """Where the example lies."""
    return Path(str(resources.files("app") / "example" / "three-crossings.musicxml"))
