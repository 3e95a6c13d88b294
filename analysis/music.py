"""The written music as values: pitches, notes, measures, parts.

Musical time is counted in quarter notes as exact fractions from the start of the part. Notes are keyed by the id
of their ``<note>`` element, which is the same in the file, here and on the engraved page.
"""

from __future__ import annotations

import bisect
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from analysis.language import _, n_
from analysis.pitch_names import beside, in_octave, pitch_name, plain_pitch_name, tone_part

LETTERS = "CDEFGAB"
_PARTS_OF_A_BEAT = {Fraction(unicodedata.numeric(sign)).limit_denominator(8): sign for sign in "½⅓⅔¼¾⅙⅚⅛⅜⅝⅞"}
_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled pitch; ``alter`` in semitones (a fraction for quarter tones), ``octave`` with middle C = C4.

    >>> Pitch("F", 1, 5).name, Pitch("F", 1, 5).midi
    ('F#5', 78)
    """

    step: str
    alter: int | Fraction
    octave: int

    @property
    def midi(self) -> int | Fraction:
        """Semitones with C4 = 60."""
        return 12 * (self.octave + 1) + _SEMITONES[self.step] + self.alter

    @property
    def letter(self) -> int:
        """Letter steps counted from C0, whatever the accidental: a difference of these is a written interval."""
        return 7 * self.octave + LETTERS.index(self.step)

    @property
    def name(self) -> str:
        """The usual short name, ``F#5``, ``Bb3``, ``C4``; of quarter tones ``A4 +1/4 tone``."""
        if self.alter != int(self.alter):
            return f"{self.step}{self.octave} {tone_part(self.alter)} tone"
        return f"{self.spelling}{self.octave}"

    @property
    def spelling(self) -> str:
        """The name without the octave, ``F#``."""
        if self.alter != int(self.alter):
            return f"{self.step}{float(self.alter):+g}"
        return self.step + ("#" * int(self.alter) if self.alter > 0 else "b" * -int(self.alter))

    @property
    def words(self) -> str:
        """The name without the octave as it is printed, in the user's language: ``F♯``, ``B♭``, ``C``."""
        return pitch_name(self.step, self.alter)

    @property
    def said(self) -> str:
        """The name with the octave in the user's language: ``F#5``, ``Bb3``, ``C4``."""
        if self.alter != int(self.alter):
            return beside(in_octave(plain_pitch_name(self.step), self.octave), self.alter)
        return in_octave(plain_pitch_name(self.step, self.alter), self.octave)

    @property
    def printed(self) -> str:
        """The same with signs as they are printed: ``F♯5``, ``B♭3``, ``C4``."""
        return self.said if self.alter != int(self.alter) else in_octave(pitch_name(self.step, self.alter), self.octave)

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """Read a short name back; ValueError when it is none."""
        step, rest = text[:1].upper(), text[1:]
        accidentals = rest.rstrip("-0123456789")
        if step not in _SEMITONES or accidentals.strip("#b") or not rest[len(accidentals) :]:
            raise ValueError(f"'{text}' is no pitch name such as F#5 or Bb3")
        alter = accidentals.count("#") - accidentals.count("b")
        return cls(step, alter, int(rest[len(accidentals) :]))


@dataclass(frozen=True, slots=True)
class PrintedFingering:
    """The fingering that stands in the file for a note: MusicXML ``fingering``, ``string`` and ``open-string``.

    ``string`` counts from the highest string, 1; ``None`` where the file is silent.
    """

    finger: int | None = None
    string: int | None = None


@dataclass(frozen=True, slots=True)
class Note:
    """One written notehead.

    ``duration`` is 0 for a grace note. ``measure`` is an index into ``Part.measures``. ``chord`` is the id of the
    first written note of the chord this note belongs to (its own id for that first note), ``None`` for a single note.
    ``tied_from`` and ``tied_on``: a tie leads here, a tie leads on. ``slurred_on``: a slur over this note goes on to
    the next note of the voice.

    ``dynamic`` is the printed dynamic in force (``"mf"``), "" before the first. ``trill`` is the upper note of a trill.
    ``tremolo`` is "bowed" for strokes on one note, "fingered" where the note alternates with the next one.
    ``harmonic`` is the pitch at which a natural harmonic sounds, as written for this part; ``artificial`` marks a note
    of an artificial harmonic. ``touched``: the written pitch is where the finger touches, not what sounds; a natural
    ``harmonic`` then holds the written pitch, since only the string tells what sounds. ``divisi``: the notes of a chord
    are shared out among players. ``players`` are those whom words in force ask for: "solo", "few" (one desk, half the
    section), "tutti", "" where no word says.

    ``sign`` is the accidental printed before the note, by its MusicXML name ("sharp", "natural", ...), "" where none
    is; ``courtesy``: it is printed as a reminder, in brackets or marked so. ``bow``: the printed bow, "down" or "up".
    ``lifted``: a breath mark or caesura follows. ``fermata``: a fermata stands over it.
    """

    id: str
    pitch: Pitch
    onset: Fraction
    duration: Fraction
    measure: int
    voice: str = "1"
    staff: int = 1
    chord: str | None = None
    grace: bool = False
    tied_from: bool = False
    tied_on: bool = False
    slurred_on: bool = False
    printed: PrintedFingering | None = None
    dynamic: str = ""
    trill: Pitch | None = None
    tremolo: str = ""
    harmonic: Pitch | None = None
    artificial: bool = False
    pizzicato: bool = False
    divisi: bool = False
    touched: bool = False
    players: str = ""
    sign: str = ""
    courtesy: bool = False
    bow: str = ""
    lifted: bool = False
    fermata: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: ``label`` as printed, ``onset`` and ``length`` in quarter notes, time as (beats, beat type).

    ``offset`` is where in its metre the measure begins, in quarter notes: more than 0 for a pickup. ``repeat_from``: a
    repeated section begins here. ``repeat_back``: how often the section that ends here is played, 0 where none does.
    ``endings`` are the numbers of the volta over the measure.
    """

    index: int
    label: str
    onset: Fraction
    length: Fraction
    time: tuple[int, int] = (4, 4)
    offset: Fraction = Fraction(0)
    repeat_from: bool = False
    repeat_back: int = 0
    endings: tuple[int, ...] = ()

    @property
    def is_upbeat(self) -> bool:
        """Whether it is a pickup before the first measure that has a number."""
        numbered = self.label.isdecimal() and any(map(int, self.label))
        return self.index == 0 and self.offset > 0 and not numbered

    def beat(self, onset: Fraction) -> Fraction:
        """The beat, counted from 1 in units of the time signature's lower number, at which ``onset`` falls."""
        return 1 + (onset - self.onset + self.offset) * self.time[1] / 4


def beat_words(beat: Fraction) -> str:
    """A beat as players read it.

    >>> beat_words(Fraction(3)), beat_words(Fraction(19, 4)), beat_words(Fraction(12, 5))
    ('3', '4¾', '2 2/5')
    """
    whole, part = divmod(beat, 1)
    if not part:
        return str(whole)
    return f"{whole}{_PARTS_OF_A_BEAT.get(part, f' {part}')}"


def span_words(first: str, last: str) -> str:
    """Printed measure numbers from one to another.

    >>> span_words("17", "22"), span_words("17", "17")
    ('17–22', '17')
    """
    return first if first == last else f"{first}–{last}"


def measures_words(first: str, last: str) -> str:
    """The same with the word before.

    >>> measures_words("17", "22"), measures_words("17", "17")
    ('measures 17–22', 'measure 17')
    """
    return n_("measure {numbers}", "measures {numbers}", 1 if first == last else 2).format(
        numbers=span_words(first, last)
    )


@dataclass(frozen=True, slots=True)
class Tempo:
    """A tempo from ``onset`` on, in quarter notes a minute; ``word`` where only a word such as Allegro gives it."""

    onset: Fraction
    quarters_a_minute: float
    word: str = ""


@dataclass(frozen=True, slots=True)
class Transposition:
    """From ``onset`` on, ``semitones`` turn written into sounding pitch."""

    onset: Fraction
    semitones: int


@dataclass(frozen=True, slots=True)
class KeySignature:
    """A printed key signature from ``onset`` on; ``fifths`` counts its sharps, below 0 its flats."""

    onset: Fraction
    fifths: int


def altered_by(fifths: int, step: str) -> int:
    """How many semitones a key signature of so many sharps (below 0 flats) alters a letter.

    >>> altered_by(2, "F"), altered_by(2, "G"), altered_by(-1, "B")
    (1, 0, -1)
    """
    sharps = "FCGDAEB"
    return int(step in sharps[:fifths]) if fifths >= 0 else -int(step in sharps[fifths:])


@dataclass(frozen=True, slots=True)
class DynamicMark:
    """A printed dynamic that holds from ``onset`` on, ``"mf"``."""

    onset: Fraction
    level: str


@dataclass(frozen=True, slots=True)
class Hairpin:
    """A gradual change of loudness from ``onset`` to ``end``, drawn or in words; ``grows``: a crescendo."""

    onset: Fraction
    end: Fraction
    grows: bool


@dataclass(frozen=True)
class Part:
    """One player's part. ``notes`` stand in written order.

    ``transpose`` semitones turn written into sounding pitch, until the first of the ``transpositions``. ``keys``,
    ``dynamics`` and ``hairpins`` are in order of their onsets.
    """

    id: str
    name: str
    measures: tuple[Measure, ...]
    notes: tuple[Note, ...]
    transpose: int = 0
    tempi: tuple[Tempo, ...] = ()
    transpositions: tuple[Transposition, ...] = ()
    keys: tuple[KeySignature, ...] = ()
    dynamics: tuple[DynamicMark, ...] = ()
    hairpins: tuple[Hairpin, ...] = ()
    _by_id: dict[str, Note] = field(init=False, repr=False, compare=False)
    _by_measure: dict[int, list[Note]] = field(init=False, repr=False, compare=False)
    _index: dict[str, int] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_measure: dict[int, list[Note]] = {}
        for note in self.notes:
            by_measure.setdefault(note.measure, []).append(note)
        object.__setattr__(self, "_by_id", {note.id: note for note in self.notes})
        object.__setattr__(self, "_by_measure", by_measure)
        object.__setattr__(self, "_index", {note.id: index for index, note in enumerate(self.notes)})

    def note(self, note_id: str) -> Note:
        """The note of that id; KeyError when the part has none."""
        return self._by_id[note_id]

    def index(self, note_id: str) -> int:
        """The place of that note among ``notes``, from 0; KeyError when the part has none."""
        return self._index[note_id]

    def notes_in(self, measure: int) -> tuple[Note, ...]:
        """The notes of the measure of that index, in written order."""
        return tuple(self._by_measure.get(measure, ()))

    def __contains__(self, note_id: object) -> bool:
        return note_id in self._by_id

    def __iter__(self) -> Iterator[Note]:
        return iter(self.notes)

    def tempo_at(self, onset: Fraction, default: float) -> float:
        """Quarter notes a minute in force at ``onset``, or ``default`` before the first tempo mark."""
        index = bisect.bisect_right(self.tempi, onset, key=lambda tempo: tempo.onset)
        return self.tempi[index - 1].quarters_a_minute if index else default

    def transpose_at(self, onset: Fraction) -> int:
        """The semitones that turn pitches written at ``onset`` into sounding ones."""
        index = bisect.bisect_right(self.transpositions, onset, key=lambda change: change.onset)
        return self.transpositions[index - 1].semitones if index else self.transpose

    def key_at(self, onset: Fraction) -> int:
        """The sharps (below 0 the flats) of the key signature in force at ``onset``; 0 where none is printed."""
        index = bisect.bisect_right(self.keys, onset, key=lambda key: key.onset)
        return self.keys[index - 1].fifths if index else 0

    def within(self, first: int, last: int) -> Part:
        """The same part with only the notes of measures ``first`` to ``last`` (indices, both included)."""
        notes = tuple(note for note in self.notes if first <= note.measure <= last)
        return replace(self, notes=notes)

    def span(self, measures: tuple[int, int]) -> str:
        """Measures from one index to another, as players say it: ``measures 17–22``, ``upbeat to measure 8``."""
        first, last = (self.measures[index] for index in measures)
        if first.is_upbeat:
            return _("upbeat") if last is first else _("upbeat to measure {measure}").format(measure=last.label)
        return measures_words(first.label, last.label)

    def place(self, note: Note) -> str:
        """Where the note stands, in words: ``measure 12, beat 3``, ``upbeat, beat 4``."""
        measure = self.measures[note.measure]
        beat = beat_words(measure.beat(note.onset))
        if measure.is_upbeat:
            return _("upbeat, beat {beat}").format(beat=beat)
        return _("measure {measure}, beat {beat}").format(measure=measure.label, beat=beat)


@dataclass(frozen=True, slots=True)
class Score:
    """A whole score: its parts in score order."""

    title: str
    parts: tuple[Part, ...]
