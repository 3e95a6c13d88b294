"""Zip archives, read with care, and compressed MusicXML (``.mxl``).

The ``META-INF/container.xml`` of an ``.mxl`` names the score inside. Nothing is ever unpacked to the disk.
"""

from __future__ import annotations

import io
import stat
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from html import escape
from pathlib import PurePosixPath

from analysis.language import _
from engraving.errors import ScoreFileError
from engraving.filebytes import as_text, megabytes
from engraving.limits import LIMITS, Limits
from engraving.xmltext import parse_xml

_MIME_TYPE = "application/vnd.recordare.musicxml"
_SCORE_MEDIA_TYPES = (None, "application/vnd.recordare.musicxml+xml", "application/vnd.recordare.musicxml")
_CONTAINER = "META-INF/container.xml"
_BESIDE = "META-INF"
_SCORE_SUFFIXES = (".musicxml", ".xml")
_PACKED = (".mxl", ".zip")
# What every entry of the list of members begins with (ZIP application note, 4.3.12).
_ENTRY = b"PK\x01\x02"
_ENCRYPTED = 0x1
# Small members may be packed as tightly as they like: they fill no memory.
_SMALL = 2**20

_CONTAINER_TEXT = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    "<container>\n  <rootfiles>\n"
    '    <rootfile full-path="{name}" media-type="application/vnd.recordare.musicxml+xml"/>\n'
    "  </rootfiles>\n</container>\n"
)


def is_archive(data: bytes) -> bool:
    """Whether the bytes begin as a zip does."""
    return data.startswith((b"PK\x03\x04", b"PK\x05\x06"))


class Archive:
    """A zip in memory that has been looked over; ``name`` is the file name for messages."""

    def __init__(self, archive: zipfile.ZipFile, name: str, limits: Limits) -> None:
        self._archive, self._name, self._limits = archive, name, limits
        self.members = tuple(archive.namelist())

    def read(self, member: str) -> bytes:
        """The bytes of a member; ScoreFileError when they are too many, KeyError when there is no such member."""
        info = self._archive.getinfo(member)
        check_unpacked(info.file_size, info.compress_size, self._name, self._limits)
        return self._archive.read(info)


@contextmanager
def unpacking(data: bytes, name: str, limits: Limits = LIMITS) -> Iterator[Archive]:
    """The archive in ``data``; what is wrong with it is a ScoreFileError, also while its members are read.

    Refused are members that lie outside of it, that are links, that are encrypted or that are there twice.
    """
    try:
        check_count(data, name, limits)
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            _check_members(archive.infolist(), name)
            yield Archive(archive, name, limits)
    # The last two: offsets and numbers of a damaged list of members.
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, OverflowError) as error:
        raise ScoreFileError(_("{name} is a damaged archive: it cannot be unpacked").format(name=name)) from error
    # What zipfile raises for a way of packing that it does not know.
    except NotImplementedError as error:
        raise ScoreFileError(_("{name} is an archive in an unusual packing").format(name=name)) from error


def score_in_archive(data: bytes, name: str, limits: Limits = LIMITS) -> bytes:
    """The MusicXML bytes in an ``.mxl``; ScoreFileError when the archive is damaged, locked or holds no score."""
    with unpacking(data, name, limits) as archive:
        score = archive.read(_score_name(archive, name, limits))
    if is_archive(score):
        raise ScoreFileError(_("{name} is an archive with another archive in place of the score").format(name=name))
    return score


def put_in(archive: zipfile.ZipFile, member: zipfile.ZipInfo | str, data: bytes) -> None:
    """Put a file into an archive, packed as far as those who read it here let it be."""
    is_bomb = len(data) > _SMALL and len(data) > LIMITS.ratio / 2 * len(zlib.compress(data))
    archive.writestr(member, data, zipfile.ZIP_STORED if is_bomb else zipfile.ZIP_DEFLATED)


def archive_of(score: bytes, score_name: str) -> bytes:
    """An ``.mxl`` holding one score; the media type comes first and unpacked, as the container format asks."""
    buffer, score_name = io.BytesIO(), as_text(score_name)
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr(_undated("mimetype"), _MIME_TYPE.encode())
        put_in(archive, _undated(_CONTAINER), _container(score_name))
        put_in(archive, _undated(score_name), score)
    return buffer.getvalue()


def _undated(member: str) -> zipfile.ZipInfo:
    """A member of a fixed date: the same score is the same archive, byte for byte."""
    return zipfile.ZipInfo(member, (1980, 1, 1, 0, 0, 0))


def _container(score_name: str) -> bytes:
    return _CONTAINER_TEXT.format(name=escape(score_name)).encode()


def _check_members(members: list[zipfile.ZipInfo], name: str) -> None:
    for info in members:
        if _is_outside(info.orig_filename):
            raise ScoreFileError(_("{name} is an archive with a file that would lie outside of it").format(name=name))
        if stat.S_ISLNK(info.external_attr >> 16):
            raise ScoreFileError(_("{name} is an archive with a link in place of a file").format(name=name))
        if info.flag_bits & _ENCRYPTED:
            raise ScoreFileError(_("{name} is an archive with a password").format(name=name))
    check_once(members, name)


def check_count(data: bytes, name: str, limits: Limits) -> None:
    """ScoreFileError for an archive that lists too many files: the list alone would fill the memory."""
    if data.count(_ENTRY) > limits.members:
        raise ScoreFileError(
            _("{name} is an archive of more than {count} files, which is no score").format(
                name=name, count=limits.members
            )
        )


def check_unpacked(size: int, packed: int, name: str, limits: Limits) -> None:
    """ScoreFileError for a member of that size, or as far as it is unpacked yet, from so many bytes."""
    if size > limits.score_bytes:
        raise ScoreFileError(
            _("{name} unpacks to more than {size} MB, which no score needs").format(
                name=name, size=megabytes(limits.score_bytes)
            )
        )
    if size > max(_SMALL, limits.ratio * packed):
        raise ScoreFileError(
            _("{name} unpacks to more than {ratio} times its size, which no score does").format(
                name=name, ratio=limits.ratio
            )
        )


def check_once(members: Iterable[zipfile.ZipInfo], name: str) -> None:
    """ScoreFileError for an archive that lists a name twice: nothing says which of the two is meant."""
    for member, count in Counter(info.filename for info in members).items():
        if count > 1:
            raise ScoreFileError(_("{name} is an archive that holds {member} twice").format(name=name, member=member))


def _is_outside(member: str) -> bool:
    """Whether a member's name leads out of the folder it were unpacked to, on any system."""
    return member.startswith("/") or "\\" in member or ".." in member.split("/") or member[1:2] == ":"


def _score_name(archive: Archive, name: str, limits: Limits) -> str:
    """The member that holds the score: the first score the container names, else the only one that looks like it."""
    if named := _named_in_container(archive, limits):
        return min(named, key=lambda member: not _may_be_score(member))
    scores = {member: len(PurePosixPath(member).parts) for member in archive.members if _may_be_score(member)}
    loose = [member for member, depth in scores.items() if depth == min(scores.values())]
    if len(loose) > 1:
        raise ScoreFileError(
            _("{name} is an archive that does not say which of its files is the score").format(name=name)
        )
    if loose:
        return loose[0]
    packed = next((member for member in archive.members if PurePosixPath(member).suffix.lower() in _PACKED), None)
    if packed is not None:
        raise ScoreFileError(
            _("{name} is an archive that holds another one, {member}: unpack it and open that").format(
                name=name, member=as_text(packed)
            )
        )
    raise ScoreFileError(_("{name} is an archive without a score inside").format(name=name))


def _named_in_container(archive: Archive, limits: Limits) -> list[str]:
    """The members that the container names as scores; none where it cannot be read."""
    if _CONTAINER not in archive.members:
        return []
    data = archive.read(_CONTAINER)
    try:
        container = parse_xml(data, _CONTAINER, limits)
    except ScoreFileError:
        return []
    return [
        root_file.get("full-path", "")
        for root_file in container.iter("{*}rootfile")
        if root_file.get("media-type") in _SCORE_MEDIA_TYPES and root_file.get("full-path") in archive.members
    ]


def _may_be_score(member: str) -> bool:
    """Whether a member may be a score by its name: no folder, nothing hidden, nothing beside the container."""
    path = PurePosixPath(member)
    if member.endswith("/") or not path.name:
        return False
    return path.suffix.lower() in _SCORE_SUFFIXES and not path.name.startswith(".") and path.parts[0] != _BESIDE
