"""Nothing is fetched and nobody is told anything: no command uses a network, nor the window, nor what they start."""

from __future__ import annotations

import sys

import pytest

from tests.scores import score
from tests.supply.guarded import run_guarded

# Addresses that a careless reader would fetch; RFC 2606 keeps the domain example.com for such uses. The document type
# is that of MusicXML 4.0 (W3C Community Group Report "MusicXML 4.0").
_ADDRESSES = b"""<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN"
  "http://www.example.com/dtds/partwise.dtd">
<?xml-stylesheet href="http://www.example.com/style.xsl" type="text/xsl"?>
"""
_LOGO = (
    b'<credit page="1"><credit-image source="http://www.example.com/logo.png" type="image/png"/></credit><part-list>'
)
_TUNE = "X:1\nT:Tune\nM:4/4\nL:1/4\nK:D\nDEFG|A4|\n"
_COMMAND = "import sys; from app.main import main; sys.exit(main(sys.argv[1:]))"


@pytest.fixture
def folder(tmp_path):
    """A folder with a score full of addresses and a tune to convert."""
    plain = score("Violin", "4/4", "D5/1 E5 F#5 G5 | A5/4", key=2)
    head, root, rest = plain.partition(b"<score-partwise")
    start = head.partition(b"<!DOCTYPE")[0]
    (tmp_path / "score.musicxml").write_bytes(start + _ADDRESSES + root + rest.replace(b"<part-list>", _LOGO, 1))
    (tmp_path / "tune.abc").write_text(_TUNE, encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(
    ("words", "written"),
    [
        (
            "finger score.musicxml -o o.csv -o o.mei -o o.musicxml -o o.pdf --part 1 -o o.png",
            "o.csv o.mei o.musicxml o.pdf o.png",
        ),
        ("finger tune.abc --instrument violin -o o.csv", "o.csv"),
        ("watch score.musicxml", ""),
        ("parts score.musicxml -o o.pdf", "o.pdf"),
        ("listen score.musicxml --part 1 -o o.wav", "o.wav"),
    ],
    ids=["finger", "convert", "watch", "parts", "listen"],
)
def test_a_command_uses_no_network(folder, words, written):
    done = run_guarded(["-c", _COMMAND, *words.split()], folder)
    assert (done.status, done.network) == (0, ""), done.said
    assert done.processes >= (2 if "tune" in words else 1)  # a converter works in a process of its own
    assert all((folder / name).stat().st_size for name in written.split())


def test_the_window_and_its_engraver_use_no_network(folder):
    done = run_guarded(["-m", "tests.supply.window_job", "score.musicxml"], folder)
    assert (done.status, done.network) == (0, ""), done.said
    assert done.processes >= 2


@pytest.mark.parametrize(
    ("asking", "seen"),
    [
        ("import socket; socket.getaddrinfo('127.0.0.1', 9)", "asked socket.getaddrinfo"),
        ("import urllib.request as r; r.urlopen('http://127.0.0.1:9')", "asked urllib.Request"),
        ("import socket; s = socket.socket(); s.connect(('127.0.0.1', 9))", "File"),
        ("import ctypes; ctypes.CDLL(None).socket(2, 2, 0)", "File"),
        ("import subprocess, sys; subprocess.run([sys.executable, '-c', 'import socket; socket.socket()'])", "File"),
    ],
    ids=["a name", "a page", "a connection", "compiled code", "a child"],
)
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the kernel's filter is Linux's")
def test_the_guard_sees(tmp_path, asking, seen):
    done = run_guarded(["-c", asking], tmp_path)
    assert seen in done.network
    assert done.processes == (2 if "subprocess" in asking else 1)
