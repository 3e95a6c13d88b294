"""Parts with the teacher's marks all over them, and the marks taken out again by their colour."""

from __future__ import annotations

import copy
import random
from collections import defaultdict
from collections.abc import Iterator

from lxml import etree

from analysis.music import Note, Part
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.patching import take_out

COLOUR = "#C03020"
TEXTS = {
    "dynamic": ("mf", "p", "ff", "sfz", "più f"),
    "text": ("listen to the violas", "a little less bow", "count!"),
    "margin-text": ("here the tune begins",),
    "position": ("3rd pos.", "half pos.", "back to 1st"),
    "string": ("I", "II", "III", "IV"),
    "held-position": ("3rd pos.", "sul G"),
}
_HOLDERS = ("articulations", "technical", "notations")


def random_marks(part: Part, seed: int) -> list[TeacherMark]:
    """About one mark to six notes, of every kind, at notes of every sort: grace notes, chords, second voices.

    Marks that a note has one of at most meet at no note.
    """
    chance = random.Random(seed)
    voices: dict[str, list[Note]] = defaultdict(list)
    for note in part:
        voices[note.voice].append(note)
    notes = [note for note in part if len(voices[note.voice]) > 1]
    free = [note for note in notes if note.chord in (None, note.id)]
    chance.shuffle(free)
    marks = []
    kinds = list(MARK_KINDS) * (1 + len(part.notes) // (6 * len(MARK_KINDS)))
    for name, own in zip(kinds, free, strict=False):
        text = chance.choice(TEXTS.get(name, ("",)))
        moved = (chance.choice((0.0, 1.5, -0.25)), chance.choice((0.0, 2.0, -3.125)))
        if MARK_KINDS[name].scope == "note":
            marks.append(TeacherMark(name, own.id, "", text, *moved))
            continue
        voice = voices[own.voice]
        start = chance.randrange(len(voice) - 1)
        stop = min(start + chance.randint(1, 12), len(voice) - 1)
        marks.append(TeacherMark(name, voice[start].id, voice[stop].id, text, *moved))
    return [mark for mark in marks if not mark.last or _chord(part, mark.first) != _chord(part, mark.last)]


def _chord(part: Part, note_id: str) -> str:
    return part.note(note_id).chord or note_id


def coloured(tree: etree._ElementTree, colour: str = COLOUR) -> Iterator[etree._Element]:
    """Every element of that colour."""
    yield from (element for element in tree.iter(etree.Element) if element.get("color") == colour)


def without_colour(tree: etree._ElementTree, original: etree._ElementTree, colour: str = COLOUR) -> etree._ElementTree:
    """A copy of the tree without what has that colour, and without holders left empty that the original has not."""
    bare = copy.deepcopy(tree)
    for sign in list(coloured(bare, colour)):
        holder = sign.getparent()
        take_out(sign)
        if holder is not None and holder.tag == "direction-type":
            direction = holder.getparent()
            take_out(holder)
            if direction is not None and direction.find("direction-type") is None:
                take_out(direction)
    for note, before in zip(bare.iter("note"), original.iter("note"), strict=True):
        for tag in _HOLDERS:
            empty = [element for element in note.iter(tag) if not len(element)]
            for element in empty[: sum(1 for _ in note.iter(tag)) - sum(1 for _ in before.iter(tag))]:
                take_out(element)
    return bare
