"""Which notes are high or low: where the hand has to lie otherwise than the key signature lays it.

The second finger has two places in first position, a half step apart; which of them it takes, and both edges of a
passage in other accidentals, are what goes wrong (common practice, no source). That low and high fingers are the
trouble a teacher marks before the first rehearsal: stringskills.com on finger patterns.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import chain

from analysis.fingering.placements import Lie
from analysis.language import _
from analysis.pitch_names import inflection_word, pitch_name
from analysis.watch.altered import Stretch, stretches
from analysis.watch.bar_lines import misleading
from analysis.watch.finding import Finding, found
from analysis.watch.hand_moves import Move, finger_move, moves_words
from analysis.watch.inflections import (
    Inflection,
    as_written,
    inflections,
    letters_words,
    measures_listed,
)
from analysis.watch.set_hands import set_hands
from analysis.watch.study import Study

# A letter altered in no more measures, within less than so many, is altered in passing; in two it is however far they
# lie apart: our own figures.
_FEW, _PASSING = 3, 4
# A finger still feels where it lay so many measures ago; after more than so many it has forgotten.
_CLOSE, _FORGOTTEN = 2, 8
# Letters altered from one place on are told together where none lasts more than so many times as long as another.
_END_NEAR = 2
# A letter that is as usual again after no more than so many measures is still expected to be altered.
_EXPECTED = 4


def watch_finger_patterns(study: Study) -> Iterator[Finding]:
    """Where fingers lie otherwise than in the key, for a while or for a note, and where they move back."""
    yield from as_written(study.part, _findings(study))


def _findings(study: Study) -> Iterator[Finding]:
    """The findings, with their notes in any order."""
    read = list(inflections(study.part))
    struck = [one for one in read if not one.note.tied_from]
    yield from set_hands(study, struck)
    reminded = frozenset(misleading(read))
    usual = {(one.step, one.note.measure) for one in struck if one.is_usual}
    every = stretches(struck)
    for group in _together(every):
        if not _all_pass(group) or len(group) >= _FEW or any(_is_felt(study, one, reminded) for one in group):
            words = _of_one(study, group[0]) if len(group) == 1 else _of_several(study, group, usual)
            notes = (one.note for stretch in group for one in stretch.notes)
            yield found("finger-pattern", notes, words, says_where=_says_where(study, group))
    yield from _ways_back(study, every, reminded)


def _all_pass(group: Iterable[Stretch]) -> bool:
    """Whether all letters are altered in passing."""
    return all(map(_passes, group))


def _passes(stretch: Stretch) -> bool:
    """Whether the letter is altered in passing."""
    measures = len(stretch.measures)
    return measures < _FEW or (measures == _FEW and stretch.last.played - stretch.first.played < _PASSING)


def _together(every: Iterable[Stretch]) -> list[list[Stretch]]:
    """Stretches that are one thing to say."""
    groups: list[list[Stretch]] = []
    for one in every:
        near = next((group for group in groups[: -_CLOSE - 2 : -1] if _joins(group, one)), None)
        if near is None:
            groups.append([one])
        else:
            near.append(one)
    return groups


def _joins(group: Sequence[Stretch], one: Stretch) -> bool:
    return _are_near(group, one) if _all_pass((*group, one)) else _end_together(group, one)


def _end_together(group: Sequence[Stretch], one: Stretch) -> bool:
    """Whether letters are altered from about the same measure to about the same one."""
    first = group[0].first.played
    lasts = [other.last.played - first for other in (*group, one)]
    begins = one.first.played - first < _CLOSE and all(other.step != one.step for other in group)
    return begins and _END_NEAR * min(lasts) >= max(lasts)


def _are_near(group: Sequence[Stretch], one: Stretch) -> bool:
    """Whether letters are altered in passing at about the same place."""
    begin = group[0].first.played
    ends = max(other.last.played for other in (*group, one))
    return one.first.played - begin < _PASSING and ends - begin < 2 * _PASSING


def _is_felt(study: Study, stretch: Stretch, reminded: Collection[str]) -> bool:
    """Whether a letter altered in passing moves a finger that has just lain, or soon lies, in its usual place.

    Where the way back has no sign, that is the thing to say, and said of the bar line.
    """
    if len(stretch.notes) > _FEW:
        return True
    if stretch.after is not None and stretch.after.note.id in reminded:
        return False
    if len(stretch.measures) == _FEW:
        return True
    if all(one.note.grace for one in stretch.notes):
        return False
    around = [one for one in (stretch.before, _same_line(stretch)) if one is not None]
    near = [one for one in around if _apart(one, stretch) <= _CLOSE] + [*stretch.others]
    return any(study.plan is None or finger_move(study, stretch.first, one) for one in near)


def _apart(usual: Inflection, stretch: Stretch) -> int:
    """How many measures lie between a usual note and a stretch."""
    return max(stretch.first.played - usual.played, usual.played - stretch.last.played)


def _same_line(stretch: Stretch) -> Inflection | None:
    """The usual note after a stretch, where it stands on the line of the first altered one."""
    after = stretch.after
    return after if after is not None and after.line == stretch.first.line else None


def _of_one(study: Study, stretch: Stretch) -> str:
    """One letter in a sentence."""
    if stretch.goes_to_and_fro:
        return _to_and_fro(study, stretch)
    exceptions = ""
    if stretch.others:
        exceptions = measures_listed(_labels(study, stretch.measures_as_usual))
        plain = _("{letters} {where}, but {usual} in {exceptions}.")
        moving = _("{letters} {where}, but {usual} in {exceptions}: {move}.")
    else:
        plain, moving = _("{letters} {where}."), _("{letters} {where}: {move}.")
    move = _move(study, stretch)
    return (moving if move else plain).format(
        letters=letters_words([(stretch.step, stretch.alter)]),
        where=_where(study, stretch),
        usual=inflection_word(stretch.first.usual),
        exceptions=exceptions,
        move=_and_back(study, stretch, move) if move else "",
    )


def _to_and_fro(study: Study, stretch: Stretch) -> str:
    labels, move = _labels(study, stretch.measures), _move(study, stretch)
    clause = move.to_and_fro if move else ""
    if clause:
        words = _("{letter} is {inflection} and {usual} by turns {where}: {move}.")
    else:
        words = _("{letter} is {inflection} and {usual} by turns {where}.")
    return words.format(
        letter=pitch_name(stretch.step),
        inflection=inflection_word(stretch.alter),
        usual=inflection_word(stretch.first.usual),
        where=_from_to(labels[0], labels[-1]),
        move=clause,
    )


def _where(study: Study, stretch: Stretch) -> str:
    """Where a letter is altered, to follow its name."""
    labels = _labels(study, stretch.measures)
    if len(labels) == 1:
        return _("for this note only") if len(stretch.notes) == 1 else _("in this measure")
    if len(labels) <= _FEW:
        return _("in {measures}").format(measures=measures_listed(labels, unbroken=stretch.is_unbroken))
    return _("from here to measure {measure}").format(measure=labels[-1])


def _says_where(study: Study, group: Sequence[Stretch]) -> bool:
    """Whether the sentence over a group names its first measure; "here" and "this" are read after their place."""
    if len(group) > 1 or group[0].goes_to_and_fro:
        return len(_labels(study, (group[0].first.note.measure, _end(group)))) > 1
    return 1 < len(_labels(study, group[0].measures)) <= _FEW


def _from_to(first: str, last: str) -> str:
    if first == last:
        return _("in this measure")
    return _("in measures {first}–{last}").format(first=first, last=last)


def _move(study: Study, stretch: Stretch) -> Move | None:
    """What a finger does at the first altered note, beside the usual note before, one between, or one close after."""
    before = [one for one in (stretch.before,) if one is not None and _apart(one, stretch) <= _FORGOTTEN]
    first, after = stretch.first, _same_line(stretch)
    others = (one for one in stretch.others if one.line == first.line)
    moves = (finger_move(study, first, one) for one in chain(before, others))
    move = next((move for move in moves if move is not None), None)
    if move is not None:
        return move
    if after is None or _apart(after, stretch) > _CLOSE:
        return None if before else finger_move(study, first, None)
    move = finger_move(study, first, after)
    return None if move is None or move.now is Lie.NORMAL else replace(move, was=None)


def _and_back(study: Study, stretch: Stretch, move: Move) -> str:
    """The move of a finger in words, and that it soon moves back, where it does."""
    after = _same_line(stretch)
    if move.extends or not _passes(stretch) or after is None or _apart(after, stretch) > _CLOSE:
        return move.words
    if finger_move(study, stretch.first, after) is None:
        return move.words
    if after.note.measure == stretch.last.note.measure:
        return _("{move}, then back").format(move=move.words)
    return _("{move}, and back in {where}").format(move=move.words, where=measures_listed([study.label(after.note)]))


def _of_several(study: Study, group: Sequence[Stretch], usual: Collection[tuple[str, int]]) -> str:
    """Several letters in a sentence."""
    what = letters_words((one.step, one.alter) for one in group)
    first, last = (study.part.measures[at].label for at in (group[0].first.note.measure, _end(group)))
    where = _from_to(first, last)
    mixed = _usual_between(group, usual)
    if _all_pass(group) or len(mixed) > _CLOSE:
        words = _("{letters} come and go {where}.") if mixed else _("{letters} {where}.")
        return words.format(letters=what, where=where)
    for one, measure in mixed:
        usual_letters, measures = (
            letters_words([(one.step, one.first.usual)]),
            measures_listed(_labels(study, [measure])),
        )
        where = _("{where}, but {letters} in {measures}").format(where=where, letters=usual_letters, measures=measures)
    moves = [_move(study, one) for one in group]
    clause = moves_words(move for move in moves if move is not None)
    words = _("{letters} {where}: {move}.") if clause else _("{letters} {where}.")
    return words.format(letters=what, where=where, move=clause)


def _end(group: Iterable[Stretch]) -> int:
    """The index of the last measure in which a letter is altered."""
    return max(one.last_measure for one in group)


def _usual_between(group: Sequence[Stretch], usual: Collection[tuple[str, int]]) -> list[tuple[Stretch, int]]:
    """The measures of a group in which letters are not altered after all."""
    measures = range(group[0].first.note.measure, _end(group) + 1)
    return [(one, measure) for one in group for measure in measures if (one.step, measure) in usual]


def _ways_back(study: Study, every: Iterable[Stretch], reminded: Collection[str]) -> Iterator[Finding]:
    """Where letters that were altered for long are as usual again, and a sign says so."""
    back: dict[int, list[tuple[Stretch, Inflection]]] = {}
    for one in every:
        after = one.after
        if after is None or _passes(one) or one.goes_to_and_fro or after.note.id in reminded:
            continue
        if after.played - one.last.played <= _EXPECTED:
            back.setdefault(after.note.measure, []).append((one, after))
    for pairs in back.values():
        moves = [finger_move(study, after, _last_on_line(one, after)) for one, after in pairs]
        clause = moves_words(move for move in moves if move is not None)
        if len(pairs) == 1 and moves[0] is not None:
            clause = moves[0].words
        what = letters_words((after.step, after.alter) for _, after in pairs)
        notes = [after.note for _, after in pairs]
        words = _("From here {letters} again: {move}.") if clause else _("From here {letters} again.")
        yield found("finger-pattern", notes, words.format(letters=what, move=clause), says_where=False)


def _last_on_line(stretch: Stretch, after: Inflection) -> Inflection | None:
    """The last altered note on the line of a usual one."""
    return next((one for one in reversed(stretch.notes) if one.line == after.line), None)


def _labels(study: Study, measures: Iterable[int]) -> list[str]:
    return list(dict.fromkeys(study.part.measures[measure].label for measure in measures))
