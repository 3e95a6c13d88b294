"""Projects whose work was edited at random: they open, as far as they read, or one sentence says why not."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from analysis.errors import AnalysisError
from app.errors import AppError
from app.job.files.opening import open_any
from app.job.project.file import open_project, save_project
from app.job.project.work_json import work_to_json
from engraving.errors import EngravingError
from tests.scores import full_score, part
from tests.strategies import edited

MUSIC = full_score(part("Violin", "4/4", "D5/1@n1 E5@n2 F#5@n3 G5@n4"), part("Viola", "4/4", "D4/4@m1"))
SOUND: dict[str, Any] = json.loads((Path(__file__).parent / "project_version_1.json").read_text(encoding="utf-8"))
OURS = (AppError, AnalysisError, EngravingError)


def packed(work: Any) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("score.musicxml", MUSIC)
        archive.writestr("work.json", json.dumps(work))
    return buffer.getvalue()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("edited")


def test_the_project_that_is_edited_is_sound(folder: Path) -> None:
    path = folder / "sound.handframe"
    path.write_bytes(packed(SOUND))
    assert open_project(path).losses == ()


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(work=edited(SOUND))
def test_an_edited_project_opens_and_is_saved_and_fingered_or_one_sentence_says_why_not(
    folder: Path, work: Any
) -> None:
    path, again = folder / "edited.handframe", folder / "again.handframe"
    path.write_bytes(packed(work))
    try:
        opened = open_any(path)
        for one in opened.score.parts:
            opened.work.parts[one.id].plan(one)
    except OURS as error:
        said = str(error)
    else:
        said = ""
    assert "\n" not in said
    if said:
        return
    assert all("\n" not in fault for fault in opened.faults)
    save_project(again, opened.document, opened.work)
    found = open_project(again)
    assert found.losses == ()
    assert work_to_json("x", found.work)["parts"].keys() >= {one.id for one in opened.score.parts}
