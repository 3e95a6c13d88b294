"""What the watchers read: one part in its score, its fingering, and what is worked out of them once for all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from analysis.bowing.bows import Bowing, bowing_of
from analysis.fingering.chain import Chain
from analysis.fingering.placements import Placement
from analysis.fingering.plan import Plan
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import Stage, stages, voices
from analysis.keys.regions import Region, key_regions
from analysis.music import Note, Part, Score
from analysis.texture import Passage, textures


@dataclass(frozen=True)
class Study:
    """One part of ``score``; ``plan`` is its fingering, ``None`` where nobody knows who plays it."""

    score: Score
    part: Part
    plan: Plan | None

    @property
    def rules(self) -> HouseRules:
        """The house rules that hold for the part, the usual ones where it has no plan."""
        return self.plan.setting.own if self.plan else HouseRules()

    @cached_property
    def voices(self) -> tuple[tuple[Stage, ...], ...]:
        """Every voice of the part, stage after stage, fingered or not; the first voice first."""
        return tuple(stages(self.part, notes, self.rules.tempo) for notes in voices(self.part).values())

    @cached_property
    def bows(self) -> tuple[Bowing, ...]:
        """The bowing of every voice as printed, in the order of ``voices``."""
        return tuple(bowing_of(self.part, voice, self.rules.tempo) for voice in self.voices)

    @cached_property
    def regions(self) -> tuple[Region, ...]:
        """The keys that the music is in, whatever signature is printed, by what all parts play."""
        return key_regions(self.part, [part for part in self.score.parts if part.id != self.part.id])

    @cached_property
    def texture(self) -> tuple[Passage, ...]:
        """Who plays, passage after passage; nothing where one part plays by itself."""
        return textures(self.score)

    @property
    def chains(self) -> tuple[Chain, ...]:
        """The fingered voices; none without a plan."""
        return self.plan.chains if self.plan else ()

    def placement(self, note: Note) -> Placement | None:
        """How a note is played, ``None`` where it is not fingered."""
        return self.plan.choice(note.id) if self.plan else None

    def struck(self) -> Iterator[tuple[Note, Placement]]:
        """Every fingered note that is attacked, with how it is played, voice by voice, chords from high to low."""
        for chain in self.chains:
            for stage, grip in zip(chain.stages, chain.chosen_path(), strict=True):
                for head, (note, placement) in enumerate(zip(stage.heads, grip, strict=True)):
                    if head not in stage.held:
                        yield note, placement

    def label(self, note: Note) -> str:
        """The printed number of the note's measure."""
        return self.part.measures[note.measure].label
