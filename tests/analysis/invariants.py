"""What must hold of every plan: a table of functions, one a rule, each returning the offenders in words."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import replace

from analysis.fingering.chain import Chain
from analysis.fingering.costs import UNIT
from analysis.fingering.locks import Lock
from analysis.fingering.placements import THUMB_POSITION, Placement, along_string, placements
from analysis.fingering.plan import Plan, Way
from analysis.fingering.rules.house import HouseRules, PassageRules
from analysis.fingering.stages import Stage, voices
from analysis.fingering.standing import line_figures
from analysis.instruments import Instrument
from analysis.music import Note, Pitch

Rule = Callable[[Plan], Iterator[str]]

# Semitones above the open string that sound when a finger touches it so many semitones above: partials 2 to 6.
PARTIALS = {12: 12, 7: 19, 19: 19, 5: 24, 24: 24, 4: 28, 9: 28, 16: 28, 28: 28, 3: 31}


def every_note_is_fingered_or_its_problem_is_told(made: Plan) -> Iterator[str]:
    for note in made.part:
        if (note.id in made) == (made.choice(note.id) is None) or (
            note.id not in made and note.id not in made.problems
        ):
            yield note.id


def every_placement_sounds_its_pitch_on_a_string_of_the_instrument(made: Plan) -> Iterator[str]:
    strings = {string.number: string.pitch.midi for string in made.setting.instrument.strings}
    for note, placement in _heads(made):
        over, touched = made.part.transpose_at(note.onset), placement.harmonic and note.touched
        wanted = note.harmonic if placement.harmonic and note.harmonic is not None else note.pitch
        place = PARTIALS[placement.place] if placement.harmonic and not touched else placement.place
        if placement.string not in strings or strings[placement.string] + place != wanted.midi + over:
            yield f"{note.id}: {placement}"


def a_natural_harmonic_is_touched_where_it_speaks_on_any_string(made: Plan) -> Iterator[str]:
    for note, placement in _heads(made):
        over = made.part.transpose_at(note.onset)
        nodes = [] if note.harmonic is None else [
            place
            for string in made.setting.instrument.strings
            for place, partial in PARTIALS.items()
            if note.harmonic.midi + over - string.pitch.midi == (place if note.touched else partial)
        ]  # fmt: skip
        if placement.harmonic and (placement.place not in nodes or placement.is_open):
            yield f"{note.id}: {placement} is no node"
        if placement.harmonic != bool(nodes):
            yield f"{note.id}: {placement}, though nodes are {nodes}"


def a_trill_has_its_upper_note_under_the_next_finger(made: Plan) -> Iterator[str]:
    """The next finger on violin and viola, any above it elsewhere; over an open string the first or second, in the
    hand that waits there. Where the instrument has such a way."""
    for note, placement in _heads(made):
        if note.trill is None or note.harmonic is not None:
            continue
        octaves, rest = divmod(made.part.transpose_at(note.onset), 12)
        if rest:
            continue
        low, high = (replace(pitch, octave=pitch.octave + octaves) for pitch in (note.pitch, note.trill))
        trilled = set(_trilled(made.setting.instrument, low, high))
        told = made.problems.get(note.id, "")
        astray = bool(trilled) and (placement.string, placement.hand, placement.finger) not in trilled
        # What is wrong with a lock of the note is told first.
        if (astray and not told) or (not astray and "without its trill" in told):
            yield f"{note.id}: {placement}, told {told}"


def _trilled(instrument: Instrument, low: Pitch, high: Pitch) -> Iterator[tuple[int, float, int]]:
    """String, hand and finger of every way from which the upper note is under a fitting finger of the same hand."""
    upper = {(way.string, way.hand, way.finger): way for way in placements(instrument, high)}
    for way in placements(instrument, low):
        above = [finger for finger in range(1, 5) if along_string(finger) > along_string(way.finger)]
        fitting = [way.finger + 1] if instrument.letter_frame else above
        if not way.finger:
            fitting = [1, 2]
        found = [upper[key] for finger in fitting if (key := (way.string, way.hand, finger)) in upper]
        if any(way.finger or not (instrument.letter_frame and other.is_extension) for other in found):
            yield way.string, way.hand, way.finger


def the_rules_are_kept_unless_a_lock_goes_beyond_them(made: Plan) -> Iterator[str]:
    for chain, index in _unlocked(made):
        stage, grip = chain.stages[index], chain.chosen(index)
        rules = made.setting.rules_at(stage)
        near = [other for other in made.setting.grips_of(stage) if _reach(made, other) <= _limit(made, rules)]
        never_open_fits = any(all(map(rules.allows, other)) for other in near)
        keeps = rules.allows if never_open_fits else rules.reaches
        if not all(map(keeps, grip)):
            yield f"{stage.ids}: {grip}"


def no_hand_reaches_further_than_the_players_do(made: Plan) -> Iterator[str]:
    for chain, index in _unlocked(made):
        stage, grip = chain.stages[index], chain.chosen(index)
        if _reach(made, grip) > _limit(made, made.setting.rules_at(stage)):
            yield f"{stage.ids}: {grip} reaches {_reach(made, grip):.0f} mm"


def _reach(made: Plan, grip: tuple[Placement, ...]) -> float:
    """From the first finger, at its place in the hand or drawn back, to the highest one, in mm; 0 with the thumb on."""
    setting = made.setting
    down = [float(way.place) for way in grip if way.finger]
    if not down or (grip[0].position == THUMB_POSITION and not setting.instrument.letter_frame):
        return 0.0
    length = setting.played_on.string_length_mm
    low, high = min(*down, grip[0].hand), max(down)
    return float(length * (2 ** (-low / 12) - 2 ** (-high / 12)))


def _limit(made: Plan, rules: HouseRules) -> float:
    factor = {"small": 0.9, "usual": 1.0, "large": 1.12}[rules.reach]
    played_on = made.setting.played_on
    return played_on.reach_share * played_on.string_length_mm * factor + 1e-9


def a_passage_is_played_by_its_own_rules(made: Plan) -> Iterator[str]:
    labels = [measure.label for measure in made.part.measures]
    for chain, index in _unlocked(made):
        stage, grip = chain.stages[index], chain.chosen(index)
        label = labels[stage.measure]
        held = [p for p in made.setting.own.passage if {p.first, p.last} <= set(labels) and label in _labels(labels, p)]
        if held:
            table = dict(held[-1].rules)
            strings = table.get("keep_on") or (1, 2, 3, 4, 5)
            if not all(way.string in strings for way in grip):
                yield f"{stage.ids}: {grip} leaves strings {strings}"
            if table.get("extensions") is False and any(way.is_extension for way in grip):
                yield f"{stage.ids}: {grip} has an extension"


def _labels(labels: list[str], passage: PassageRules) -> list[str]:
    return labels[labels.index(passage.first) : labels.index(passage.last) + 1]


def a_stage_meets_as_many_demands_of_its_locks_as_the_instrument_can(made: Plan) -> Iterator[str]:
    for _, stage, grip in _stages(made):
        asked = _demands(made, stage)
        fewest = min(_unmet(other, asked) for other in made.setting.grips_of(stage))
        if _unmet(grip, asked) != fewest:
            yield f"{stage.ids}: {grip} leaves {_unmet(grip, asked)} demands of {asked}, but {fewest} would do"


def locks_that_conflict_are_named_and_no_others(made: Plan) -> Iterator[str]:
    for _, stage, grip in _stages(made):
        ids = [one for same in stage.ids for one in same]
        told = [one for one in ids if one in made.problems and not any(map(made.problems[one].count, _OF_PATH))]
        if bool(told) != bool(_unmet(grip, _demands(made, stage))):
            yield f"{stage.ids}: {grip}, told of {told}"
        if not set(told) <= set(made.locks):
            yield f"{stage.ids}: {told} has no lock"


# What is said of the path that was chosen, not of a lock.
_OF_PATH = ("is tied and would", "is fingered without its trill")


def _demands(made: Plan, stage: Stage) -> list[tuple[int, str, float]]:
    """Head, field and value of all that the locks ask of a stage."""
    return [
        (head, name, value)
        for head, ids in enumerate(stage.ids)
        for one in ids
        for name in ("string", "position", "finger", "hand")
        if one in made.locks and (value := getattr(made.locks[one], name)) is not None
    ]


def _unmet(grip: tuple[Placement, ...], asked: list[tuple[int, str, float]]) -> int:
    return sum(getattr(grip[head], name) != value for head, name, value in asked)


def a_figure_has_one_way_to_be_played_wherever_it_comes(made: Plan) -> Iterator[str]:
    for chain in made.chains:
        standing = chain.line.standing
        if not any(rules.same_again for rules in chain.line.rules) and any(standing):
            yield "a figure has a way though the rules do not ask for one"
        for figure in line_figures(chain.line) if any(standing) else ():
            for step in range(figure.length):
                ways = {_moved(standing[start + step], over) for start, over in figure.places}
                if len(ways) > 1:
                    yield f"{figure} at {step}: {ways}"


def _moved(grip: tuple[Placement, ...] | None, strings: int) -> object:
    return grip and tuple((way.string + strings, way.hand, way.finger, way.place) for way in grip)


def a_tied_note_keeps_its_placement_where_a_hand_can(made: Plan) -> Iterator[str]:
    """Chords may ask a held note to move; that it moves no oftener than it must, brute force shows elsewhere."""
    locked = {made.stage_id(note_id) for note_id in made.locks if note_id in made}
    for before, note in _ties(made):
        stages = {made.stage_id(one.id) for one in (before, note)}
        free = before.chord is None and not before.tied_from
        if len(stages) > 1 and (locked & stages or not free):
            continue
        if _choice(made, before.id).as_played != _choice(made, note.id).as_played:
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
        if len({(placement.position, placement.hand) for placement in grip}) > 1:
            yield f"{stage.ids}: two hands"
        down = [placement for placement in grip if not placement.is_open]
        for one in down:
            for other in down:
                if one.finger == other.finger and one.place != other.place:
                    yield f"{stage.ids}: finger {one.finger} at two places"
                if along_string(one.finger) < along_string(other.finger) and one.place > other.place:
                    yield f"{stage.ids}: fingers crossed"


def ways_come_with_the_least_effort_first_and_none_twice(made: Plan) -> Iterator[str]:
    for note_id, ways in _ways(made):
        if [way.extra for way in ways] != sorted(way.extra for way in ways):
            yield note_id
        if len({_way_of_hand(way.placement) for way in ways}) != len(ways):
            yield f"{note_id} twice"


def exactly_one_way_is_chosen_and_it_is_the_one_played(made: Plan) -> Iterator[str]:
    for note_id, ways in _ways(made):
        chosen = [way for way in ways if way.chosen]
        if len(chosen) != 1:
            yield f"{note_id}: {len(chosen)} chosen"
        elif _way_of_hand(chosen[0].placement) != _way_of_hand(_choice(made, note_id)):
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
        if "\n" in problem or not problem.startswith(("measure ", "upbeat, ")):
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
    a_natural_harmonic_is_touched_where_it_speaks_on_any_string,
    a_trill_has_its_upper_note_under_the_next_finger,
    the_rules_are_kept_unless_a_lock_goes_beyond_them,
    no_hand_reaches_further_than_the_players_do,
    a_passage_is_played_by_its_own_rules,
    a_stage_meets_as_many_demands_of_its_locks_as_the_instrument_can,
    locks_that_conflict_are_named_and_no_others,
    a_figure_has_one_way_to_be_played_wherever_it_comes,
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
    if way.placement.is_open and replace(held, position=None, hand=None).admits(way.placement):
        # A teacher who asked for a position while the string sounds open has it kept.
        lock = replace(lock, position=held.position, hand=held.hand)
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


def _unlocked(made: Plan) -> Iterator[tuple[Chain, int]]:
    """Every stage without a lock, as its chain and its place in it."""
    for chain in made.chains:
        for index, stage in enumerate(chain.stages):
            if not any(note_id in made.locks for ids in stage.ids for note_id in ids):
                yield chain, index


def _heads(made: Plan) -> Iterator[tuple[Note, Placement]]:
    """Every note that is struck, with its placement."""
    for _, stage, grip in _stages(made):
        yield from zip(stage.heads, grip, strict=True)


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


def _way_of_hand(placement: Placement) -> tuple[object, ...]:
    """What tells two ways apart; over an open string the hand may wait where it likes."""
    return (*placement.as_played, None if placement.is_open else placement.position)


def _ties(made: Plan) -> Iterator[tuple[Note, Note]]:
    """Pairs of fingered notes of one player of which the first is tied on to the second, in the very next attack."""
    for voice in voices(made.part).values():
        known = [note for note in voice if note.id in made]
        attacks = [
            list(notes) for _, notes in itertools.groupby(known, lambda note: (note.onset, note.chord or note.id))
        ]
        for earlier, later in itertools.pairwise(attacks):
            for before, note in itertools.product(earlier, later):
                if before.tied_on and note.tied_from and before.pitch == note.pitch:
                    yield before, note


def _tied_into(made: Plan, note_id: str) -> bool:
    """Whether the note is tied from one before: its stage's problem is told where that began."""
    return made.part.note(note_id).tied_from
