"""What holds for a whole part: the music, who plays it and under which rules, and what follows for each note."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from analysis.fingering.grips import Grip, artificial_grips, grips
from analysis.fingering.hands import reach_mm
from analysis.fingering.placements import Placement, harmonic_placements, placements, trill_placements
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import Stage
from analysis.instruments import Instrument
from analysis.music import LETTERS, Note, Part, Pitch

# An artificial harmonic is written as the note that is stopped and the one that is touched.
_ARTIFICIAL = 2
# How much further than usual hands reach, by the word of the rule; sizes are our own.
_REACH = {"small": 0.9, "usual": 1.0, "large": 1.12}


@dataclass(frozen=True)
class Setting:
    """A part, the instrument it is played on, and the teacher's rules.

    ``own``: the rules as they hold for this part and instrument. ``played_on``: the instrument in the size they give.
    """

    part: Part
    instrument: Instrument
    rules: HouseRules
    own: HouseRules = field(init=False, compare=False)
    played_on: Instrument = field(init=False, compare=False)
    _in_measures: Mapping[int, HouseRules] = field(init=False, repr=False, compare=False)
    _known: dict[object, tuple[tuple[Grip, ...], tuple[Grip, ...]]] = field(
        init=False, repr=False, compare=False, default_factory=dict
    )

    def __post_init__(self) -> None:
        own = self.rules.for_part(self.instrument.key, self.part.name)
        object.__setattr__(self, "own", own)
        played_on = self.instrument.in_size(own.size) if own.size in self.instrument.sizes else self.instrument
        object.__setattr__(self, "played_on", played_on)
        object.__setattr__(self, "_in_measures", own.in_measures(self.part))

    def rules_at(self, stage: Stage) -> HouseRules:
        """The rules in force at a stage."""
        return self._in_measures.get(stage.measure, self.own)

    def ways_of(self, note: Note, *, any_spelling: bool = False) -> tuple[Placement, ...]:
        """Every placement of a note on the instrument, whether or not the rules allow it."""
        pitch = self._sounding(note.pitch, note)
        if note.harmonic is not None:
            touched = harmonic_placements(self.instrument, self._sounding(note.harmonic, note), touched=note.touched)
            if touched:
                return touched
        if note.trill is not None:
            trilled = trill_placements(self.instrument, pitch, self._sounding(note.trill, note))
            if trilled:
                return trilled
        return placements(self.instrument, pitch, any_spelling=any_spelling)

    def grips_of(self, stage: Stage) -> tuple[Grip, ...]:
        """Every grip of a stage on the instrument, whether or not the rules allow it."""
        return self._choices(stage)[0]

    def allowed(self, stage: Stage) -> tuple[Grip, ...]:
        """Those grips that the rules allow; strings never played open are, where there is no other way.

        Where the rules leave no way to play a trill, the note is played without it, stopped if it can be.
        """
        return self._choices(stage)[1]

    def _choices(self, stage: Stage) -> tuple[tuple[Grip, ...], tuple[Grip, ...]]:
        """All grips and those allowed; worked out once for notes and rules that are the same."""
        rules = self.rules_at(stage)
        transposed = self.part.transpose_at(stage.onset)
        heads = tuple(
            (note.pitch, note.trill, note.harmonic, note.touched, note.artificial, transposed) for note in stage.heads
        )
        found = self._known.get((id(rules), heads))
        if found is None:
            every = self._every_grip(stage.heads)
            inside = self._inside(every, rules)
            if not inside and any(note.trill is not None for note in stage.heads):
                plain = self._every_grip([replace(note, trill=None) for note in stage.heads])
                stopped = [grip for grip in plain if not any(placement.is_open for placement in grip)]
                inside = self._inside(stopped, rules) or self._inside(plain, rules)
                every = tuple(dict.fromkeys((*every, *plain)))
            found = self._known[id(rules), heads] = (every, inside)
        return found

    def leaves_trill_out(self, note: Note, placement: Placement) -> bool:
        """Whether a note with a trill is played so that the trill cannot be, because the rules leave no way for it."""
        if note.trill is None or note.harmonic is not None:
            return False
        trilled = trill_placements(self.instrument, self._sounding(note.pitch, note), self._sounding(note.trill, note))
        return bool(trilled) and placement not in trilled

    def _every_grip(self, heads: Sequence[Note]) -> tuple[Grip, ...]:
        if len(heads) == _ARTIFICIAL and all(note.artificial for note in heads):
            return artificial_grips(heads[0].pitch, self.ways_of(heads[1]), heads[1].pitch)
        found = grips([self.ways_of(note) for note in heads], self.instrument.frame)
        if not found and len(heads) > 1:
            # B with F beside it on the next string lies well as C flat: a chord may take any spelling it needs.
            found = grips([self.ways_of(note, any_spelling=True) for note in heads], self.instrument.frame)
        return found

    def _inside(self, every: Sequence[Grip], rules: HouseRules) -> tuple[Grip, ...]:
        near = [grip for grip in every if self.is_in_reach(grip, rules)]
        inside = [grip for grip in near if all(rules.allows(placement) for placement in grip)]
        return tuple(inside or [grip for grip in near if all(rules.reaches(placement) for placement in grip)])

    def is_in_reach(self, grip: Grip, rules: HouseRules) -> bool:
        """Whether the players' hands are wide enough for a grip."""
        return reach_mm(self.played_on, grip) <= self.reach_limit(rules)

    def reach_limit(self, rules: HouseRules) -> float:
        """How far from first to highest finger the players reach, in mm: it goes with the size of the instrument."""
        return self.played_on.reach_share * self.played_on.string_length_mm * _REACH[rules.reach]

    def _sounding(self, pitch: Pitch, note: Note) -> Pitch:
        """A written pitch as it sounds; a transposition that is no octave keeps the usual interval of letters."""
        semitones = self.part.transpose_at(note.onset)
        octaves, rest = divmod(semitones, 12)
        if not rest:
            return Pitch(pitch.step, pitch.alter, pitch.octave + octaves)
        letter = pitch.letter + round(semitones * 7 / 12)
        natural = Pitch(LETTERS[letter % 7], 0, letter // 7)
        return Pitch(natural.step, pitch.midi + semitones - natural.midi, natural.octave)
