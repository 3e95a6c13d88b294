"""Where a plan asks small hands to reach far, with an easier way; general teaching guidance, no medical advice.

Sources: small hands and the fourth finger, violin-works.com (widen from the base joints, no forced reach); the right
size of instrument first, The Instrumentalist 2010; pain means stop, Michigan State University ergonomics page; warm up
and take breaks, NASM/PAMA student sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analysis.fingering.chain import Chain
from analysis.fingering.hands import reach_mm
from analysis.fingering.placements import finger_text, hand_words
from analysis.fingering.plan import Plan, Way
from analysis.instruments import Instrument

CAUTION = (
    "Warm up, take breaks, never force a reach. Stop if it hurts, and ask a licensed health professional; "
    "see first to the right size of the instrument."
)
# A reach beyond this share of the players' limit is told.
_NEAR_LIMIT = 0.9


@dataclass(frozen=True, slots=True)
class Caution:
    """A far reach: the ``note_id`` of the finger that reaches, what it is, and the ``easier`` way, in sentences."""

    note_id: str
    text: str
    easier: str


def cautions(plan: Plan) -> Iterator[Caution]:
    """The far reaches of a plan, where its rules say that hands are small or the instrument is not of full size."""
    setting = plan.setting
    full = setting.played_on.string_length_mm >= setting.instrument.string_length_mm
    for chain in plan.chains:
        for index, stage in enumerate(chain.stages):
            rules, grip = chain.line.rules[index], chain.chosen(index)
            if full and rules.reach != "small":
                continue
            reach, limit = reach_mm(setting.played_on, grip), setting.reach_limit(rules)
            if reach > _NEAR_LIMIT * limit or any(placement.is_extension for placement in grip):
                head = max(range(len(grip)), key=lambda n: grip[n].place if grip[n].finger else -1)
                yield _caution(plan, chain, index, stage.ids[head][0], reach)


def _caution(plan: Plan, chain: Chain, index: int, note_id: str, reach: float) -> Caution:
    note, choice = plan.part.note(note_id), plan.choice(note_id)
    finger = "" if choice is None else finger_text(choice.finger)
    words = f"{plan.part.place(note)}: {finger} for {note.pitch.name} reaches {reach:.0f} mm from the first finger."
    easier = [way for way in plan.ways(note_id) if not way.chosen and _reach(plan, way) < _NEAR_LIMIT * reach]
    if not easier:
        return Caution(
            note_id, words, "No easier way under these rules: leave the note to another desk, or leave it out."
        )
    return Caution(note_id, words, f"Easier: {_way_words(easier[0], plan.setting.instrument)}.")


def _reach(plan: Plan, way: Way) -> float:
    """The reach of a way by itself, in mm; an extension counts double, so that it is never the easier way."""
    return reach_mm(plan.setting.played_on, (way.placement,)) * (2 if way.placement.is_extension else 1)


def _way_words(way: Way, instrument: Instrument) -> str:
    letter = instrument.string(way.placement.string).letter
    if way.placement.is_open:
        return f"open {letter}"
    return f"{finger_text(way.placement.finger)} on the {letter} string, {hand_words(way.placement, instrument)}"
