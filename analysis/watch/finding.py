"""A finding: something to watch in a part, with the notes that show it and one sentence to the player."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from analysis.music import Note


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to watch.

    ``kind`` is the name of an entry of ``KINDS``. ``note_ids`` are the notes of the part that show it, in playing order
    and at least one; it stands where the first of them stands. ``certainty`` from 0 to 1: 1 for what can be read off
    the notes, less for a judgement, below ``SUGGESTION`` for a proposal. ``text`` is one sentence to the player.
    ``again``: where music comes again, the notes it repeats, of this part or another, one for each of ``note_ids``.
    ``says_where``: the sentence names its measures, so that it can be read without its place before it.
    """

    kind: str
    note_ids: tuple[str, ...]
    certainty: float
    text: str
    again: tuple[str, ...] = ()
    says_where: bool = True

    def __post_init__(self) -> None:
        if not self.note_ids or not 0 <= self.certainty <= 1:
            raise ValueError("a finding needs notes that show it, and a certainty from 0 to 1")

    @property
    def key(self) -> tuple[str, str, str]:
        """What tells it from every other finding of the part: its kind, and the first and last of its notes."""
        return self.kind, self.note_ids[0], self.note_ids[-1]


# A finding less certain than this is a proposal of ours, not something the notes say.
SUGGESTION = 0.5


def found(kind: str, notes: Iterable[Note], text: str, certainty: float = 1.0, *, says_where: bool = True) -> Finding:
    """A finding shown by these notes."""
    return Finding(kind, tuple(note.id for note in notes), certainty, text, says_where=says_where)
