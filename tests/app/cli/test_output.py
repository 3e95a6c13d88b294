"""What the commands print: on a disk that is full, and where the encoding does not have every sign."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path

import pytest

from app.cli.harmless import harmless
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


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a\x1b[31mb", r"a\x1b[31mb"), ("\x9b2J", r"\x9b2J"), ("\x07\x7f\0", r"\x07\x7f\x00"),
        ("sur\udcff", r"sur\udcff"),
        ("bad\rgood", r"bad\rgood"), ("\r 50%\r", "\r 50%\r"), ("Übung\t№ 3\n", "Übung\t№ 3\n"),
    ],
)  # fmt: skip
def test_signs_that_a_terminal_obeys_are_shown_by_their_numbers(text: str, shown: str) -> None:
    # ISO/IEC 6429: the control codes C0 and C1.
    assert harmless(text) == shown


def test_neither_names_of_files_nor_of_parts_order_the_terminal_about(
    mini: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mini.write_bytes(mini.read_bytes().replace(b"<part-name>Violin", "<part-name>Violin \x9b2J".encode()))
    assert main(["finger", str(mini)]) == 0
    assert main(["finger", str(tmp_path / "line\x1b[31m.xml")]) == 2
    told = capsys.readouterr()
    assert "Violin \\x9b2J" in told.out
    assert told.err.startswith("handframe: line\\x1b[31m.xml: there is no such file in ")


def test_the_program_runs_as_a_module(mini: Path) -> None:
    done = subprocess.run([sys.executable, "-m", "app.main", "finger", str(mini)], capture_output=True, check=True)
    assert b"Violin" in done.stdout
