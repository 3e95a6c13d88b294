"""The tree read as values: a ``Score`` of parts whose notes carry the ids of their ``<note>`` elements."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from pathlib import Path

from analysis.music import Measure, Note, Part, Pitch, Score, Tempo
from engraving.document import Document, PartEntry
from engraving.elements import Metre, pitch_in, printed_fingering, ties_of
from engraving.errors import ScoreFileError
from engraving.partwalk import PartWalk, WalkedMeasure, WalkedNote
from engraving.slurs import Moment, SlurEnd, pair_slurs, slurred_moments
from engraving.ties import complete_ties

_COMMON_TIME = Metre((4, 4))


def read_score(document: Document) -> Score:
    """All parts of the document; what is not played as written is left out, but its time passes.

    That is: rests, cue notes, unpitched notes, and hidden notes (print-object="no"), which spell out for playback how
    a visible note with a trill or a tremolo sounds.
    A measure begins in all parts where the longest part ended the one before. ScoreFileError, naming part and
    measure, when a note cannot be placed or has no pitch that is known.
    """
    elements = {part.get("id"): part for part in document.tree.iterfind("part")}
    walks = [PartWalk(elements[entry.id], document.name, entry.name) for entry in document.parts]
    lengths = _shared_lengths([walk.measures for walk in walks])
    onsets = [Fraction(0), *accumulate(lengths)]
    tempi = _tempi(walks, onsets)
    parts = (
        _part(entry, walk, onsets, tempi, document.name) for entry, walk in zip(document.parts, walks, strict=True)
    )
    return Score(_title(document), tuple(parts))


def _title(document: Document) -> str:
    for path in ("work/work-title", "movement-title"):
        title = " ".join((document.tree.findtext(path) or "").split())
        if title:
            return title
    return Path(document.name).stem


def _shared_lengths(parts: Sequence[Sequence[WalkedMeasure]]) -> list[Fraction]:
    """How long each measure lasts: as long as the part that fills it most, or a full measure if none holds a thing."""
    lengths = []
    for index in range(max(map(len, parts))):
        measures = [part[index] for part in parts if index < len(part)]
        longest = max(measure.length for measure in measures)
        lengths.append(longest or max((measure.metre or _COMMON_TIME).length for measure in measures))
    return lengths


def _tempi(walks: Sequence[PartWalk], onsets: Sequence[Fraction]) -> tuple[Tempo, ...]:
    """The tempo marks of the score, which stand in one part and hold for all; of two at once the upper part's."""
    found: dict[Fraction, float] = {}
    for walk in walks:
        mine = {onsets[i] + at: tempo for i, measure in enumerate(walk.measures) for at, tempo in measure.tempi}
        found = mine | found
    return tuple(Tempo(onset, found[onset]) for onset in sorted(found))


def _part(
    entry: PartEntry, walk: PartWalk, onsets: Sequence[Fraction], tempi: tuple[Tempo, ...], file_name: str
) -> Part:
    measures = tuple(_measure(i, walked, onsets[i], onsets[i + 1]) for i, walked in enumerate(walk.measures))
    placed = list(_placed_notes(walk.measures, onsets))
    slurred = _slurred(placed)
    notes = tuple(
        _note(one, one.moment in slurred.get(one.voice, ()), _pitch(one, measures, f"{file_name}: {entry.name}"))
        for one in placed
        if one.is_played
    )
    return Part(entry.id, entry.name, measures, complete_ties(notes), walk.transpose, tempi)


def _measure(index: int, walked: WalkedMeasure, onset: Fraction, end: Fraction) -> Measure:
    length = end - onset
    if walked.metre is None:
        time, offset = _COMMON_TIME.time, Fraction(0)
    else:
        time = walked.metre.time
        begins_late = index == 0 or walked.implicit
        offset = max(Fraction(0), walked.metre.length - length) if begins_late else Fraction(0)
    return Measure(index, walked.label, onset, length, time, offset)


@dataclass(slots=True)
class _Placed:
    """A walked note at its place in the part; ``head`` is the first played note of its chord, ``size`` the chord's."""

    walked: WalkedNote
    measure: int
    onset: Fraction
    moment: Moment
    voice: str
    is_played: bool
    head_id: str = ""
    chord_size: int = 1


def _is_played(walked: WalkedNote) -> bool:
    children = walked.children
    return "pitch" in children and "cue" not in children and walked.element.get("print-object") != "no"


def _placed_notes(measures: Sequence[WalkedMeasure], onsets: Sequence[Fraction]) -> Iterator[_Placed]:
    order = 0
    for index, measure in enumerate(measures):
        chords: dict[int, list[_Placed]] = defaultdict(list)
        placed = []
        for walked in measure.notes:
            onset = onsets[index] + walked.onset
            one = _Placed(
                walked, index, onset, (onset, order + walked.head), walked.text("voice", "1"), _is_played(walked)
            )
            placed.append(one)
            if one.is_played:
                chords[walked.head].append(one)
        for members in chords.values():
            for member in members:
                member.head_id, member.chord_size = members[0].walked.element.get("id", ""), len(members)
        yield from placed
        order += len(measure.notes)


def _slurred(placed: Sequence[_Placed]) -> dict[str, set[Moment]]:
    voices: dict[str, dict[Moment, None]] = defaultdict(dict)
    for one in placed:
        if one.is_played:
            voices[one.voice][one.moment] = None
    rising = {voice: sorted(moments) for voice, moments in voices.items()}
    return slurred_moments(pair_slurs(_slur_ends(placed)), rising)


def _slur_ends(placed: Sequence[_Placed]) -> Iterator[SlurEnd]:
    """The ends of slurs in document order; at one note those that end come before those that begin."""
    for one in placed:
        if "notations" not in one.walked.children:
            continue
        slurs = list(one.walked.element.iterfind("notations/slur"))
        for kind in ("stop", "start"):
            for slur in slurs:
                if slur.get("type") == kind:
                    number = slur.get("number", "1")
                    yield SlurEnd(one.moment, one.voice, number, kind == "start")


def _pitch(one: _Placed, measures: Sequence[Measure], place: str) -> Pitch:
    element = one.walked.children["pitch"]
    pitch = pitch_in(element)
    if pitch is None:
        said = " ".join("".join(map(str, element.itertext())).split()) or "nothing"
        raise ScoreFileError(f"{place}, measure {measures[one.measure].label}: a note's pitch is unknown ({said})")
    return pitch


def _note(one: _Placed, slurred_on: bool, pitch: Pitch) -> Note:
    walked = one.walked
    ties = ties_of(walked.element) if walked.children.keys() & {"tie", "notations"} else frozenset()
    staff = walked.text("staff", "1")
    return Note(
        id=walked.element.get("id", ""),
        pitch=pitch,
        onset=one.onset,
        duration=walked.duration,
        measure=one.measure,
        voice=one.voice,
        staff=int(staff) if staff.isdigit() else 1,
        chord=one.head_id if one.chord_size > 1 else None,
        grace=walked.grace,
        tied_from="stop" in ties,
        tied_on="start" in ties,
        slurred_on=slurred_on,
        printed=printed_fingering(walked.element) if "notations" in walked.children else None,
    )
