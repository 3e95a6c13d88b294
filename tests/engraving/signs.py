"""The first part of a mini score as it is read, for tests of what its signs say."""

from __future__ import annotations

from analysis.music import Note, Part
from engraving.document import read_document
from engraving.reading import read_score
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import score


def part_of(data: bytes) -> Part:
    """The first part of a score."""
    return read_score(read_document(data, "tune.xml")).parts[0]


def notes_of(music: str, *, key: int = 0) -> tuple[Note, ...]:
    """The notes of a mini score for violin in 4/4."""
    return part_of(score("Violin", "4/4", music, key=key)).notes


def noted(notations: str, name: str = "D5", more: str = "") -> Note:
    """A quarter note with these notations; ``more`` stands between its duration and them."""
    return part_of(raw(raw_note(name, f"{QUARTER}{more}<notations>{notations}</notations>"))).notes[0]


def direction(types: str, after: str = "") -> str:
    """A direction of one type, ``after`` behind it: offset, voice, staff, sound."""
    return f"<direction><direction-type>{types}</direction-type>{after}</direction>"


def words(text: str, after: str = "") -> str:
    """A direction in words."""
    return direction(f"<words>{text}</words>", after)


def dynamic(name: str, after: str = "") -> str:
    """A direction with one dynamic."""
    return direction(f"<dynamics><{name}/></dynamics>", after)
