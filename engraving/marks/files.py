"""Marked scores as MusicXML files, plain or compressed."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from analysis.language import _
from engraving.archive import archive_of
from engraving.atomic import write_atomically
from engraving.document import Document
from engraving.errors import EngravingError
from engraving.marks.finger import Mark
from engraving.marks.teacher import TeacherMark
from engraving.marks.writing import marked_bytes

_PLAIN_SUFFIXES = (".musicxml", ".xml")
_PACKED_SUFFIX = ".mxl"


def write_marked(
    document: Document,
    marks: Iterable[Mark],
    path: Path,
    teacher: Iterable[TeacherMark] = (),
    *,
    colour: str | None = None,
) -> None:
    """Write the score with a plan's marks and the teacher's; whole or not at all.

    Plain for ``.musicxml`` and ``.xml``, compressed for ``.mxl``. ``colour`` as in
    :func:`engraving.marks.writing.marked_tree`. EngravingError for another suffix, or when the file cannot be written.
    """
    suffix = path.suffix.lower()
    if suffix not in (*_PLAIN_SUFFIXES, _PACKED_SUFFIX):
        raise EngravingError(
            _("{file} cannot be written as MusicXML: end its name in .musicxml, .xml or .mxl").format(file=path.name)
        )
    data = marked_bytes(document, marks, teacher, colour=colour)
    if suffix == _PACKED_SUFFIX:
        data = archive_of(data, f"{path.stem}.musicxml")
    write_atomically(path, data)
