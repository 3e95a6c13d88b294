"""Walked notes at their places in the part: onset from its start, voice, chord and pitch."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.language import _
from analysis.music import Pitch
from engraving.elements import pitch_in
from engraving.errors import ScoreFileError
from engraving.reading.partwalk import WalkedMeasure, WalkedNote
from engraving.reading.slurs import Moment


@dataclass(slots=True, eq=False)
class Placed:
    """A walked note at its place in the part; ``pitch`` is ``None`` for what is not played, rests among it.

    ``measure`` is an index. ``chord`` holds all played notes of its chord as they were walked, none for a single note.
    """

    walked: WalkedNote
    measure: int
    onset: Fraction
    moment: Moment
    pitch: Pitch | None
    chord: tuple[WalkedNote, ...] = ()

    @property
    def voice(self) -> str:
        """The voice the note names, ``1`` where it names none."""
        return self.walked.voice

    @property
    def id(self) -> str:
        """The id of the ``<note>``."""
        return self.walked.id

    @property
    def members(self) -> tuple[WalkedNote, ...]:
        """The notes of its chord, or the single note itself."""
        return self.chord or (self.walked,)


def placed_notes(measures: Sequence[WalkedMeasure], onsets: Sequence[Fraction], place: str) -> list[Placed]:
    """All notes in written order; ``onsets`` are those of the measures, ``place`` names file and part for messages.

    ScoreFileError when a note has no pitch that is known.
    """
    order, placed = 0, list[Placed]()
    for index, measure in enumerate(measures):
        chords: dict[int, list[Placed]] = {}
        for walked in measure.notes:
            pitch = _pitch(walked, place, measure.label) if _is_played(walked) else None
            onset = onsets[index] + walked.onset if walked.onset else onsets[index]
            one = Placed(walked, index, onset, (onset, order + walked.head), pitch)
            if pitch is not None:
                chords.setdefault(walked.head, []).append(one)
            placed.append(one)
        _join_chords(chords.values())
        order += len(measure.notes)
    return placed


def _join_chords(chords: Iterable[Sequence[Placed]]) -> None:
    for members in chords:
        if len(members) > 1:
            # Never the placed notes: in a circle they would hold the whole tree of the file in memory.
            walked = tuple(member.walked for member in members)
            for member in members:
                member.chord = walked


def _is_played(walked: WalkedNote) -> bool:
    children = walked.children
    is_note = "pitch" in children and "rest" not in children and "cue" not in children
    return is_note and walked.element.get("print-object") != "no"


def _pitch(walked: WalkedNote, place: str, label: str) -> Pitch:
    element = walked.children["pitch"]
    pitch = pitch_in(element)
    if pitch is None:
        said = " ".join("".join(map(str, element.itertext())).split()) or "nothing"
        raise ScoreFileError(
            _("{place}, measure {label}: a note's pitch is unknown ({said})").format(
                place=place, label=label, said=said
            )
        )
    return pitch
