"""How the hand is set for a key: which fingers touch; on the cello, which middle finger plays.

On violin and viola neighbouring fingers a half step apart touch, and on the cello the closed hand plays 1 3 4 or 1 2 4:
so a class learns a key (common practice, no source). The bass has one pattern, 1 2 4.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from analysis.fingering.placements import Lie, Placement, hand_words
from analysis.instruments import Instrument
from analysis.language import _
from analysis.music import LETTERS, Note, altered_by
from analysis.watch.finding import Finding, found
from analysis.watch.inflections import Inflection, letters_words
from analysis.watch.study import Study
from analysis.wording import comma_listed, listed

# At the least so many stopped notes show how the hand is set, and so many where a finger is set.
_SHOWN, _SHOWN_EACH = 8, 3
_MIDDLE = (2, 3)

# For every string, fingers that belong together.
_Pattern = Mapping[int, Sequence[tuple[int, ...]]]


@dataclass(frozen=True, slots=True)
class _Hand:
    """How the hand is set for a while: the ``position`` and the ``fingers`` in words, and the ``notes`` that show it.

    ``shape`` is the same wherever the words are.
    """

    shape: object
    position: str
    fingers: str
    notes: tuple[Note, ...]


def set_hands(study: Study, struck: Sequence[Inflection]) -> Iterator[Finding]:
    """How the hand is set at the beginning, and again where the key signature changes."""
    before: int = 0
    shape: object = None
    for fifths, group in itertools.groupby(struck, key=lambda one: one.fifths):
        notes = list(group)
        hand = _hand(study, notes)
        if notes[0] is not struck[0]:
            yield from _new_key(before, notes, hand if hand is not None and hand.shape != shape else None)
        elif hand is not None:
            words = _("In {position} {fingers}.").format(position=hand.position, fingers=hand.fingers)
            yield found("finger-pattern", hand.notes, words, says_where=False)
        before, shape = fifths, shape if hand is None else hand.shape


def _new_key(before: int, notes: Sequence[Inflection], hand: _Hand | None) -> Iterator[Finding]:
    """What a key signature changes, at the first note of such a letter; nothing where none of them comes as it says."""
    changed = {step for step in LETTERS if altered_by(before, step) != altered_by(notes[0].fifths, step)}
    played = [one for one in notes if one.step in changed]
    usual = [one for one in played if one.is_usual]
    if usual:
        what = letters_words((one.step, one.usual) for one in usual)
        shown = dict.fromkeys((played[0].note, usual[0].note))
        text = _("New key with {letters}.").format(letters=what)
        if hand is not None:
            words = _("New key with {letters}: in {position} {fingers}.")
            text = words.format(letters=what, position=hand.position, fingers=hand.fingers)
        yield found("finger-pattern", shown, text, says_where=False)


def _hand(study: Study, notes: Sequence[Inflection]) -> _Hand | None:
    """How the hand is set over some notes; ``None`` where it stays in no position for half of them."""
    if study.plan is None:
        return None
    instrument = study.plan.setting.instrument
    usual = ((one.note, study.placement(one.note)) for one in notes if one.is_usual)
    stops = [(note, way) for note, way in usual if way is not None and _is_plain(way)]
    hands = Counter((way.position, way.hand) for _note, way in stops)
    hand, often = hands.most_common(1)[0] if hands else ((0, 0.0), 0)
    if often < _SHOWN or 2 * often < len(stops):
        return None
    here = [(note, way) for note, way in stops if (way.position, way.hand) == hand]
    ways = [way for _note, way in here]
    pattern = _pattern(ways, instrument)
    if not pattern:
        return None
    first = {(way.string, way.finger): note.id for note, way in reversed(here)}
    shown = {first.get((string, finger)) for string, sets in pattern.items() for one in sets for finger in one}
    shape = hand, tuple(sorted((string, tuple(sets)) for string, sets in pattern.items()))
    notes_shown = tuple(note for note, _way in here if note.id in shown)
    return _Hand(shape, hand_words(ways[0], instrument), _fingers(pattern, instrument), notes_shown)


def _is_plain(way: Placement) -> bool:
    """Whether a note shows how the hand is set."""
    return 1 <= way.finger <= 4 and not way.harmonic and not way.respelled and way.lie is not Lie.EXTENDED


def _pattern(ways: Sequence[Placement], instrument: Instrument) -> _Pattern:
    if instrument.letter_frame:
        return _touching(ways)
    return _closed(ways) if instrument.frame == "cello" else {}


def _touching(ways: Sequence[Placement]) -> _Pattern:
    """The neighbouring fingers that lie a half step apart, string by string."""
    counted = Counter((way.string, way.finger, way.place) for way in ways)
    stops = sorted(stop for stop, often in counted.items() if often >= _SHOWN_EACH)
    found_on: dict[int, list[tuple[int, ...]]] = {}
    for string, finger, place in stops:
        if (string, finger + 1, place + 1) in stops:
            found_on.setdefault(string, []).append((finger, finger + 1))
    return found_on


def _closed(ways: Sequence[Placement]) -> _Pattern:
    """The fingers of the closed hand, string by string, where one of the middle fingers plays."""
    counted = Counter((way.string, way.finger) for way in ways if way.finger in _MIDDLE)
    return {string: [(1, finger, 4)] for (string, finger), often in counted.items() if often >= _SHOWN_EACH}


def _fingers(pattern: _Pattern, instrument: Instrument) -> str:
    """A pattern in words: strings with the same fingers together, the lower string first."""
    strings: dict[tuple[int, ...], list[str]] = {}
    for string in sorted(pattern, reverse=True):
        for fingers in pattern[string]:
            strings.setdefault(fingers, []).append(instrument.string(string).letter)
    most_strings = sorted(strings.items(), key=lambda one: (-len(one[1]), one[0]))
    if instrument.letter_frame:
        told = [
            (_("{fingers} on {strings}") if number else _("{fingers} touch on {strings}")).format(
                fingers=listed(map(str, fingers)), strings=listed(letters)
            )
            for number, (fingers, letters) in enumerate(most_strings)
        ]
        return comma_listed(told)
    told = [
        _("{fingers} on {strings}").format(fingers=" ".join(map(str, fingers)), strings=listed(letters))
        for fingers, letters in most_strings
    ]
    return _("the hand is {fingers}").format(fingers=comma_listed(told))
