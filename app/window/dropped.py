"""What is dropped on the window: which file to open of it, or why none can be."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QUrl

from app.window.dialogs import SCORE_SUFFIXES

_READ = "Drop MusicXML, MIDI, ABC, Humdrum, MEI or a Handframe project."


def file_dropped(urls: Sequence[QUrl]) -> tuple[Path | None, str]:
    """The first score or project among what was dropped, if there is one, and a sentence on the rest, "" if none."""
    files = [Path(url.toLocalFile()) for url in urls if url.isLocalFile()]
    scores = [file for file in files if file.suffix.casefold() in SCORE_SUFFIXES and not file.is_dir()]
    if not scores:
        return None, f"{_named(urls, files)} {_READ}"
    if len(urls) > 1:
        return scores[0], f"One score is open at a time: of the {len(urls)} files, {scores[0].name} is opened."
    return scores[0], ""


def _named(urls: Sequence[QUrl], files: Sequence[Path]) -> str:
    if len(urls) > 1:
        return "None of these can be opened."
    if not files:
        return "Only files on this computer can be opened."
    return f"{files[0].name} is {'a folder' if files[0].is_dir() else 'no score'}."
