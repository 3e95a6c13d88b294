"""Compressed MusicXML (``.mxl``): a zip whose ``META-INF/container.xml`` names the score inside."""

from __future__ import annotations

import io
import zipfile
import zlib
from pathlib import PurePosixPath
from xml.sax.saxutils import escape

from engraving.errors import ScoreFileError
from engraving.xmltext import parse_xml

_MIME_TYPE = "application/vnd.recordare.musicxml"
_SCORE_MEDIA_TYPES = (None, "application/vnd.recordare.musicxml+xml", "application/vnd.recordare.musicxml")
_CONTAINER = "META-INF/container.xml"
_SCORE_SUFFIXES = (".musicxml", ".xml")
# A symphony as MusicXML stays far below this; more is a damaged or a malicious archive.
_LARGEST_SCORE = 256 * 2**20

_CONTAINER_TEXT = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    "<container>\n  <rootfiles>\n"
    '    <rootfile full-path="{name}" media-type="application/vnd.recordare.musicxml+xml"/>\n'
    "  </rootfiles>\n</container>\n"
)


def is_archive(data: bytes) -> bool:
    """Whether the bytes begin as a zip does."""
    return data.startswith((b"PK\x03\x04", b"PK\x05\x06"))


def score_in_archive(data: bytes, name: str) -> bytes:
    """The MusicXML bytes in an ``.mxl``; ScoreFileError when the archive is damaged, locked or holds no score."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return _member(archive, _score_name(archive, name), name)
    except (zipfile.BadZipFile, zlib.error, EOFError, OSError) as error:
        raise ScoreFileError(f"{name} is a damaged archive: it cannot be unpacked") from error
    # What zipfile raises for a password and for a way of packing that it does not know.
    except (RuntimeError, NotImplementedError) as error:
        raise ScoreFileError(f"{name} is an archive with a password or in an unusual packing") from error


def archive_of(score: bytes, score_name: str) -> bytes:
    """An ``.mxl`` holding one score; the media type comes first and unpacked, as the container format asks."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for member, content, packing in (
            ("mimetype", _MIME_TYPE.encode(), zipfile.ZIP_STORED),
            (_CONTAINER, _container(score_name), zipfile.ZIP_DEFLATED),
            (score_name, score, zipfile.ZIP_DEFLATED),
        ):
            # A fixed date makes the same score the same archive, byte for byte.
            archive.writestr(zipfile.ZipInfo(member, (1980, 1, 1, 0, 0, 0)), content, packing)
    return buffer.getvalue()


def _container(score_name: str) -> bytes:
    return _CONTAINER_TEXT.format(name=escape(score_name, {'"': "&quot;"})).encode()


def _score_name(archive: zipfile.ZipFile, name: str) -> str:
    """The member that holds the score: the first score the container names, else the only one that looks like it."""
    members = archive.namelist()
    if _CONTAINER in members:
        container = parse_xml(_member(archive, _CONTAINER, name), f"{name}: {_CONTAINER}")
        for root_file in container.iter("{*}rootfile"):
            path = root_file.get("full-path", "")
            if root_file.get("media-type") in _SCORE_MEDIA_TYPES and path in members:
                return path
    loose = [member for member in members if _may_be_score(PurePosixPath(member))]
    if len(loose) > 1:
        raise ScoreFileError(f"{name} is an archive that does not say which of its files is the score")
    if not loose:
        raise ScoreFileError(f"{name} is an archive without a score inside")
    return loose[0]


def _may_be_score(path: PurePosixPath) -> bool:
    return path.suffix.lower() in _SCORE_SUFFIXES and len(path.parts) == 1


def _member(archive: zipfile.ZipFile, member: str, name: str) -> bytes:
    if archive.getinfo(member).file_size > _LARGEST_SCORE:
        raise ScoreFileError(f"{name} unpacks to more than {_LARGEST_SCORE // 2**20} MB, which no score needs")
    return archive.read(member)
