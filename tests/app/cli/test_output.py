"""What the commands print: on a disk that is full, and where the encoding does not have every sign."""

from __future__ import annotations

import io
from pathlib import Path

import pytest

from app.main import main


def test_a_disk_that_is_full_under_the_output_is_told_in_one_sentence(
    mini: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # Linux, full(4): every write to this device fails as on a full disk.
    with io.TextIOWrapper(io.BufferedWriter(io.FileIO("/dev/full", "w"))) as full:
        monkeypatch.setattr("sys.stdout", full)
        assert main(["finger", str(mini)]) == 2
    assert capsys.readouterr().err == "handframe: the output cannot be written: No space left on device\n"


@pytest.mark.parametrize(
    ("encoding", "errors"), [("ascii", "strict"), ("ascii", "surrogateescape"), ("cp1252", "strict")]
)
def test_a_sign_that_the_output_does_not_have_is_shown_by_its_number(
    mini: Path, monkeypatch: pytest.MonkeyPatch, encoding: str, errors: str
) -> None:
    mini.write_bytes(mini.read_bytes().replace(b"<part-name>Violin", "<part-name>Violin \N{MUSIC SHARP SIGN}".encode()))
    data = io.BytesIO()
    monkeypatch.setattr("sys.stdout", io.TextIOWrapper(data, encoding=encoding, errors=errors))
    assert main(["finger", str(mini)]) == 0
    assert b"Violin \\u266f" in data.getvalue()
