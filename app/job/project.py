"""The project file ``.handframe``: the untouched score and the teacher's work on it, in one zip archive.

``score.musicxml`` holds the score as it was opened, ``work.json`` the work (``app.job.work_json``).
"""

from __future__ import annotations

import io
import json
import zipfile
import zlib
from pathlib import Path

from app.errors import AppError
from app.job.work import Work
from app.job.work_json import work_from_json, work_to_json
from engraving.atomic import write_atomically
from engraving.document import Document, read_document

SUFFIX = ".handframe"
_SCORE = "score.musicxml"
_WORK = "work.json"


def save_project(path: Path, document: Document, work: Work) -> None:
    """Write the project, all of it or nothing: the old file stays until the new one is whole on the disk."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(_SCORE, document.source)
        archive.writestr(_WORK, json.dumps(work_to_json(document.name, work), indent=1, ensure_ascii=False))
    write_atomically(path, buffer.getvalue())


def open_project(path: Path) -> tuple[Document, Work]:
    """Read a project back; AppError says in one sentence what is wrong with it."""
    try:
        with zipfile.ZipFile(path) as archive:
            source, text = archive.read(_SCORE), archive.read(_WORK).decode("utf-8")
        plain = json.loads(text)
    except FileNotFoundError as error:
        raise AppError(f"{path.name}: there is no such file in {path.parent}") from error
    except KeyError as error:
        raise AppError(f"{path.name} is no Handframe project: it lacks a score or the work on it") from error
    except (zipfile.BadZipFile, UnicodeDecodeError, json.JSONDecodeError, zlib.error) as error:
        raise AppError(f"{path.name} is damaged: it cannot be unpacked") from error
    except OSError as error:
        raise AppError(f"{path.name} cannot be read: {error.strerror or error}") from error
    if not isinstance(plain, dict):
        raise AppError(f"{path.name} is damaged: {_WORK} holds no work")
    name = plain.get("score_name")
    document = read_document(source, name if isinstance(name, str) else path.stem)
    return document, work_from_json(plain, path.name)
