"""What must hold of every plan: a table of functions, one a rule, each returning the offenders in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from analysis.fingering.chain import Chain
from analysis.fingering.costs import UNIT
from analysis.fingering.locks import Lock
from analysis.fingering.placements import Placement
from analysis.fingering.plan import Plan, Way
from analysis.fingering.stages import Stage
from analysis.music import Note

Rule = Callable[[Plan], Iterator[str]]


def every_note_is_fingered_or_its_problem_is_told(made: Plan) -> Iterator[str]:
    for note in made.part:
        if (note.id in made) == (made.choice(note.id) is None) or (
            note.id not in made and note.id not in made.problems
        ):
            yield note.id


def every_placement_sounds_its_pitch_on_a_string_of_the_instrument(made: Plan) -> Iterator[str]:
    strings = {string.number: string.pitch.midi for string in made.setting.instrument.strings}
    for note_id, placement in made.choices():
        sounding = made.part.note(note_id).pitch.midi + made.part.transpose
        if placement.string not in strings or strings[placement.string] + placement.place != sounding:
            yield f"{note_id}: {placement}"


def the_rules_are_kept_unless_a_lock_goes_beyond_them(made: Plan) -> Iterator[str]:
    rules = made.setting.rules
    for _, stage, grip in _stages(made):
        if any(note_id in made.locks for ids in stage.ids for note_id in ids):
            continue
        never_open_fits = any(all(map(rules.allows, other)) for other in made.setting.grips_of(stage))
        keeps = rules.allows if never_open_fits else rules.reaches
        if not all(map(keeps, grip)):
            yield f"{stage.ids}: {grip}"


def every_lock_is_kept_or_named_as_one_that_cannot_be(made: Plan) -> Iterator[str]:
    for note_id, lock in made.locks.items():
        choice = made.choice(note_id)
        if note_id in made.part and note_id not in made.problems and (choice is None or not _admits(lock, choice)):
            yield f"{note_id}: {lock} gives {choice}"


def a_lock_the_instrument_can_keep_by_itself_is_kept(made: Plan) -> Iterator[str]:
    for _, stage, grip in _stages(made):
        locked = [(head, one) for head, ids in enumerate(stage.ids) for one in ids if one in made.locks]
        if len(locked) == 1:
            ((head, note_id),) = locked
            lock = made.locks[note_id]
            possible = any(_admits(lock, other[head]) for other in made.setting.grips_of(stage))
            if possible != (note_id not in made.problems) or possible != _admits(lock, grip[head]):
                yield f"{note_id}: {lock} gives {grip[head]}"


def a_tied_note_keeps_its_placement_where_a_hand_can(made: Plan) -> Iterator[str]:
    """Chords may ask a held note to move; that it moves no oftener than it must, brute force shows elsewhere."""
    locked = {made.stage_id(note_id) for note_id in made.locks if note_id in made}
    for before, note in _ties(made):
        stages = {made.stage_id(one.id) for one in (before, note)}
        free = before.chord is None and not before.tied_from
        if len(stages) > 1 and (locked & stages or not free):
            continue
        if as_played(_choice(made, before.id)) != as_played(_choice(made, note.id)):
            yield f"{before.id} {made.choice(before.id)}, {note.id} {made.choice(note.id)}"


def only_notes_that_are_attacked_carry_a_digit(made: Plan) -> Iterator[str]:
    tied = {note.id for _, note in _ties(made)}
    for note in made.part:
        if made.struck(note.id) != (note.id in made and note.id not in tied):
            yield note.id


def a_chord_lies_on_neighbouring_strings_in_one_hand(made: Plan) -> Iterator[str]:
    for _, stage, grip in _stages(made):
        strings = {placement.string for placement in grip}
        if len(strings) < len(grip) or max(strings) - min(strings) != len(grip) - 1:
            yield f"{stage.ids}: strings {strings}"
        if len({placement.position for placement in grip}) > 1:
            yield f"{stage.ids}: positions"
        down = [placement for placement in grip if not placement.is_open]
        for one in down:
            for other in down:
                if one.finger == other.finger and one.place != other.place:
                    yield f"{stage.ids}: finger {one.finger} at two places"
                if one.finger < other.finger and one.place > other.place:
                    yield f"{stage.ids}: fingers crossed"


def ways_come_with_the_least_effort_first_and_none_twice(made: Plan) -> Iterator[str]:
    for note_id, ways in _ways(made):
        if [way.extra for way in ways] != sorted(way.extra for way in ways):
            yield note_id
        if len({as_played(way.placement) for way in ways}) != len(ways):
            yield f"{note_id} twice"


def exactly_one_way_is_chosen_and_it_is_the_one_played(made: Plan) -> Iterator[str]:
    for note_id, ways in _ways(made):
        chosen = [way for way in ways if way.chosen]
        if len(chosen) != 1:
            yield f"{note_id}: {len(chosen)} chosen"
        elif as_played(chosen[0].placement) != as_played(_choice(made, note_id)):
            yield f"{note_id}: {chosen[0].placement}"
        elif chosen[0].extra or chosen[0].differences:
            yield f"{note_id}: the chosen way costs {chosen[0].extra}"


def without_locks_no_way_is_easier_than_the_plan(made: Plan) -> Iterator[str]:
    for note_id, ways in _ways(made):
        if not made.locks and ways[0].extra != 0:
            yield f"{note_id}: {ways[0].extra}"


def the_differences_add_up_to_the_extra_effort(made: Plan) -> Iterator[str]:
    for note_id, ways in _ways(made):
        for way in ways:
            if sum(item.thousandths for item in way.differences) != round(way.extra * UNIT):
                yield f"{note_id}: {way}"
            sizes = [abs(item.thousandths) for item in way.differences]
            if sizes != sorted(sizes, reverse=True) or 0 in sizes:
                yield f"{note_id}: differences out of order"


def a_problem_names_its_measure_in_one_sentence(made: Plan) -> Iterator[str]:
    for note_id, problem in made.problems.items():
        if not problem.startswith(made.part.place(made.part.note(note_id)) + ":") and not _tied_into(made, note_id):
            yield f"{note_id}: {problem}"
        if "\n" in problem or not problem.startswith("measure "):
            yield f"{note_id}: {problem}"


def the_effort_of_the_notes_adds_up_to_the_plans(made: Plan) -> Iterator[str]:
    own = sum(round(made.own_effort(stage.ids[0][0]) * UNIT) for _, stage, _ in _stages(made))
    if own != round(made.effort * UNIT):
        yield f"{own} is not {made.effort}"


def choices_and_choice_say_the_same(made: Plan) -> Iterator[str]:
    told = dict(made.choices())
    for note in made.part:
        if told.get(note.id) != made.choice(note.id):
            yield note.id


INVARIANTS: tuple[Rule, ...] = (
    every_note_is_fingered_or_its_problem_is_told,
    every_placement_sounds_its_pitch_on_a_string_of_the_instrument,
    the_rules_are_kept_unless_a_lock_goes_beyond_them,
    every_lock_is_kept_or_named_as_one_that_cannot_be,
    a_lock_the_instrument_can_keep_by_itself_is_kept,
    a_tied_note_keeps_its_placement_where_a_hand_can,
    only_notes_that_are_attacked_carry_a_digit,
    a_chord_lies_on_neighbouring_strings_in_one_hand,
    a_problem_names_its_measure_in_one_sentence,
    the_effort_of_the_notes_adds_up_to_the_plans,
    choices_and_choice_say_the_same,
)
# These ask for every way of every note, which takes long for a long part.
INVARIANTS_OF_WAYS: tuple[Rule, ...] = (
    ways_come_with_the_least_effort_first_and_none_twice,
    exactly_one_way_is_chosen_and_it_is_the_one_played,
    without_locks_no_way_is_easier_than_the_plan,
    the_differences_add_up_to_the_extra_effort,
)


def offenders(made: Plan, *, with_ways: bool = True) -> list[str]:
    """What breaks the rules of the tables, each with the rule's name."""
    table = (*INVARIANTS, *INVARIANTS_OF_WAYS) if with_ways else INVARIANTS
    return [f"{rule.__name__}: {words}" for rule in table for words in rule(made)]


def extra_is_not_what_the_plan_pays(made: Plan, note_id: str, way: Way) -> str | None:
    """Where the plan with the note locked to ``way`` does not cost just that much more; only it may be locked."""
    lock, held = Lock.on(way.placement), made.locks.get(note_id, Lock())
    if way.placement.is_open and replace(held, position=None).admits(way.placement):
        # A teacher who asked for a position while the string sounds open has it kept.
        lock = replace(lock, position=held.position)
    forced = made.with_locks({**made.locks, note_id: lock})
    if round(forced.effort * UNIT) - round(made.effort * UNIT) == round(way.extra * UNIT):
        return None
    return f"{note_id}: {way.placement} costs {way.extra}, but the plan pays {forced.effort - made.effort}"


def lone_notes(made: Plan) -> list[str]:
    """Ids of fingered notes in whose stage no other id is locked: a lock on them meets no other lock there."""
    found = []
    for _, stage, _ in _stages(made):
        every = [one for ids in stage.ids for one in ids]
        found += [one for one in every if not any(other in made.locks for other in every if other != one)]
    return found


def _stages(made: Plan) -> Iterator[tuple[Chain, Stage, tuple[Placement, ...]]]:
    for chain in made.chains:
        for index, stage in enumerate(chain.stages):
            yield chain, stage, chain.chosen(index)


def _ways(made: Plan) -> Iterator[tuple[str, tuple[Way, ...]]]:
    for _, stage, _ in _stages(made):
        for ids in stage.ids:
            yield ids[0], made.ways(ids[0])


def _choice(made: Plan, note_id: str) -> Placement:
    choice = made.choice(note_id)
    assert choice is not None
    return choice


def as_played(placement: Placement) -> tuple[int, int | None, int]:
    """String, position and finger; over an open string the hand may wait where it likes."""
    return placement.string, None if placement.is_open else placement.position, placement.finger


def _admits(lock: Lock, placement: Placement) -> bool:
    wanted = (lock.string, lock.position, lock.finger)
    given = (placement.string, placement.position, placement.finger)
    return all(one is None or one == other for one, other in zip(wanted, given, strict=True))


def _ties(made: Plan) -> Iterator[tuple[Note, Note]]:
    """Pairs of fingered notes of which the first is tied on to the second."""
    for note in made.part:
        if note.tied_from and note.id in made:
            voice = [one for one in made.part if (one.voice, one.staff) == (note.voice, note.staff)]
            latest = max((one.onset for one in voice if one.onset < note.onset), default=None)
            for before in voice:
                if before.onset == latest and before.tied_on and before.pitch == note.pitch and before.id in made:
                    yield before, note


def _tied_into(made: Plan, note_id: str) -> bool:
    """Whether the note is tied from one before: its stage's problem is told where that began."""
    return made.part.note(note_id).tied_from
