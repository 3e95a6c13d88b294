"""Across the strings: a finger across two of them, crossings for one note, strings that the bow has to leave out.

That one finger stops a perfect fifth on neighbouring strings: Flesch, "Violin Fingering", as cited in Strings
(September 2021). That a crossing for one note is better saved, with the fourth finger for an open string: aywren.com
(2019). That only neighbouring strings join without a gap: UNCW orchestration page. How fast is fast, and when two
strings are played in turn: common practice, no source.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from analysis.fingering.chain import Chain
from analysis.fingering.placements import Placement
from analysis.instruments import Instrument
from analysis.language import _, n_
from analysis.watch.finding import Finding
from analysis.watch.gathering import WHERE, Event, Step, finger_words, steps, told_at_once
from analysis.watch.study import Study
from analysis.wording import listed

# A figure rocks over two strings from so many notes on.
_ROCKS = 3
# A fifth that does not come back is told where its second note comes within so many seconds, or in a slur.
_QUICK_FIFTH = 0.25
# One note on another string is quick where the next note comes within so many seconds.
_QUICK = 0.3
# The bow has time to go over a string where the notes are so many seconds apart.
_TIME_TO_SKIP = 0.5
# Two strings are played in turn from so many notes on.
_IN_TURN = 5
# Alike things no more measures apart are told at once.
_NEAR = 16
_FIFTH = 7
_LAID, _CROSSES, _SAVED, _SKIPS = 0.8, 0.7, 0.4, 0.9


def watch_fifths_across(study: Study) -> Iterator[Finding]:
    """Where one finger stops two strings, to be laid across both."""
    events = (event for chain in study.chains for event in _fifths(study, steps(chain)))
    yield from told_at_once(study.part, "fifth-across", events, _NEAR)


def watch_single_crossings(study: Study) -> Iterator[Finding]:
    """Where the bow goes to another string for one note and comes back, or plays two strings in turn."""
    events = (event for chain in study.chains for event in _crossings(study, chain, steps(chain)))
    yield from told_at_once(study.part, "single-crossing", events, _NEAR)


def watch_string_skips(study: Study) -> Iterator[Finding]:
    """Where the bow goes over a string that is not to sound."""
    events = (event for chain in study.chains for event in _skips(study, steps(chain)))
    yield from told_at_once(study.part, "string-skip", events, _NEAR)


def _instrument(study: Study) -> Instrument:
    if study.plan is None:
        raise ValueError("only a part that is fingered has chains")
    return study.plan.setting.instrument


def _letters(instrument: Instrument, strings: Sequence[int]) -> str:
    """Strings by their letters, the lower one first."""
    return listed(instrument.string(number).letter for number in sorted(set(strings), reverse=True))


# One finger across two strings


def _fifths(study: Study, every: Sequence[Step]) -> Iterator[Event]:
    instrument = _instrument(study)
    start = 0
    for number in range(1, len(every) + 1):
        if number < len(every) and _lies_across(every[number - 1], every[number]):
            continue
        run = every[start:number]
        start = number
        if len(run) >= _ROCKS or (
            len(run) > 1 and (run[1].stage.slurred or run[1].stage.seconds_since <= _QUICK_FIFTH)
        ):
            yield _fifth(instrument, run)
        for step in run:
            yield from _fifth_at_once(instrument, step)


def _lies_across(before: Step, after: Step) -> bool:
    """Whether one finger stops two single notes on neighbouring strings, at one place of the hand."""
    a, b = before.single, after.single
    return (
        a is not None
        and b is not None
        and after.joined
        and 0 < a.finger == b.finger
        and (a.place, a.hand) == (b.place, b.hand)
        and abs(a.string - b.string) == 1
    )


def _fifth(instrument: Instrument, run: Sequence[Step]) -> Event:
    fifth, notes = _is_tuned_in_fifths(instrument), tuple(step.note for step in run)
    if len(run) >= _ROCKS:
        certainty, told = (
            1.0,
            _("In {where} keep one finger down across both strings while the notes of the fifth alternate."),
        )
        if not fifth:
            told = _("In {where} keep one finger down across both strings while the notes of the fourth alternate.")
        closer = _("In {where} keep the {finger} down across the {strings} strings while {pitches} alternate.")
    else:
        certainty, told = _LAID, _("In {where} lay one finger across both strings at once for the perfect fifth.")
        if not fifth:
            told = _("In {where} lay one finger across both strings at once for the perfect fourth.")
        closer = _("In {where} lay the {finger} across the {strings} strings at once, for {pitches}.")
    closer = closer.format(
        where=WHERE,
        finger=finger_words(run[0].grip[0].finger),
        strings=_letters(instrument, [step.grip[0].string for step in run[:2]]),
        pitches=listed(note.pitch.words for note in notes[:2]),
    )
    return Event(told.format(where=WHERE), notes, certainty, closer)


def _fifth_at_once(instrument: Instrument, step: Step) -> Iterator[Event]:
    """Two notes of a chord under one finger."""
    for (upper, high), (lower, low) in itertools.combinations(enumerate(step.grip), 2):
        if 0 < low.finger == high.finger and not {upper, lower} <= set(step.stage.held):
            notes = step.stage.heads[lower], step.stage.heads[upper]
            told = _("In {where} one finger stops both notes of the perfect fifth.")
            if not _is_tuned_in_fifths(instrument):
                told = _("In {where} one finger stops both notes of the perfect fourth.")
            closer = _("In {where} the {finger} stops {pitches} together, across the {strings} strings.").format(
                where=WHERE,
                finger=finger_words(low.finger),
                pitches=listed(note.pitch.words for note in notes),
                strings=_letters(instrument, (low.string, high.string)),
            )
            yield Event(told.format(where=WHERE), notes, closer=closer)


def _is_tuned_in_fifths(instrument: Instrument) -> bool:
    """Whether neighbouring strings are a fifth apart, not a fourth."""
    high, low = (string.pitch.midi for string in instrument.strings[:2])
    return high - low == _FIFTH


# Crossings for one note


def _crossings(study: Study, chain: Chain, every: Sequence[Step]) -> Iterator[Event]:
    """Every run of notes in which single ones lie on another string, by its first and its last note."""
    alone = [number for number in range(1, len(every) - 1) if _is_alone(every[number - 1 : number + 2])]
    start = 0
    for at in range(1, len(alone) + 1):
        if at < len(alone) and alone[at] - alone[at - 1] == 1:
            continue
        first, last = alone[start] - 1, alone[at - 1] + 1
        start = at
        yield from _crossing(_instrument(study), chain, every, first, last)


def _is_alone(three: Sequence[Step]) -> bool:
    """Whether only the middle one of three notes lies on another string, and not under one finger with a neighbour."""
    a, b, c = (step.single for step in three)
    if a is None or b is None or c is None or not (three[1].joined and three[2].joined):
        return False
    return a.string == c.string != b.string and not (_lies_across(*three[:2]) or _lies_across(*three[1:]))


def _crossing(instrument: Instrument, chain: Chain, every: Sequence[Step], first: int, last: int) -> Iterator[Event]:
    run = every[first : last + 1]
    notes = tuple(step.note for step in run)
    quick = all(step.stage.seconds_since <= _QUICK for step in run[1:])
    home, away = (instrument.string(step.grip[0].string).letter for step in run[:2])
    if len(run) >= _IN_TURN:
        if quick:
            told = _("In {where} two strings alternate: keep the arm between them.")
            closer = _("In {where} the {strings} strings alternate: keep the arm between them.")
            both = _letters(instrument, [step.grip[0].string for step in run[:2]])
            yield Event(told.format(where=WHERE), notes, _CROSSES, closer.format(where=WHERE, strings=both))
        return
    saved = _saved_by(chain, every, first + 1)
    if saved is not None:
        told = _("In {where} another finger would save going to the next string for one note.")
        closer = _("In {where} the {finger} on the {home} string would save going to the {away} string for one note.")
        closer = closer.format(where=WHERE, finger=finger_words(saved.finger), home=home, away=away)
        yield Event(told.format(where=WHERE), notes, _SAVED, closer)
    elif quick:
        told = _("In {where} one note lies on another string: keep the bow close to it and come straight back.")
        closer = _(
            "In {where} one note lies on the {away} string: "
            "keep the bow close to it and come straight back to the {home} string."
        )
        yield Event(told.format(where=WHERE), notes, _CROSSES, closer.format(where=WHERE, home=home, away=away))


def _saved_by(chain: Chain, every: Sequence[Step], number: int) -> Placement | None:
    """The finger that would keep a note on the string of its neighbours, in their hand; ``None`` where none does."""
    before, after = every[number - 1].grip[0], every[number + 1].grip[0]
    if before.hand != after.hand:
        return None
    for grip in chain.grips[number]:
        way = grip[0]
        if (way.string, way.hand) == (before.string, before.hand) and way.finger and not way.is_extension:
            return way
    return None


# Strings left out


def _skips(study: Study, every: Sequence[Step]) -> Iterator[Event]:
    instrument = _instrument(study)
    for before, after in itertools.pairwise(every):
        over = _between(before, after)
        if over and _follows_at_once(after):
            strings = _letters(instrument, over)
            ends = _letters(instrument, (over[0] - 1, over[-1] + 1))
            if after.stage.slurred:
                told = _(
                    "In {where} the bow skips a string within the slur: "
                    "swing the arm early, so that none sounds between."
                )
                closer = n_(
                    "In {where} the bow skips the {strings} string between {ends} within the slur: "
                    "swing the arm early.",
                    "In {where} the bow skips the {strings} strings between {ends} within the slur: "
                    "swing the arm early.",
                    len(over),
                )
            else:
                told = _("In {where} the bow skips a string: swing the arm early, so that none sounds between.")
                closer = n_(
                    "In {where} the bow skips the {strings} string between {ends}: swing the arm early.",
                    "In {where} the bow skips the {strings} strings between {ends}: swing the arm early.",
                    len(over),
                )
            closer = closer.format(where=WHERE, strings=strings, ends=ends)
            yield Event(told.format(where=WHERE), (before.note, after.note), _SKIPS, closer)


def _follows_at_once(after: Step) -> bool:
    """Whether the bow has no time to go over a string before a note."""
    stage = after.stage
    return after.joined and not stage.quarters_rest and (stage.slurred or stage.seconds_since <= _TIME_TO_SKIP)


def _between(before: Step, after: Step) -> range:
    """The numbers of the strings that lie between two grips."""
    here, there = ([placement.string for placement in step.grip] for step in (before, after))
    if before.stage.plucked and after.stage.plucked:
        return range(0)
    low, high = sorted((here, there), key=max)
    return range(max(low) + 1, min(high))
