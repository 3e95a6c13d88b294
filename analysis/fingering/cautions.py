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
from analysis.fingering.placements import Placement, finger_text, hand_words
from analysis.fingering.plan import Plan
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import Instrument
from analysis.language import _, later

CAUTION = later(
    "Warm up, take breaks, never force a reach. Stop if it hurts, and ask a licensed health professional; "
    "see first to the right size of the instrument."
)
# A reach beyond this share of the players' limit is told.
NEAR_LIMIT = 0.9


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
            if reach > NEAR_LIMIT * limit or any(placement.is_extension for placement in grip):
                head = max(range(len(grip)), key=lambda n: grip[n].place if grip[n].finger else -1)
                yield _caution(plan, chain, index, stage.ids[head][0], reach)


def _caution(plan: Plan, chain: Chain, index: int, note_id: str, reach: float) -> Caution:
    note, choice = plan.part.note(note_id), plan.choice(note_id)
    finger = "" if choice is None else finger_text(choice.finger)
    mm, told = reach, _("{place}: {finger} for {pitch} reaches {mm} mm from the first finger.")
    if choice is not None and choice.place < choice.hand:
        mm, told = _drawn_back(plan, choice), _("{place}: {finger} for {pitch} is drawn back {mm} mm out of the hand.")
    words = told.format(place=plan.part.place(note), finger=finger, pitch=note.pitch.said, mm=f"{mm:.0f}")
    easier = easier_way(plan, chain.line.rules[index], note_id, reach)
    if easier is None:
        return Caution(note_id, words, _("No easier way under these rules: give it to another desk, or leave it out."))
    way = way_words(easier, plan.setting.instrument)
    return Caution(note_id, words, _("Easier: {way}.").format(way=way))


def easier_way(plan: Plan, rules: HouseRules, note_id: str, reach: float) -> Placement | None:
    """The best way to play a note that reaches ``reach`` mm, or leaves the frame, without that; ``None`` if none is."""
    choice = plan.choice(note_id)
    inside = (way for way in plan.placements(note_id) if way != choice and rules.reaches(way))
    return next((way for way in inside if _is_easier(plan, way, reach)), None)


def _is_easier(plan: Plan, way: Placement, reach: float) -> bool:
    """Whether a way keeps the fingers in the frame and, where the other one reaches far, reaches clearly less."""
    return not way.is_extension and (reach == 0 or reach_mm(plan.setting.played_on, (way,)) < NEAR_LIMIT * reach)


def _drawn_back(plan: Plan, placement: Placement) -> float:
    """How far below its place in the frame a finger stops, in mm."""
    instrument = plan.setting.played_on
    return instrument.distance_mm(placement.hand) - instrument.distance_mm(placement.place)


def way_words(way: Placement, instrument: Instrument) -> str:
    """A way to play a note in full: ``3 on the A string, 3rd position``."""
    letter = instrument.string(way.string).letter
    if way.is_open:
        return _("open {letter}").format(letter=letter)
    return _("{finger} on the {letter} string, {position}").format(
        finger=finger_text(way.finger), letter=letter, position=hand_words(way, instrument)
    )
