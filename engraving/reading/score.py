"""The tree read as values: a ``Score`` of parts whose notes carry the ids of their ``<note>`` elements."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from pathlib import Path

from analysis.language import _
from analysis.music import KeySignature, Measure, Note, Part, Pitch, Score, Tempo, Transposition
from engraving.document import Document, PartEntry
from engraving.elements import Metre, fifths_in, is_courtesy, printed_fingering, ties_of
from engraving.errors import ScoreFileError
from engraving.limits import LIMITS, Limits
from engraving.reading.loudness import dynamic_marks, hairpins
from engraving.reading.partwalk import PartWalk, WalkedMeasure
from engraving.reading.performance import Playing, marks_in, playing
from engraving.reading.placed import Placed, placed_notes
from engraving.reading.repeats import Section, sections
from engraving.reading.slurs import Moment, SlurEnd, pair_ends, slurred_moments
from engraving.reading.strokes import harmonic_of, signs_of, tremolo_of
from engraving.reading.tempi import tempi
from engraving.reading.ties import complete_ties
from engraving.reading.trills import trills

_COMMON_TIME = Metre((4, 4))
_LONGEST_TITLE = 500


def read_score(document: Document, limits: Limits = LIMITS) -> Score:
    """All parts of the document; what is not played as written is left out, but its time passes.

    That is: rests, cue notes, unpitched notes, and hidden notes (print-object="no"), which spell out for playback how
    a visible note with a trill or a tremolo sounds.
    A measure begins in all parts where the longest part ended the one before. ScoreFileError, naming part and
    measure, when a note cannot be placed or has no pitch that is known; and when the music goes over the limits.
    """
    elements = {part.get("id"): part for part in document.tree.iterfind("part")}
    walks = [PartWalk(elements[entry.id], document.name, entry.name, limits).measures for entry in document.parts]
    onsets = [Fraction(0), *accumulate(_shared_lengths(walks))]
    _check_times(onsets, document.name, limits)
    frame = _Frame(onsets, sections(walks, len(onsets) - 1), tempi(walks, onsets, _words(document, "movement-title")))
    parts = (_part(entry, walk, frame, document.name) for entry, walk in zip(document.parts, walks, strict=True))
    return Score(_title(document), tuple(parts))


def _check_times(onsets: Sequence[Fraction], name: str, limits: Limits) -> None:
    if onsets[-1] > limits.quarters:
        raise ScoreFileError(
            _("{name} lasts longer than {most} quarter notes").format(name=name, most=f"{limits.quarters:,}")
        )
    if max(onset.denominator for onset in onsets) > limits.denominator:
        raise ScoreFileError(_("{name} divides time into parts that have no common measure").format(name=name))


@dataclass(frozen=True, slots=True)
class _Frame:
    """What all parts share: the onset of each measure and the end of the last, repeats and tempi."""

    onsets: Sequence[Fraction]
    sections: Sequence[Section]
    tempi: tuple[Tempo, ...]


def _title(document: Document) -> str:
    titles = (_words(document, path) for path in ("work/work-title", "movement-title"))
    return next(filter(None, titles), Path(document.name).stem)


def _words(document: Document, path: str) -> str:
    return " ".join((document.tree.findtext(path) or "")[:_LONGEST_TITLE].split())


def _shared_lengths(parts: Sequence[Sequence[WalkedMeasure]]) -> list[Fraction]:
    """How long each measure lasts: as long as the part that fills it most, or a full measure if none holds a thing."""
    lengths = []
    for index in range(max(map(len, parts))):
        measures = [part[index] for part in parts if index < len(part)]
        longest = max(measure.length for measure in measures)
        lengths.append(longest or max((measure.metre or _COMMON_TIME).length for measure in measures))
    return lengths


def _part(entry: PartEntry, walk: Sequence[WalkedMeasure], frame: _Frame, file_name: str) -> Part:
    measures = tuple(_measure(i, walked, frame) for i, walked in enumerate(walk))
    placed = placed_notes(walk, frame.onsets, f"{file_name}: {entry.name}")
    slurred, uppers = _slurred(placed), trills(placed, walk)
    marks = [marks_in(measure) for measure in walk]
    notes = (
        _note(one, one.pitch, how, one.moment in slurred.get(one.voice, ()), uppers)
        for one, how in zip(placed, playing(walk, marks), strict=True)
        if one.pitch is not None
    )
    transpose, later = _transpositions(walk, frame.onsets)
    dynamics = dynamic_marks(marks, frame.onsets)
    return Part(
        entry.id,
        entry.name,
        measures,
        complete_ties(tuple(notes)),
        transpose,
        frame.tempi,
        later,
        tuple(_keys(walk, frame.onsets)),
        dynamics,
        hairpins(walk, frame.onsets, dynamics),
    )


def _keys(walk: Sequence[WalkedMeasure], onsets: Sequence[Fraction]) -> Iterator[KeySignature]:
    """The printed key signatures of the first staff; of several at one place the first."""
    last = None
    for index, measure in enumerate(walk):
        for at, key in sorted(measure.keys, key=lambda key: key[0]):
            onset, fifths = onsets[index] + at, fifths_in(key)
            is_printed = key.get("number", "1") == "1" and key.get("print-object") != "no"
            if fifths is not None and is_printed and onset != last:
                last = onset
                yield KeySignature(onset, fifths)


def _transpositions(walk: Sequence[WalkedMeasure], onsets: Sequence[Fraction]) -> tuple[int, tuple[Transposition, ...]]:
    """The transposition at the beginning, and the later ones that change it."""
    first, later = 0, list[Transposition]()
    for index, measure in enumerate(walk):
        for at, semitones in measure.transposes:
            onset = onsets[index] + at
            if not onset:
                first = first or semitones
            elif semitones != (later[-1].semitones if later else first):
                later.append(Transposition(onset, semitones))
    return first, tuple(later)


def _measure(index: int, walked: WalkedMeasure, frame: _Frame) -> Measure:
    onset, section = frame.onsets[index], frame.sections[index]
    length = frame.onsets[index + 1] - onset
    if walked.metre is None:
        time, offset = _COMMON_TIME.time, Fraction(0)
    else:
        time = walked.metre.time
        begins_late = index == 0 or walked.implicit
        offset = max(Fraction(0), walked.metre.length - length) if begins_late else Fraction(0)
    repeats = (section.repeat_from, section.repeat_back, section.endings)
    return Measure(index, walked.label, onset, length, time, offset, *repeats)


def _slurred(placed: Sequence[Placed]) -> dict[str, set[Moment]]:
    voices: dict[str, dict[Moment, None]] = defaultdict(dict)
    for one in placed:
        if one.pitch is not None:
            voices[one.voice][one.moment] = None
    rising = {voice: sorted(moments) for voice, moments in voices.items()}
    return slurred_moments(pair_ends(_slur_ends(placed)), rising)


def _slur_ends(placed: Sequence[Placed]) -> Iterator[SlurEnd]:
    """The ends of slurs in document order; at one note those that end come before those that begin."""
    for one in placed:
        slurs = one.walked.notations.get("slur")
        if slurs is None:
            continue
        for kind in ("stop", "start"):
            for slur in slurs:
                if slur.get("type") == kind:
                    number = slur.get("number", "1")
                    yield SlurEnd(one.moment, one.voice, number, kind == "start")


def _note(one: Placed, pitch: Pitch, how: Playing, slurred_on: bool, uppers: Mapping[str, Pitch]) -> Note:
    walked, note_id = one.walked, one.id
    notations, element = walked.notations, walked.element
    ties = ties_of(element) if "tie" in walked.children or "tied" in notations else frozenset()
    harmonic, signs = harmonic_of(one), signs_of(one)
    plucked, accidental = element.get("pizzicato"), walked.children.get("accidental")
    return Note(
        id=note_id,
        pitch=pitch,
        onset=one.onset,
        duration=walked.duration,
        measure=one.measure,
        voice=walked.voice,
        staff=walked.staff,
        chord=one.chord[0].id if one.chord else None,
        grace=walked.grace,
        tied_from="stop" in ties,
        tied_on="start" in ties,
        slurred_on=slurred_on,
        printed=printed_fingering(element) if "technical" in notations else None,
        dynamic=how.dynamic,
        trill=uppers.get(note_id),
        tremolo=tremolo_of(one),
        harmonic=pitch if harmonic is not None and not harmonic.artificial and not harmonic.is_base else None,
        touched=harmonic is not None and harmonic.is_touched,
        artificial=harmonic is not None and harmonic.artificial,
        pizzicato=how.pizzicato if plucked is None else plucked == "yes",
        divisi=how.divisi,
        players=how.players,
        sign="" if accidental is None else (accidental.text or "").strip(),
        courtesy=accidental is not None and is_courtesy(accidental),
        bow=signs.bow,
        lifted=signs.lifted,
        fermata=signs.fermata,
    )
