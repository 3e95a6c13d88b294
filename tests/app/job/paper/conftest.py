"""An open score and how its parts are printed."""

from __future__ import annotations

import pytest

from app.job.files.opening import open_any
from tests.app.job.paper.copies import PLAIN, THREE


@pytest.fixture
def job(qapp, tmp_path):
    """An open score and the work on it, with the copies of its parts in their order."""

    def made(data=THREE, *copies, printing=PLAIN):
        path = tmp_path / "score.musicxml"
        path.write_bytes(data)
        score = open_any(path)
        wanted = dict(zip((one.id for one in score.score.parts), copies, strict=False))
        return score, score.work.printed_as(printing, wanted)

    return made
