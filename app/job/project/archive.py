"""What is in the archive of a project, as far as it is whole: one that is torn off or damaged still gives the rest.

The layout of an archive is that of the ZIP file format specification (APPNOTE 6.3), sections 4.3.7 and 4.4.
"""

from __future__ import annotations

import io
import json
import struct
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from engraving.archive import check_count, check_once, check_unpacked
from engraving.errors import ScoreFileError
from engraving.limits import LIMITS, Limits

_LOCAL = struct.Struct("<4s5H3I2H")
_BEGINS = b"PK\x03\x04"
_PIECE = 256  # bytes, which deflate makes at most 1,032 times as many of
# What goes wrong in an archive that is damaged, locked, packed in an unusual way, or unpacks to what is too large.
_FAULTS = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError)


@dataclass(frozen=True, slots=True)
class Member:
    """One file of the archive; ``whole``: it is all there and its checksum is right."""

    data: bytes
    whole: bool


@dataclass(frozen=True, slots=True)
class Contents:
    """The members that were sought, by name, as far as they are there, and the names of all others."""

    members: Mapping[str, Member]
    others: tuple[str, ...] = ()


def contents(data: bytes, name: str, wanted: Mapping[str, int], limits: Limits = LIMITS) -> Contents:
    """What an archive called ``name`` holds of the members ``wanted``, each with the most bytes it may have.

    Nothing else is unpacked. ScoreFileError where the archive goes over the limits or names a file twice; nothing is
    found where it is no archive.
    """
    check_count(data, name, limits)
    found: dict[str, Member] = {}
    infos: list[zipfile.ZipInfo] = []
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            infos = archive.infolist()
            for info in infos:
                if info.filename in wanted:
                    most = replace(limits, score_bytes=wanted[info.filename])
                    found[info.filename] = _listed(archive, info, name, most)
    except _FAULTS:
        infos = []
    check_once(infos, name)
    if infos and all(key in found and found[key].whole for key in wanted):
        return Contents(found, tuple(info.filename for info in infos if info.filename not in wanted))
    whole = {key: member for key, member in found.items() if member.whole}
    return Contents(_unlisted(data, name, wanted, limits) | whole)


def member_names(data: bytes, limits: Limits = LIMITS) -> frozenset[str]:
    """The names of what lies in an archive, without unpacking any of it."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return frozenset(archive.namelist())
    except _FAULTS:
        return frozenset(entry.name for entry in _entries(data, limits))


def _listed(archive: zipfile.ZipFile, info: zipfile.ZipInfo, name: str, limits: Limits) -> Member:
    """A member by the list at the end; one that says it is too large may be damaged, and is looked at where it lies."""
    try:
        check_unpacked(info.file_size, info.compress_size, name, limits)
        return Member(archive.read(info), whole=True)
    except (*_FAULTS, ScoreFileError):
        return Member(b"", whole=False)


@dataclass(frozen=True, slots=True)
class _Entry:
    """What stands before a member; ``size``: of the packed bytes, which ``begin`` there."""

    name: str
    packing: int
    checksum: int
    size: int
    begin: int


def _entries(data: bytes, limits: Limits) -> Iterator[_Entry]:
    """The members as they follow each other, whatever has become of the list at the end."""
    at, count = data.find(_BEGINS), 0
    while 0 <= at <= len(data) - _LOCAL.size and count < limits.members:
        _, _, _, packing, _, _, checksum, size, _, name_length, extra = _LOCAL.unpack_from(data, at)
        begin = at + _LOCAL.size + name_length + extra
        if begin > len(data):
            break
        name = data[at + _LOCAL.size : at + _LOCAL.size + name_length].decode("utf-8", "replace")
        yield _Entry(name, packing, checksum, size, begin)
        # A size that leads to no other header is damaged.
        at, count = (
            data.find(_BEGINS, begin + (size if data[begin + size : begin + size + 2] == _BEGINS[:2] else 0)),
            count + 1,
        )


def _unlisted(data: bytes, name: str, wanted: Mapping[str, int], limits: Limits) -> dict[str, Member]:
    """The members ``wanted`` as they follow each other."""
    found: dict[str, Member] = {}
    view = memoryview(data)
    for entry in _entries(data, limits):
        if entry.name in wanted and entry.name not in found:
            stored = entry.packing != zipfile.ZIP_DEFLATED
            packed = view[entry.begin : entry.begin + entry.size] if stored else view[entry.begin :]
            most = replace(limits, score_bytes=wanted[entry.name])
            content, is_all = _unpacked(packed, entry, name, most)
            found[entry.name] = Member(content, whole=is_all and zlib.crc32(content) == entry.checksum)
    return found


def _unpacked(packed: memoryview, entry: _Entry, name: str, limits: Limits) -> tuple[bytes, bool]:
    """What can be unpacked, and whether it is all; ScoreFileError as soon as it goes over the limits."""
    if entry.packing == zipfile.ZIP_STORED:
        check_unpacked(len(packed), len(packed), name, limits)
        return bytes(packed), len(packed) == entry.size
    if entry.packing != zipfile.ZIP_DEFLATED:
        return b"", False
    unpacker, pieces, size = zlib.decompressobj(-zlib.MAX_WBITS), list[bytes](), 0
    try:
        # In small pieces: what comes before the damage is kept.
        for begin in range(0, len(packed), _PIECE):
            pieces.append(unpacker.decompress(packed[begin : begin + _PIECE]))
            size += len(pieces[-1])
            check_unpacked(size, begin + _PIECE, name, limits)
            if unpacker.eof:
                break
    except zlib.error:
        pass
    return b"".join(pieces), unpacker.eof


def torn_json(text: str, deepest: int) -> Any:
    """The value in JSON that breaks off, without what is not finished; ``None`` where nothing is.

    ``deepest``: of values that lie in more lists and objects than so many only those are kept that are whole.
    """
    text, closers = _finished(text, deepest)
    try:
        return json.loads(text + closers)
    except (ValueError, RecursionError):
        return None


def _finished(text: str, deepest: int) -> tuple[str, str]:
    """How far the text goes with whole values only, and what closes the lists and objects that are open there."""
    stack, best = [], ("", "")
    in_text = escaped = False
    for at, sign in enumerate(text):
        if in_text:
            in_text = escaped or sign != '"'
            escaped = sign == "\\" and not escaped
        elif sign == '"':
            in_text = True
        elif sign in "{[":
            stack.append("}" if sign == "{" else "]")
        elif sign in "}]" and stack:
            stack.pop()
        if not in_text and sign in ",}]" and len(stack) <= deepest:
            best = (text[:at] if sign == "," else text[: at + 1]), "".join(reversed(stack))
    return best
