"""A Python process under guard, with what it and its children asked the network for."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

_GUARD = Path(__file__).parent / "guard"
_ROOT = Path(__file__).parents[2]


@dataclass(frozen=True, slots=True)
class Outcome:
    """How a run ended: its exit status, what it said, how many processes it had, every use of the network."""

    status: int
    said: str
    processes: int
    network: str


def run_guarded(words: Sequence[str], folder: Path) -> Outcome:
    """Run ``python WORDS...`` in ``folder``, which is its home too, under guard."""
    log = folder / "network.log"
    places = {name: str(folder) for name in ("HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME")}
    paths = {"PYTHONPATH": os.pathsep.join([str(_GUARD), str(_ROOT)]), "NETWORK_LOG": str(log)}
    done = subprocess.run(
        [sys.executable, *words],
        cwd=folder,
        env={**os.environ, **places, **paths},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=120,
        check=False,
    )
    lines = log.read_text().splitlines()
    log.unlink()
    starts = [line for line in lines if line.startswith("started ")]
    return Outcome(done.returncode, done.stdout, len(starts), "\n".join(line for line in lines if line not in starts))
