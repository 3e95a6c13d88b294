"""The engraver of the commands: it may hang, crash or run riot, and one sentence says so."""

from __future__ import annotations

import multiprocessing
import os
import sys
import time

import pytest

from app.cli import engraver
from app.cli.engraver import engraver_apart
from app.errors import AppError
from app.main import main
from engraving.apart import BrokenOffError
from engraving.limits import LIMITS


def _crash() -> None:
    os.abort()


@pytest.mark.parametrize(
    ("work", "arguments", "sentence"),
    [
        (time.sleep, (600,), "x.xml is not engraved in 0.05 minutes: it is too long, or damaged"),
        (_crash, (), "x.xml: the engraver broke down over it"),
        pytest.param(
            bytes,
            (LIMITS.engrave_bytes,),
            "x.xml needs too much memory to be engraved: it is too long, or damaged",
            marks=pytest.mark.skipif(sys.platform != "linux", reason="only Linux keeps to a limit of address space"),
        ),
    ],
)
def test_no_answer_is_one_sentence_and_the_next_call_has_one(work, arguments, sentence):
    with engraver_apart("x.xml", seconds=3.0) as call:
        with pytest.raises(AppError) as raised:
            call(work, *arguments)
        assert str(raised.value) == sentence
        assert call(abs, -3) == 3
    assert not multiprocessing.active_children()


@pytest.mark.parametrize(
    "words",
    [
        ["finger", "{score}", "-o", "{out}.pdf"],
        ["finger", "{score}", "-o", "{out}.svg"],
        ["finger", "{score}", "-o", "{out}.mei"],
        ["finger", "{score}", "--part", "Violin", "--measures", "1-2", "-o", "{out}.png"],
        ["finger", "{score}", "--part", "Violin", "--measures", "1-2", "-o", "{out}.pdf"],
        ["parts", "{score}", "-o", "{out}.pdf"],
        ["parts", "{score}", "-o", "{out}"],
        ["sheet", "{score}", "--part", "Violin", "-o", "{out}.pdf"],
        ["compare", "{score}", "--part", "Violin", "--measures", "1-2", "--rules", "first", "--rules", "third",
         "-o", "{out}.pdf"],
    ],
    ids=" ".join,
)  # fmt: skip
def test_every_command_that_engraves_does_it_there(words, mini, tmp_path, monkeypatch, capsys):
    asked = []

    def crash(worker, work, *arguments, seconds):
        asked.append((work.__module__.partition(".")[0], seconds))
        raise BrokenOffError

    monkeypatch.setattr(engraver.Worker, "call", crash)
    out = tmp_path / "out"
    assert main([word.format(score=mini, out=out) for word in words]) == 2
    assert capsys.readouterr().err == "handframe: mini.musicxml: the engraver broke down over it\n"
    assert asked == [("engraving", LIMITS.engrave_seconds)]
    assert list(tmp_path.iterdir()) == [mini]
