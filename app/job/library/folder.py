"""A whole library of scores: which files of a folder are scores, and what the file made from each is called."""

from __future__ import annotations

import errno
import os
import stat
import unicodedata
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from analysis.language import _
from app.errors import AppError
from app.job.project.file import SUFFIX
from engraving.filebytes import mode_of

_SUFFIXES = frozenset((".musicxml", ".xml", ".mxl", ".mid", ".midi", ".abc", ".krn", ".mei", SUFFIX))


@dataclass(frozen=True, slots=True)
class Source:
    """A score in the library; ``name`` is its path from the library's folder, with slashes on every system."""

    path: Path
    name: str


@dataclass(frozen=True, slots=True)
class Shelf:
    """The scores found, by name, and a sentence for all that cannot be looked into."""

    sources: tuple[Source, ...]
    faults: tuple[str, ...]


def check_folders(library: Path, output: Path) -> None:
    """AppError where files written to ``output`` could be taken for scores of the library, or it can be no folder."""
    try:
        place, mode = _place(output)
    except OSError as error:
        words = _("{folder} is no folder to write to: {reason}")
        raise AppError(words.format(folder=output, reason=error.strerror or error)) from error
    if mode and not stat.S_ISDIR(mode):
        raise AppError(_("{file} is no folder to write to").format(file=output))
    if library.resolve().is_relative_to(place):
        raise AppError(
            _("{library} lies in {output}: write to a folder of its own, so that scores and copies stay apart").format(
                library=library, output=output
            )
        )


def _place(folder: Path) -> tuple[Path, int]:
    """Where a folder lies behind all links, and its kind, 0 where there is none yet; OSError where that is not told."""
    try:
        place = folder.resolve()
    except RuntimeError as error:  # how links that lead in a circle are told
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP)) from error
    try:
        return place, place.stat().st_mode
    except FileNotFoundError:
        return place, 0


def find_sources(library: Path, output: Path) -> Shelf:
    """All scores in a folder and the folders in it, but for those in ``output`` and what is hidden.

    Links are followed. A folder that can be reached in several ways is read once, by a way without links if there is
    one, so that links in a circle come to an end.
    """
    seen = {output.resolve()}
    sources: list[Source] = []
    faults: list[str] = []
    starts = [library]
    while starts:
        links: list[Path] = []
        for start in starts:
            for path in _files(start, seen, links, faults):
                name = path.relative_to(library).as_posix()
                if stat.S_ISREG(mode_of(path)):
                    sources.append(Source(path, name))
                else:
                    faults.append(_("{file} is no file that can be read").format(file=name))
        starts = sorted(links)
    return Shelf(tuple(sorted(sources, key=lambda source: source.name)), tuple(faults))


def _files(start: Path, seen: set[Path], links: list[Path], faults: list[str]) -> Iterator[Path]:
    """The files with a score's suffix below a folder; links to folders are put into ``links`` and not followed."""

    def tell(error: OSError) -> None:
        faults.append(
            _("the folder {folder} cannot be read: {reason}").format(folder=error.filename, reason=error.strerror)
        )

    for here, folders, files in os.walk(start, onerror=tell):
        folder = Path(here)
        if folder.resolve() in seen:
            folders.clear()
            continue
        seen.add(folder.resolve())
        shown = sorted(name for name in folders if not name.startswith("."))
        linked = {name for name in shown if _is_link(folder / name)}
        links.extend(folder / name for name in sorted(linked))
        folders[:] = [name for name in shown if name not in linked]
        for name in files:
            if not name.startswith(".") and Path(name).suffix.casefold() in _SUFFIXES:
                yield folder / name


def _is_link(path: Path) -> bool:
    try:
        return path.is_symlink()
    except OSError:  # the folder it lies in may be listed, but not gone through
        return False


def output_names(names: Sequence[str]) -> dict[str, str]:
    """What the file made from each source is called, without its suffix: folders and name of the source.

    Sources that differ in their suffix only keep it, so that none is written over another: ``a.xml`` and ``a.mxl``
    make ``a.xml.pdf`` and ``a.mxl.pdf``. A number follows where that is not enough, since to some file systems capitals
    and the ways to write an accent are one.

    >>> output_names(["a.xml", "b/a.mxl", "b/a.mid"])
    {'a.xml': 'a', 'b/a.mxl': 'b/a.mxl', 'b/a.mid': 'b/a.mid'}
    """
    tries = dict.fromkeys(names, 0)
    while True:
        chosen = {name: _named(name, tries[name], number) for number, name in enumerate(sorted(names), start=1)}
        times = Counter(map(_folded, chosen.values()))
        clashing = [name for name, output in chosen.items() if times[_folded(output)] > 1]
        if not clashing:
            return {name: chosen[name] for name in names}
        for name in clashing:
            tries[name] += 1


def _named(name: str, tries: int, number: int) -> str:
    match tries:
        case 0:
            return PurePosixPath(name).with_suffix("").as_posix()
        case 1:
            return name
        case _:
            return f"{name} {number * (tries - 1)}"


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()
