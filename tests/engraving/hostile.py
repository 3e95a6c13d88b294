"""Files that are no scores, or dangerous ones: how each comes to lie in a folder, and what is said of it."""

from __future__ import annotations

import io
import os
import socket
import stat
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from engraving.archive import archive_of
from tests.engraving.foreign import ABC, MEI, midi
from tests.scores import score

TUNE = score("Violin", "4/4", "D5/1 r E5 F#5")
CONTAINER = b'<container><rootfiles><rootfile full-path="a.xml"/></rootfiles></container>'

# Without media types, of which the container format says that MusicXML is meant.
PAGE_FIRST = CONTAINER.replace(b"<rootfile ", b'<rootfile full-path="a.pdf"/><rootfile ', 1)


@dataclass(frozen=True, slots=True)
class Hostile:
    """A file called ``name``; ``lay`` puts it there. ``says``: part of the sentence it is refused in."""

    name: str
    says: str
    lay: Callable[[Path], None]


def zipped(*members: tuple[str | zipfile.ZipInfo, bytes], packing: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip of those members in that order, names as they stand."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", packing) as archive:
        for name, content in members:
            archive.writestr(name, content)
    return buffer.getvalue()


def link(name: str, target: bytes) -> tuple[zipfile.ZipInfo, bytes]:
    """A member that is a symbolic link: the file type of Unix in the upper half of its attributes (zip(1))."""
    info = zipfile.ZipInfo(name)
    info.external_attr = (stat.S_IFLNK | 0o777) << 16
    return info, target


def encrypted(data: bytes) -> bytes:
    """A zip whose last member says it is encrypted: bit 0 of the flags in both headers (APPNOTE, 4.4.4)."""
    changed = bytearray(data)
    changed[data.rindex(b"PK\x03\x04") + 6] |= 1
    changed[data.rindex(b"PK\x01\x02") + 8] |= 1
    return bytes(changed)


def swollen(data: bytes) -> bytes:
    """A zip that says its last member is almost 2 GB large (ZIP application note, 4.3.12)."""
    changed = bytearray(data)
    at = data.rindex(b"PK\x01\x02") + 24
    changed[at : at + 4] = (0x7FFFFFFF).to_bytes(4, "little")
    return bytes(changed)


def _holding(data: bytes) -> Callable[[Path], None]:
    def lay(path: Path) -> None:
        path.write_bytes(data)

    return lay


def _nothing(path: Path) -> None:
    """Nothing lies there."""


def _to_nothing(path: Path) -> None:
    path.symlink_to(path.parent / "gone")


def _to_itself(path: Path) -> None:
    path.symlink_to(path)


def _device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _socket(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as one:
        one.bind(os.path.relpath(path))  # the whole path may be longer than names of sockets are


def _sparse(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(2**40)


def _entities(count: int) -> bytes:
    """Entities that each stand for ten of the one before."""
    entities = "".join(
        f'<!ENTITY e{number} "{f"&e{number - 1};" * 10 if number else "laughter"}">' for number in range(count)
    )
    body = TUNE.split(b"\n", 1)[1].replace(b"Violin", f"&e{count - 1};".encode())
    return f"<!DOCTYPE score-partwise [{entities}]>".encode() + body


_OUTSIDE = "with a file that would lie outside of it"
_ENTITIES = "declares XML entities of its own"
_NEITHER = "is neither MusicXML nor another score format"
_CIRCLE = b'<!DOCTYPE score-partwise [<!ENTITY a "&a;">]><score-partwise>&a;</score-partwise>'
_DEEP = TUNE.replace(b"<part-list>", b"<a>" * 500 + b"</a>" * 500 + b"<part-list>")

# On every system.
_FILES: Sequence[tuple[str, str, Callable[[Path], None]]] = (
    ("gone.musicxml", "there is no such file", _nothing),
    ("folder.mxl", "is a folder, not a score", Path.mkdir),
    ("empty.musicxml", "is empty", _holding(b"")),
    ("blank.xml", "is empty", _holding(b" \n\t\r")),
    ("mark.xml", "is empty", _holding(b"\xef\xbb\xbf")),
    ("letter.txt", _NEITHER, _holding(b"Dear colleague,")),
    ("picture.xml", _NEITHER, _holding(b"\x89PNG\r\n\x1a\n" + bytes(100))),
    ("zeros.mid", _NEITHER, _holding(bytes(1000))),
    ("page.musicxml", "begins with <html>", _holding(b"<!DOCTYPE html><html><body/></html>")),
    ("cut.musicxml", "is not readable XML: line 2", _holding(TUNE[:-40])),
    ("strange-letters.xml", "Unsupported encoding", _holding(TUNE.replace(b"UTF-8", b"X-NO-SUCH-CODE"))),
    ("undeclared.xml", "Invalid bytes", _holding(TUNE.replace(b"Violin", b"Fl\xf6te"))),
    ("laughter.xml", _ENTITIES, _holding(_entities(12))),
    ("smile.xml", _ENTITIES, _holding(_entities(1))),
    ("circle.xml", _ENTITIES, _holding(_CIRCLE)),
    ("deep.xml", "more than 100 deep", _holding(_DEEP)),
    ("too-large.musicxml", "is larger than 100 MB", _sparse),
    ("outside.mxl", _OUTSIDE, _holding(zipped(("../a.xml", TUNE)))),
    ("far-outside.mxl", _OUTSIDE, _holding(zipped(("a.xml", TUNE), ("x/../../b.txt", b"")))),
    ("root.mxl", _OUTSIDE, _holding(zipped(("/etc/a.xml", TUNE)))),
    ("drive.mxl", _OUTSIDE, _holding(zipped(("C:/a.xml", TUNE)))),
    ("backslash.mxl", _OUTSIDE, _holding(zipped(("..\\a.xml", TUNE)))),
    ("link.mxl", "with a link in place of a file", _holding(zipped(link("a.xml", b"/etc/passwd")))),
    ("password.mxl", "with a password", _holding(encrypted(zipped(("a.xml", TUNE))))),
    ("swollen.mxl", "unpacks to more than 100 MB", _holding(swollen(zipped(("a.xml", TUNE))))),
    ("bomb.mxl", "unpacks to more than 400 times its size", _holding(zipped(("a.xml", bytes(20 * 2**20))))),
    ("many.mxl", "of more than 1000 files", _holding(zipped(*((f"{number}.txt", b"") for number in range(1_001))))),
    ("nested.mxl", "with another archive in place", _holding(zipped(("a.xml", archive_of(TUNE, "a.xml"))))),
    ("readme.mxl", "without a score inside", _holding(zipped(("readme.txt", b"hello")))),
    ("emptied.mxl", "without a score inside", _holding(zipped(("a.xml/", b"")))),
    ("nothing.mxl", "without a score inside", _holding(zipped())),
    ("two.mxl", "does not say which", _holding(zipped(("a.xml", TUNE), ("b.xml", TUNE)))),
    ("torn.mxl", "is a damaged archive", _holding(archive_of(TUNE, "a.xml")[:-30])),
    ("packed.zip", "holds another one, b/a.mxl: unpack it", _holding(zipped(("b/a.mxl", archive_of(TUNE, "a.xml"))))),
    ("blank-inside.mxl", "is empty", _holding(zipped(("META-INF/container.xml", CONTAINER), ("a.xml", b"")))),
)  # fmt: skip
# What only POSIX systems have.
_POSIX: Sequence[tuple[str, str, Callable[[Path], None]]] = (
    ("pipe.musicxml", "is a pipe, a socket or a device", lambda path: os.mkfifo(path)),
    ("device.musicxml", "is a pipe, a socket or a device", _device),
    ("socket.musicxml", "is a pipe, a socket or a device", _socket),
    ("to-nothing.musicxml", "there is no such file", _to_nothing),
    ("to-itself.musicxml", "cannot be read", _to_itself),
    ("x" * 300 + ".xml", "cannot be read", _nothing),
)

HOSTILE = tuple(Hostile(*one) for one in (*_FILES, *(_POSIX if os.name == "posix" else ())))

# Sound scores under names that say something else, and the format that each is in.
MISNAMED: Sequence[tuple[str, bytes]] = (
    ("zip.xml", archive_of(TUNE, "a.xml")),
    ("plain.mxl", TUNE),
    ("plain.txt", TUNE),
    ("plain", TUNE),
    ("plain.mid", TUNE),
    ("zip.abc", archive_of(TUNE, "a.xml")),
    ("notes.xml", midi(62, 64, 66, 67)),
    ("tune.musicxml", ABC.encode()),
    ("encoded.mxl", MEI.encode()),
    ("folder.zip", zipped(("Tune/", b""), ("Tune/a.musicxml", TUNE), ("Tune/parts/b.musicxml", TUNE))),
    ("empty-container.mxl", zipped(("META-INF/container.xml", b""), ("a.xml", TUNE))),
    ("not-a-container.mxl", zipped(("META-INF/container.xml", b"<container>"), ("a.xml", TUNE))),
    ("names-nothing.mxl", zipped(("META-INF/container.xml", b"<container/>"), ("a.xml", TUNE))),
    ("page-first.mxl", zipped(("META-INF/container.xml", PAGE_FIRST), ("a.pdf", b"%PDF-1.7"), ("a.xml", TUNE))),
    ("roundabout.zip", zipped(("./b//a.xml", TUNE))),
    ("hidden.zip", zipped(("a.xml", TUNE), ("._a.xml", b"\0\5\x16\7"))),
)
