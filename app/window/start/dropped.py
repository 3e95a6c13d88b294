"""What is dropped on the window: which file to open of it, or why none can be."""

from __future__ import annotations

import stat
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QUrl

from analysis.language import _, later
from app.window.dialogs import SCORE_SUFFIXES
from engraving.filebytes import mode_of

_READ = later("Drop MusicXML, MIDI, ABC, Humdrum, MEI or a Handframe project.")


def file_dropped(urls: Sequence[QUrl]) -> tuple[Path | None, str]:
    """The first score or project among what was dropped, if there is one, and a sentence on the rest, "" if none."""
    files = [Path(url.toLocalFile()) for url in urls if url.isLocalFile()]
    scores = [file for file in files if file.suffix.casefold() in SCORE_SUFFIXES and not _is_folder(file)]
    if not scores:
        return None, f"{_named(urls, files)} {_(_READ)}"
    if len(urls) > 1:
        words = _("One score is open at a time: of the {number} files, {name} is opened.")
        return scores[0], words.format(number=len(urls), name=scores[0].name)
    return scores[0], ""


def _named(urls: Sequence[QUrl], files: Sequence[Path]) -> str:
    if len(urls) > 1:
        return _("None of these can be opened.")
    if not files:
        return _("Only files on this computer can be opened.")
    words = _("{name} is a folder.") if _is_folder(files[0]) else _("{name} is no score.")
    return words.format(name=files[0].name)


def _is_folder(file: Path) -> bool:
    return stat.S_ISDIR(mode_of(file))
