"""The project file ``.handframe``: the untouched score and the teacher's work on it, in one zip archive.

``score.musicxml`` holds the score as it was opened, ``work.json`` the work (``app.job.project.work_json``).
"""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from analysis.language import _
from analysis.wording import comma_listed
from app.errors import AppError
from app.job.project.archive import Contents, Member, contents, member_names, torn_json
from app.job.project.mending import mended
from app.job.project.work_json import work_from_json, work_to_json
from app.job.teacher.work import Work
from engraving.archive import put_in
from engraving.atomic import write_atomically
from engraving.document import Document, read_document
from engraving.errors import ScoreFileError
from engraving.filebytes import as_text, file_bytes
from engraving.limits import LIMITS
from engraving.reading import read_score
from engraving.torn import torn_score

SUFFIX = ".handframe"
_SCORE = "score.musicxml"
_WORK = "work.json"
_BEFORE_NAME = 30  # bytes of an archive before the name of its first member: PKWARE APPNOTE, 4.3.7
# Lists and objects around a single lock or mark: those that are not finished are left out.
_AROUND_ITEMS = 4
# Of what is not known so many are named, with so many letters.
_MOST_NAMED, _LONGEST_NAME = 4, 60


@dataclass(frozen=True)
class Project:
    """What is in a project file. ``losses``: what is damaged and left out, in sentences; none where it is whole.

    ``remarks``: what else there is to know of it, in sentences.
    """

    document: Document
    work: Work
    losses: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def save_project(path: Path, document: Document, work: Work) -> None:
    """Write the project, all of it or nothing: the old file stays until the new one is whole on the disk."""
    text = json.dumps(work_to_json(document.name, work), indent=1, ensure_ascii=False)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        put_in(archive, _SCORE, document.source)
        put_in(archive, _WORK, as_text(text).encode("utf-8"))
    write_atomically(path, buffer.getvalue())


def is_project(path: Path) -> bool:
    """Whether a file is a project: by its name, or whatever it is called by what it begins with and holds."""
    if path.suffix.casefold() == SUFFIX:
        return True
    try:
        if not path.is_file():
            return False  # a pipe would keep us waiting
        with path.open("rb") as file:
            head = file.read(_BEFORE_NAME + len(_SCORE))
        begins = head[:4] == b"PK\x03\x04" and head[_BEFORE_NAME:] == _SCORE.encode()
        return begins and _WORK in member_names(_data(path))
    except (OSError, AppError):
        return False  # what is wrong with it is said by whoever reads it


def open_project(path: Path) -> Project:
    """Read a project back as far as it is whole; AppError says in one sentence why nothing of it can be opened."""
    held = _contents(path)
    found = held.members
    if not found:
        raise AppError(_("{file} is damaged: it cannot be unpacked").format(file=path.name))
    if _SCORE not in found:
        raise AppError(_("{file} is no Handframe project: it holds no score").format(file=path.name))
    losses: list[str] = []
    plain = _plain_work(found.get(_WORK), losses)
    document = _document(found[_SCORE], plain, path, losses)
    plain, lost = mended(plain, document)
    losses += lost
    if losses:
        words = _("{file} is damaged. What can be read of it is opened as a copy; the file itself stays as it is.")
        losses.insert(0, words.format(file=path.name))
    return Project(document, work_from_json(plain, path.name), tuple(losses), tuple(_unknown(path, held.others)))


def _data(path: Path) -> bytes:
    try:
        return file_bytes(path, LIMITS.file_bytes)
    except ScoreFileError as error:
        raise AppError(str(error)) from error


def _contents(path: Path) -> Contents:
    try:
        return contents(_data(path), path.name, {_SCORE: LIMITS.score_bytes, _WORK: LIMITS.work_bytes})
    except ScoreFileError as error:
        raise AppError(str(error)) from error


def _unknown(path: Path, others: Sequence[str]) -> Iterator[str]:
    """What is in the archive besides score and work, which is not written back."""
    if others:
        shown = [as_text(name)[:_LONGEST_NAME] for name in others[:_MOST_NAMED]]
        names = comma_listed([*shown, "…"] if len(others) > _MOST_NAMED else shown)
        words = _("{file} also holds {names}, which Handframe does not know: saving the project leaves that out.")
        yield words.format(file=path.name, names=names)


def _plain_work(member: Member | None, losses: list[str]) -> Any:
    """The work as plain values, without a part of them where the text breaks off; what is lost is added."""
    nothing: dict[str, Any] = {"parts": {}}
    if member is None:
        losses.append(_("The work on the score is missing in it."))
        return nothing
    try:
        plain = _loaded(as_text(member.data.decode("utf-8-sig")))
    except (ValueError, RecursionError):
        plain = torn_json(as_text(member.data.decode("utf-8", "ignore")), _AROUND_ITEMS)
        if not isinstance(plain, dict) or not plain.get("parts"):
            losses.append(_("The work on the score cannot be read."))
            return nothing
        losses.append(_("The work on the score breaks off; what follows is lost."))
    else:
        if not member.whole:
            losses.append(_("The work on the score is damaged, and nothing tells where; look it through."))
    return plain


def _document(member: Member, plain: Any, path: Path, losses: list[str]) -> Document:
    """The score as far as it is whole; what is lost is added."""
    named = plain.get("score_name") if isinstance(plain, Mapping) else None
    name = named if isinstance(named, str) else path.stem
    try:
        document, loss = _document_as_read(member, name)
        if loss:
            read_score(document)
    except ScoreFileError as error:
        raise AppError(_("{file} is damaged: the score in it cannot be read").format(file=path.name)) from error
    losses += loss
    return document


def _document_as_read(member: Member, name: str) -> tuple[Document, list[str]]:
    """The score, and in a sentence what is the matter with it; nothing where it is whole."""
    try:
        document = read_document(member.data, name)
    except ScoreFileError:
        if member.whole:
            raise
        torn = torn_score(member.data, name)
        return read_document(torn, name), [_("The score breaks off; what follows is lost.")]
    doubtful = _("The score is damaged, and nothing tells where; look it through.")
    return document, [] if member.whole else [doubtful]


def _loaded(text: str) -> Any:
    """The value in the text; halves of signs that JSON writes as escapes are seen to as well."""
    plain = json.loads(text)
    return json.loads(as_text(json.dumps(plain, ensure_ascii=False))) if "\\ud" in text.lower() else plain
