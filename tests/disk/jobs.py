"""Everything that Handframe writes, each with a reader from outside that says whether it is whole."""

from __future__ import annotations

import csv
import io
import json
import wave
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import mido
from lxml import etree
from pypdf import PdfReader

from analysis.fingering.rules.files import parse_rules, preset
from app.job.files.opening import open_any
from app.job.files.recent import RecentFiles
from app.job.project.file import save_project
from app.job.rules.file import write_rules
from app.main import main
from tests.scores import full_score, part

MUSIC = full_score(
    part("Violin", "4/4", "D5/1 E5 F#5 G5 | A5/2 D5 | D5/1 E5 F#5 G5"),
    part("Viola", "4/4", "D4/1 E4 F#4 G4 | A4/2 D4 | D4/1 E4 F#4 G4"),
    title="Two Friends",
)
# The first bytes of a picture in the format PNG are enough for the list of recent files, which does not look inside.
PNG_HEAD = b"\x89PNG\r\n\x1a\n"


@dataclass(frozen=True)
class Job:
    """Something to be written: ``write(score, path)`` gives the exit status, ``whole(data)`` says of one of its files.

    ``name`` is the file, or the folder, that is written. ``may_fail_silently``: nobody needs to know.
    """

    name: str
    write: Callable[[Path, Path], int]
    whole: Callable[[bytes], bool]
    is_folder: bool = False
    may_fail_silently: bool = False


def _zip(data: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return archive.testzip() is None


def _xml(data: bytes) -> bool:
    return etree.fromstring(data) is not None


def _pdf(data: bytes) -> bool:
    # ISO 32000-1, 7.5.5: the last line of a file is the mark of its end.
    return data.rstrip().endswith(b"%%EOF") and bool(PdfReader(io.BytesIO(data)).pages)


def _png(data: bytes) -> bool:
    # ISO/IEC 15948, 11.2.5: the last chunk is IEND, of length 0, with its checksum.
    return data.startswith(PNG_HEAD) and data.endswith(b"\0\0\0\0IEND\xaeB`\x82")


def _wav(data: bytes) -> bool:
    with wave.open(io.BytesIO(data)) as sound:
        frame = sound.getnchannels() * sound.getsampwidth()
        return len(sound.readframes(sound.getnframes())) == sound.getnframes() * frame > 0


def _midi(data: bytes) -> bool:
    return mido.MidiFile(file=io.BytesIO(data)).length > 0


def _json(data: bytes) -> bool:
    return isinstance(json.loads(data), dict | list)


def _csv(data: bytes) -> bool:
    # RFC 4180, 2.4: each line has the same number of fields.
    rows = list(csv.reader(io.StringIO(data.decode(), newline="")))
    return len(rows) > 1 and len({len(row) for row in rows}) == 1


def _toml(data: bytes) -> bool:
    return parse_rules(data.decode(), "") == preset("whole-board")


def _command(*words: str) -> Callable[[Path, Path], int]:
    """What the command line does: ``SCORE`` and ``OUT`` among the words stand for the score and what is written."""

    def run(score: Path, path: Path) -> int:
        return main([{"SCORE": str(score), "OUT": str(path)}.get(word, word) for word in words])

    return run


def _finger(name: str, whole: Callable[[bytes], bool], *more: str) -> Job:
    return Job(name, _command("finger", "SCORE", "--part", "Violin", *more, "-o", "OUT"), whole)


def _save(score: Path, path: Path) -> int:
    opened = open_any(score)
    save_project(path, opened.document, opened.work)
    return 0


def _rules(score: Path, path: Path) -> int:
    write_rules(path, preset("whole-board"))
    return 0


def _recent(score: Path, path: Path) -> int:
    RecentFiles(path.parent, path.parent).add(score, 1.0)
    return 0


_PASSAGE = ("SCORE", "--part", "Violin", "--measures", "1-2")
_TWO_RULES = ("--rules", "first", "--rules", "third")
_LOUD = ("listen", "SCORE", "--part", "Violin", "--measures", "1", "-o", "OUT")
JOBS = {
    job.name: job
    for job in (
        Job("piece.handframe", _save, _zip),
        _finger("marked.musicxml", _xml),
        _finger("marked.mxl", _zip),
        _finger("part.mei", _xml),
        _finger("digits.csv", _csv),
        _finger("digits.json", _json),
        _finger("part.pdf", _pdf),
        _finger("passage.png", _png, "--measures", "1-2"),
        _finger("passage.svg", _xml, "--measures", "1-2"),
        Job("board.png", _command("finger", *_PASSAGE, "--chart", "OUT"), _png),
        Job("board.svg", _command("finger", *_PASSAGE, "--chart", "OUT"), _xml),
        Job("ways.json", _command("ways", *_PASSAGE, "-o", "OUT"), _json),
        Job("compared.json", _command("compare", *_PASSAGE, *_TWO_RULES, "-o", "OUT"), _json),
        Job("compared.pdf", _command("compare", *_PASSAGE, *_TWO_RULES, "-o", "OUT"), _pdf),
        Job("practice.pdf", _command("sheet", "SCORE", "--part", "Violin", "-o", "OUT"), _pdf),
        Job("sound.wav", _command(*_LOUD), _wav),
        Job("sound.mid", _command(*_LOUD), _midi),
        Job("set.pdf", _command("parts", "SCORE", "-o", "OUT"), _pdf),
        Job("set", _command("parts", "SCORE", "-o", "OUT"), _pdf, is_folder=True),
        Job("ours.toml", _rules, _toml),
        Job("recent.json", _recent, _json, may_fail_silently=True),
    )
}
