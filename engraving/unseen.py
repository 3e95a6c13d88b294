"""Notes that a file hides (``print-object="no"``): they sound as a trill is played, say, and are not to be printed.

The engraver hides their heads but not their beams, and makes room for their stems as for those of a second voice.
"""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

# What may reach from a hidden note to a printed one.
_SHARED = ("slur", "tied", "tuplet")
_KEPT = frozenset(
    ("grace", "cue", "rest", "duration", "footnote", "level", "voice", "type", "dot", "time-modification", "staff")
)


def blank_hidden_notes(part: etree._Element) -> None:
    """Turn the hidden notes of a copied ``<part>`` into hidden rests, where nothing that is printed hangs on them."""
    for chord in list(_chords(part)):
        hidden = [note for note in chord if note.get("print-object") == "no" and note.find("rest") is None]
        if len(hidden) < len(chord):
            continue
        if any(_is_shared(note) for note in chord):
            for beam in chord[0].findall("beam"):
                chord[0].remove(beam)
        else:
            _blank(chord)


def _chords(part: etree._Element) -> Iterator[list[etree._Element]]:
    """The notes of each stem."""
    chord: list[etree._Element] = []
    for note in part.iter("note"):
        if note.find("chord") is None and chord:
            yield chord
            chord = []
        chord.append(note)
    if chord:
        yield chord


def _is_shared(note: etree._Element) -> bool:
    return any(note.find(f"notations/{tag}") is not None for tag in _SHARED)


def _blank(chord: list[etree._Element]) -> None:
    first, *others = chord
    for gone in others if first.find("grace") is None else chord:
        _remove(gone)
    for child in list(first):
        if child.tag in ("pitch", "unpitched"):
            child.addprevious(etree.Element("rest"))
        if child.tag not in _KEPT:
            first.remove(child)


def _remove(note: etree._Element) -> None:
    measure = note.getparent()
    if measure is not None:
        measure.remove(note)
