"""The open score file: its MusicXML tree, in which every note has an id, and the parts it holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from lxml import etree

from engraving.archive import is_archive, score_in_archive
from engraving.errors import ScoreFileError
from engraving.identity import give_ids
from engraving.importing import foreign_format, import_score
from engraving.xmltext import looks_like_xml, parse_xml


@dataclass(frozen=True, slots=True)
class PartEntry:
    """One part as the score lists it; ``name`` is never empty, ``abbreviation`` may be."""

    id: str
    name: str
    abbreviation: str


@dataclass(frozen=True, slots=True)
class Document:
    """A score as it came from its file.

    ``tree`` is the MusicXML with an id on every note; copy it before changing it. ``source`` is the untouched MusicXML
    text (unpacked, or converted once from another format). ``name`` is the file name, for messages. ``stands_for``
    maps each id given here to the one the file had in its place, ``None`` for none. ``remarks`` are sentences for the
    reader: what was left out while converting.
    """

    tree: etree._ElementTree
    name: str
    source: bytes
    parts: tuple[PartEntry, ...]
    stands_for: Mapping[str, str | None] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()

    @property
    def given_ids(self) -> frozenset[str]:
        """The note ids that were given here and are not in the file."""
        return frozenset(self.stands_for)


def open_document(path: Path) -> Document:
    """Open a score file: MusicXML, plain or compressed, or another format that is converted once.

    What the file holds decides, not its suffix, wherever the two differ. ScoreFileError when it cannot be read.
    """
    name = path.name
    data = _file_bytes(path)
    score_format = foreign_format(data, path.suffix)
    if score_format is None:
        return read_document(data, name)
    imported = import_score(data, name, score_format)
    return _document(imported.musicxml, name, imported.remarks)


def read_document(data: bytes, name: str) -> Document:
    """The document in MusicXML bytes, plain or compressed; ``name`` is the file name for messages."""
    if is_archive(data):
        data = score_in_archive(data, name)
    if data.strip() and not looks_like_xml(data):
        raise ScoreFileError(f"{name} is neither MusicXML nor another score format that can be read here")
    return _document(data, name)


def _document(musicxml: bytes, name: str, remarks: tuple[str, ...] = ()) -> Document:
    tree = parse_xml(musicxml, name)
    _check_root(tree, name)
    parts = _part_entries(tree, name)
    return Document(tree, name, musicxml, parts, give_ids(tree), remarks)


def _file_bytes(path: Path) -> bytes:
    name = path.name or str(path)
    try:
        return path.read_bytes()
    except FileNotFoundError as error:
        raise ScoreFileError(f"{name}: there is no such file in {path.parent}") from error
    except IsADirectoryError as error:
        raise ScoreFileError(f"{name} is a folder, not a score") from error
    except PermissionError as error:
        raise ScoreFileError(f"{name} may not be read: you have no rights to it") from error
    except OSError as error:
        raise ScoreFileError(f"{name} cannot be read: {error.strerror or error}") from error


def _check_root(tree: etree._ElementTree, name: str) -> None:
    tag = etree.QName(tree.getroot()).localname
    if tag == "score-timewise":
        raise ScoreFileError(f"{name} is ordered by measures (score-timewise): save it as partwise MusicXML first")
    if tree.getroot().tag != "score-partwise":
        raise ScoreFileError(f"{name} is XML but no MusicXML score: it begins with <{tag}>")


def _part_entries(tree: etree._ElementTree, name: str) -> tuple[PartEntry, ...]:
    listed = {entry.get("id"): entry for entry in tree.iterfind("part-list//score-part")}
    entries: dict[str, PartEntry] = {}
    for number, part in enumerate(tree.iterfind("part"), start=1):
        part_id = part.get("id")
        if not part_id:
            raise ScoreFileError(f"{name}: part {number} has no id")
        if part_id in entries:
            raise ScoreFileError(f"{name}: two parts share the id {part_id}")
        entries[part_id] = _part_entry(part_id, listed.get(part_id), number)
    if not entries:
        raise ScoreFileError(f"{name} holds no parts")
    return tuple(entries.values())


def _part_entry(part_id: str, entry: etree._Element | None, number: int) -> PartEntry:
    if entry is None:
        return PartEntry(part_id, f"Part {number}", "")
    abbreviation = _words(entry, "part-abbreviation")
    name = _words(entry, "part-name") or _words(entry, "score-instrument/instrument-name") or abbreviation
    return PartEntry(part_id, name or f"Part {number}", abbreviation)


def _words(entry: etree._Element, path: str) -> str:
    return " ".join((entry.findtext(path) or "").split())
