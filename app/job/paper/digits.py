"""What a plan puts on the page and into the file: digits to draw, marks to write."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from analysis.fingering.locks import Lock
from analysis.fingering.placements import Placement, finger_text
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import ROMAN
from analysis.marking.policy import Printed, printed
from analysis.music import Note
from app.job.words.names import hand_mark
from engraving.marks.finger import Mark
from engraving.placing import Arrow, Wanted

Measures = tuple[int, int] | None


def struck_notes(plan: Plan, measures: Measures = None) -> Iterator[tuple[Note, Placement]]:
    """The notes that carry a digit, with their placements: those fingered and not tied from one before."""
    placements = dict(plan.struck_choices())
    for note in plan.part.notes:
        placement = placements.get(note.id)
        inside = measures is None or measures[0] <= note.measure <= measures[1]
        if placement is not None and inside:
            yield note, placement


def wanted_digits(plan: Plan, measures: Measures = None) -> tuple[Wanted, ...]:
    """All digits of a plan, as they stand on the screen."""
    return tuple(_wanted(note.id, placement) for note, placement in struck_notes(plan, measures))


def digits_of(plan: Plan, note_ids: Iterable[str], strings: Collection[str] = frozenset()) -> tuple[Wanted, ...]:
    """The digits of some notes only, in the order of the part; ``strings``: those at which the string is told too."""
    return tuple(
        _wanted(note_id, placement, strings)
        for note_id in sorted((one for one in note_ids if one in plan), key=plan.part.index)
        if (placement := plan.struck_choice(note_id)) is not None
    )


def _wanted(note_id: str, placement: Placement, strings: Collection[str] = frozenset()) -> Wanted:
    return Wanted(note_id, finger_text(placement.finger), ROMAN[placement.string] if note_id in strings else None)


def digits_on_paper(
    plan: Plan,
    turned: Collection[str] = (),
    own: Mapping[str, bool] = MappingProxyType({}),
    measures: Measures = None,
) -> tuple[Wanted, ...]:
    """The digits of a plan that its house rules print, with strings, positions and signs where they are needed.

    ``turned`` and ``own`` as in :func:`analysis.marking.policy.printed`. A position is named once a chord, over its
    highest note. An arrow stands beside a digit whose finger goes higher or lower than it last was, a cross before
    one that reaches out of the hand: common practice, no source.
    """
    struck = {note.id: (note, placement) for note, placement in struck_notes(plan, measures)}
    arrows, named, found = _arrows(plan), set[str](), list[Wanted]()
    for one in printed(plan, None, turned, own):
        if one.note_id not in struck:
            continue
        note, placement = struck[one.note_id]
        hand = one.what.hand is not None and (note.chord or note.id) not in named
        if hand:
            named.add(note.chord or note.id)
        found.append(
            Wanted(
                note.id,
                finger_text(one.what.finger),
                ROMAN[one.what.string] if one.what.string else None,
                hand=hand_mark(placement, plan.setting.instrument) if hand else None,
                arrow=arrows.get(note.id) if "moved_finger" in one.why else None,
                reach="extension" in one.why and placement.is_extension,
            )
        )
    return tuple(found)


def _arrows(plan: Plan) -> dict[str, Arrow]:
    """Which way each finger goes that stops another place than it last did in that place of the hand, on its string."""
    arrows: dict[str, Arrow] = {}
    for chain in plan.chains:
        last: dict[tuple[int, float, int], int] = {}
        for stage, grip in zip(chain.stages, chain.chosen_path(), strict=True):
            for note, placement in zip(stage.heads, grip, strict=True):
                if not placement.is_open:
                    key = placement.string, placement.hand, placement.finger
                    before = last.get(key, placement.place)
                    if placement.place != before:
                        arrows[note.id] = "up" if placement.place > before else "down"
                    last[key] = placement.place
    return arrows


def marks_to_write(plan: Plan, measures: Measures = None, only: Sequence[Printed] | None = None) -> tuple[Mark, ...]:
    """The marks of a plan for the file: a finger for every struck note, and its string where the finger does not tell.

    A string is written where reading the fingers alone back, under the plan's own rules or in any position, would
    lead to another placement. ``only``: write just what is printed on paper.
    """
    placements = {note.id: placement for note, placement in struck_notes(plan, measures)}
    if only is not None:
        return tuple(Mark(one.note_id, one.what.finger, one.what.string) for one in only if one.note_id in placements)
    strings: set[str] = set()
    for rules in (plan.setting.rules, preset("whole-board")):
        while True:
            locks = {
                note_id: Lock(string=placement.string if note_id in strings else None, finger=placement.finger)
                for note_id, placement in placements.items()
            }
            read_back = make_plan(plan.part, plan.setting.instrument, rules, locks)
            astray = {note_id for note_id, placement in placements.items() if _differs(read_back, note_id, placement)}
            if astray <= strings:
                break
            strings |= astray
    return tuple(
        Mark(note_id, placement.finger, placement.string if note_id in strings else None)
        for note_id, placement in placements.items()
    )


def _differs(plan: Plan, note_id: str, placement: Placement) -> bool:
    there = plan.choice(note_id)
    return there is None or (there.string, there.finger) != (placement.string, placement.finger)
