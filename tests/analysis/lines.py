"""Parts for tests, written in one line a voice, and fingerings read back as short words.

``line("G4 A4/2 (B4 C5)")`` gives a :class:`Part`. The words of a line:

===================  ===================================================================
``G4/2``             a note and its length in quarter notes (``/0.5``, ``/1/3``); without one, the last length
``F#5`` ``Bb3``      accidentals
``r/1``              a rest
``[D4 A4]/2``        a chord
``D5/2~``            tied on to the next D5; inside a chord ``[D4~ A4]``
``*E5``              a grace note before the next note
``(D5 E5 F#5)``      a slur
``B4/2^C5``          a trill with its upper note
``E6/1o`` ``A4/1x``  a natural harmonic: the pitch that sounds; the place that is touched
``E4/1=``            alternates with the next note, in a fingered tremolo
``D5/2n`` ``D5/2v``  a printed down-bow, up-bow; ``D5/2'`` a breath mark after it; ``D5/2:`` a fermata
``F#5!``             an accidental printed as a reminder; those that are needed are printed without it
``{f}`` ``{pizz}``   from here on: a dynamic; ``pizz`` or ``arco``; ``div`` or ``unis``; ``solo``, ``few`` or ``tutti``
``{2#}`` ``{3b}``    a new key signature; ``{0}`` without sharps and flats
``{<}`` ``{>}``      a hairpin begins, growing or falling; ``{-}`` it ends
===================  ===================================================================

Notes are called ``n1``, ``n2`` ... in written order; those of a second voice ``v2n1``, ``v2n2`` ...
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction

from analysis.fingering.locks import Lock
from analysis.fingering.placements import finger_text
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import VIOLIN, Instrument
from analysis.music import DynamicMark, Hairpin, KeySignature, Measure, Note, Part, Pitch, Tempo, altered_by

_WORD = re.compile(r"\(*\*?\[[^\]]*\]\S*|\S+")
_SIGN = re.compile(r"\{([^}\s]+)\}")
_SIGNS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}
_SHAPE = re.compile(
    r"(?P<opens>\(*)(?P<grace>\*?)(?:\[(?P<chord>[^\]]+)\]|(?P<single>r|[A-G][#b]*-?\d!?))"
    r"(?:/(?P<length>[\d./]+))?(?:\^(?P<trill>[A-G][#b]*-?\d))?(?P<special>[ox=]?)(?P<bow>[nv]?)(?P<after>[':]?)(?P<tie>~?)(?P<closes>\)*)"
)


def line(
    *voices: str,
    time: tuple[int, int] = (4, 4),
    tempo: float | None = None,
    name: str = "Violin",
    transpose: int = 0,
) -> Part:
    """A part of one line of words a voice, barred by ``time``; ``tempo`` in quarter notes a minute."""
    bar = Fraction(4 * time[0], time[1])
    read = [_Voice(number) for number in range(1, len(voices) + 1)]
    notes = [note for voice, text in zip(read, voices, strict=True) for note in voice.read(text)]
    end = max((note.onset + note.duration for note in notes), default=bar)
    count = max(1, -int(-end // bar))
    # A grace note after the last note stays in the last measure.
    notes = [replace(note, measure=min(int(note.onset // bar), count - 1)) for note in notes]
    measures = tuple(Measure(index, str(index + 1), index * bar, bar, time) for index in range(count))
    tempi = () if tempo is None else (Tempo(Fraction(0), tempo),)
    part = Part(
        "P1",
        name,
        measures,
        tuple(notes),
        transpose,
        tempi,
        keys=tuple(key for voice in read for key in voice.keys),
        dynamics=tuple(sorted((mark for voice in read for mark in voice.dynamics), key=lambda mark: mark.onset)),
        hairpins=tuple(sorted((pin for voice in read for pin in voice.hairpins), key=lambda pin: pin.onset)),
    )
    return replace(part, notes=tuple(_signed(part)))


def _signed(part: Part) -> Iterator[Note]:
    """The notes with the accidentals that are needed, and those asked for as reminders."""
    in_force: dict[int, Fraction | int] = {}
    measure = -1
    signs: dict[str, str] = {}
    for note in sorted(part.notes, key=lambda note: note.onset):
        if note.measure != measure:
            measure, in_force = note.measure, {}
        letter = note.pitch.letter
        usual = altered_by(part.key_at(note.onset), note.pitch.step)
        needed = not note.tied_from and in_force.get(letter, usual) != note.pitch.alter
        if needed or note.courtesy:
            signs[note.id] = _SIGNS[int(note.pitch.alter)]
        if needed:
            in_force[letter] = note.pitch.alter
    for note in part.notes:
        yield replace(note, sign=signs.get(note.id, ""))


def repeated(
    part: Part,
    *,
    starts: Iterable[int] = (),
    backs: Mapping[int, int] | None = None,
    endings: Mapping[int, tuple[int, ...]] | None = None,
) -> Part:
    """The part with repeats, by the index of a measure: where sections begin, how often the one that ends there is
    played, and the numbers of the volta over it."""
    begins = frozenset(starts)
    measures = tuple(
        replace(
            measure,
            repeat_from=measure.index in begins,
            repeat_back=(backs or {}).get(measure.index, 0),
            endings=(endings or {}).get(measure.index, ()),
        )
        for measure in part.measures
    )
    return replace(part, measures=measures)


class _Voice:
    """One line of words on its way to notes."""

    def __init__(self, number: int) -> None:
        self.voice = str(number)
        self.prefix = "n" if number == 1 else f"v{number}n"
        self.onset, self.length = Fraction(0), Fraction(1)
        self.made, self.slurs = 0, 0
        self.tied: list[Pitch] = []
        self.dynamic, self.pizzicato, self.divisi, self.players = "", False, False, ""
        self.keys: list[KeySignature] = []
        self.dynamics: list[DynamicMark] = []
        self.hairpins: list[Hairpin] = []
        self.opened: tuple[Fraction, bool] | None = None

    def read(self, text: str) -> Iterator[Note]:
        for word in _WORD.findall(text):
            sign = _SIGN.fullmatch(word)
            if sign is not None:
                self._sign(sign[1])
                continue
            shape = _SHAPE.fullmatch(word)
            if shape is None:
                raise ValueError(f"'{word}' is no word of a line")
            yield from self._attack(shape)

    def _sign(self, word: str) -> None:
        match word:
            case "pizz" | "arco":
                self.pizzicato = word == "pizz"
            case "div" | "unis":
                self.divisi = word == "div"
            case "solo" | "few" | "tutti":
                self.players = word
            case "<" | ">":
                self.opened = (self.onset, word == "<")
            case "-" if self.opened is not None:
                self.hairpins.append(Hairpin(self.opened[0], self.onset, self.opened[1]))
            case _ if word[0].isdigit():
                fifths = int(word.rstrip("#b"))
                self.keys.append(KeySignature(self.onset, -fifths if word.endswith("b") else fifths))
            case _:
                self.dynamic = word
                self.dynamics.append(DynamicMark(self.onset, word))

    def _attack(self, shape: re.Match[str]) -> Iterator[Note]:
        self.length = Fraction(shape["length"]) if shape["length"] else self.length
        grace = bool(shape["grace"])
        self.slurs += len(shape["opens"]) - len(shape["closes"])
        if shape["single"] != "r":
            heads = self._heads((shape["chord"] or shape["single"]).split(), grace=grace, all_tied=bool(shape["tie"]))
            for note in heads:
                yield _special(_bowed(note, shape), shape["special"], shape["trill"])
        if not grace:
            self.onset += self.length

    def _heads(self, names: list[str], *, grace: bool, all_tied: bool) -> Iterator[Note]:
        before, self.tied = self.tied, []
        first = f"{self.prefix}{self.made + 1}"
        for name in names:
            self.made += 1
            pitch = Pitch.parse(name.rstrip("~!"))
            tied_on = all_tied or name.endswith("~")
            tied_from = pitch in before
            if tied_from:
                before.remove(pitch)
            if tied_on:
                self.tied.append(pitch)
            yield Note(
                id=f"{self.prefix}{self.made}",
                pitch=pitch,
                onset=self.onset,
                duration=Fraction(0) if grace else self.length,
                measure=0,
                voice=self.voice,
                chord=first if len(names) > 1 else None,
                grace=grace,
                tied_from=tied_from,
                tied_on=tied_on,
                slurred_on=self.slurs > 0,
                dynamic=self.dynamic,
                pizzicato=self.pizzicato,
                divisi=self.divisi and len(names) > 1,
                players=self.players,
                courtesy="!" in name,
            )


def _bowed(note: Note, shape: re.Match[str]) -> Note:
    """The note with its bow mark, breath mark or fermata."""
    bow = {"n": "down", "v": "up", "": ""}[shape["bow"]]
    return replace(note, bow=bow, lifted=shape["after"] == "'", fermata=shape["after"] == ":")


def _special(note: Note, special: str, trill: str | None) -> Note:
    """The note as a harmonic, in a tremolo or with a trill."""
    if trill is not None:
        note = replace(note, trill=Pitch.parse(trill))
    match special:
        case "o" | "x":
            return replace(note, harmonic=note.pitch, touched=special == "x")
        case "=":
            return replace(note, tremolo="fingered")
    return note


def plan(
    text: str | Part,
    rules: str | HouseRules = "first",
    instrument: Instrument = VIOLIN,
    locks: Mapping[str, Lock] | None = None,
) -> Plan:
    """The plan of a line (or a part) under a preset or under rules of one's own."""
    part = line(text) if isinstance(text, str) else text
    return make_plan(part, instrument, preset(rules) if isinstance(rules, str) else rules, locks)


def played(made: Plan) -> str:
    """String letter and finger of every note in written order, ``A0 D3 AT`` (the thumb); ``-`` where unfingered."""
    words = []
    for note in made.part:
        choice = made.choice(note.id)
        words.append(
            "-"
            if choice is None
            else f"{made.setting.instrument.string(choice.string).letter}{finger_text(choice.finger)}"
        )
    return " ".join(words)


def positions(made: Plan) -> list[int | None]:
    """The position of the hand at every note in written order."""
    choices = [made.choice(note.id) for note in made.part]
    return [None if choice is None else choice.position for choice in choices]
