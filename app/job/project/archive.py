"""What is in the archive of a project, as far as it is whole: one that is torn off or damaged still gives the rest.

The layout of an archive is that of the ZIP file format specification (APPNOTE 6.3), sections 4.3.7 and 4.4.
"""

from __future__ import annotations

import io
import json
import struct
import zipfile
import zlib
from dataclasses import dataclass
from typing import Any

_LOCAL = struct.Struct("<4s5H3I2H")
_BEGINS = b"PK\x03\x04"
# A project of a symphony stays far below this; more is a damaged or a malicious archive.
_LARGEST = 256 * 2**20
# What goes wrong in an archive that is damaged, locked, packed in an unusual way, or unpacks to what is too large.
_FAULTS = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError, ValueError)


@dataclass(frozen=True, slots=True)
class Member:
    """One file of the archive; ``whole``: it is all there and its checksum is right."""

    data: bytes
    whole: bool


def members(data: bytes) -> dict[str, Member]:
    """The files in an archive by name, as far as they are there; none where it is no archive."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            listed = {info.filename: _listed(archive, info) for info in archive.infolist()}
    except _FAULTS:
        listed = {}
    if listed and all(member.whole for member in listed.values()):
        return listed
    return _unlisted(data) | {name: member for name, member in listed.items() if member.whole}


def _listed(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Member:
    try:
        if info.file_size <= _LARGEST:
            return Member(archive.read(info), whole=True)
    except _FAULTS:
        pass
    return Member(b"", whole=False)


def _unlisted(data: bytes) -> dict[str, Member]:
    """The files as they follow each other, whatever has become of the list at the end."""
    found: dict[str, Member] = {}
    at = data.find(_BEGINS)
    while 0 <= at <= len(data) - _LOCAL.size:
        _, _, _, packing, _, _, checksum, size, _, name_length, extra = _LOCAL.unpack_from(data, at)
        begin = at + _LOCAL.size + name_length + extra
        if begin > len(data):
            break
        name = data[at + _LOCAL.size : at + _LOCAL.size + name_length].decode("utf-8", "replace")
        packed = data[begin:] if packing == zipfile.ZIP_DEFLATED else data[begin : begin + size]
        content, is_all = _unpacked(packed, packing, size)
        found.setdefault(name, Member(content, whole=is_all and zlib.crc32(content) == checksum))
        at = data.find(_BEGINS, begin + (size if is_all else 0))
    return found


def _unpacked(packed: bytes, packing: int, size: int) -> tuple[bytes, bool]:
    """What can be unpacked, and whether it is all."""
    if packing == zipfile.ZIP_STORED:
        return packed, len(packed) == size
    if packing != zipfile.ZIP_DEFLATED:
        return b"", False
    unpacker, pieces, size_so_far = zlib.decompressobj(-zlib.MAX_WBITS), list[bytes](), 0
    try:
        # In small pieces: what comes before the damage is kept.
        for begin in range(0, len(packed), 256):
            pieces.append(unpacker.decompress(packed[begin : begin + 256], _LARGEST))
            size_so_far += len(pieces[-1])
            if size_so_far > _LARGEST:
                return b"", False
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
