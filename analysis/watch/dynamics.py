"""The dynamic in force where a player may have lost it: at the start, after rests, after long music, in a solo.

A printed dynamic is in force until the next one; a solo after the full orchestra has to be louder than its marking
suggests, and may grow through its last notes where it runs into the full orchestra: common practice, no source.
"""

from __future__ import annotations

import bisect
import itertools
from collections import Counter
from collections.abc import Container, Iterator
from fractions import Fraction

from analysis.language import _
from analysis.music import Hairpin, Note, Part, Score
from analysis.texture import Passage, few_after_all, measures_of, notes_of
from analysis.watch.finding import Finding, found
from analysis.watch.study import Study

# More measures than so many before the first dynamic want one.
_AT_THE_START = 2
# A dynamic is told again after so many measures played since; at an entry, after so many measures of rest.
_LONG, _LONG_REST = 24, 8
# After so many where the others have another dynamic by then.
_REST = 2
# A solo of fewer measures is too short to be given a level of its own, or to grow where no louder one follows.
_SOLO, _GROWS = 2, 4
# A line runs into what follows where it ends less than so many quarter notes before; a hairpin in so many of its last
# measures says already what becomes of it.
_RUNS_IN, _LAST = 1, 2
_JUDGED, _PROPOSED = 0.7, 0.4
_WORDS = {
    "pp": "pianissimo", "p": "piano", "mp": "mezzo piano", "mf": "mezzo forte", "f": "forte", "ff": "fortissimo",
}  # fmt: skip


def in_force(part: Part, onset: Fraction) -> tuple[str, Fraction] | None:
    """The dynamic in force at ``onset`` and since when, ``None`` before the first."""
    index = bisect.bisect_right(part.dynamics, onset, key=lambda mark: mark.onset)
    return (part.dynamics[index - 1].level, part.dynamics[index - 1].onset) if index else None


def steps(level: str) -> int:
    """How loud a dynamic is, above 0 the loud ones.

    >>> steps("pp"), steps("mp"), steps("mf"), steps("f")
    (-3, -1, 1, 2)
    """
    sign = 1 if level.endswith("f") else -1
    return sign if level.startswith("m") else sign * (1 + len(level))


def level_words(level: str) -> str:
    """A dynamic as it is spoken, ``piano``; its letters where they are more than that."""
    return _WORDS.get(level, level)


def held(part: Part, onset: Fraction) -> tuple[str, Fraction] | None:
    """As ``in_force``, but ``None`` too where a hairpin has led away from it before ``onset``."""
    now = in_force(part, onset)
    hairpin = _last_hairpin(part, onset)
    return now if now is not None and (hairpin is None or hairpin.onset < now[1]) else None


def watch_dynamics(study: Study) -> Iterator[Finding]:
    """Where a dynamic is missing, lasts long, or means something else than it says."""
    told: set[str] = set()
    solos = dict(_solos(study))
    for finding in (*_start(study), *_reminders(study, solos), *solos.values(), *_ways_back(study)):
        # Several of them at one place would be more than a player can heed.
        if finding.note_ids[0] not in told:
            told.add(finding.note_ids[0])
            yield finding


def _last_hairpin(part: Part, onset: Fraction) -> Hairpin | None:
    index = bisect.bisect_left(part.hairpins, onset, key=lambda hairpin: hairpin.onset)
    return part.hairpins[index - 1] if index else None


def _played(part: Part) -> list[int]:
    """The indices of the measures in which the part has notes."""
    return [measure.index for measure in part.measures if part.notes_in(measure.index)]


def _label_at(part: Part, onset: Fraction) -> str:
    index = bisect.bisect_right(part.measures, onset, key=lambda measure: measure.onset)
    return part.measures[max(0, index - 1)].label


# At the start


def _start(study: Study) -> Iterator[Finding]:
    part = study.part
    first = part.dynamics[0].onset if part.dynamics else None
    unmarked = [index for index in _played(part) if first is None or part.measures[index].onset < first]
    if len(unmarked) <= _AT_THE_START:
        return
    notes = part.notes_in(unmarked[0])
    level = _of_the_others(study, unmarked[0])
    if first is None:
        others = _("No dynamic is printed in this part: the others have {level}.")
        text = others if level else _("No dynamic is printed in this part: agree on one.")
    else:
        others = _("No dynamic is printed before measure {measure}: the others have {level}.")
        text = others if level else _("No dynamic is printed before measure {measure}: agree on one.")
    measure = "" if first is None else _label_at(part, first)
    yield found("dynamics", notes, text.format(measure=measure, level=level_words(level)), says_where=False)


def _of_the_others(study: Study, measure: int, since: Fraction | None = None) -> str:
    """The dynamic of most other parts that play in a measure, where newer than ``since``; "" where there is none."""
    playing = [other for other in study.score.parts if other.id != study.part.id and other.notes_in(measure)]
    levels: Counter[str] = Counter()
    for other in playing:
        now = held(other, other.measures[measure].onset)
        if now is not None and (since is None or now[1] > since):
            levels[now[0]] += 1
    level, votes = levels.most_common(1)[0] if levels else ("", 0)
    return level if 2 * votes > len(playing) else ""


# Reminders


def _reminders(study: Study, told: Container[Fraction]) -> Iterator[Finding]:
    """Measures in which a player may no longer know the dynamic in force; not of the dynamics ``told`` of already."""
    part = study.part
    signs = sorted(
        [mark.onset for mark in part.dynamics]
        + [onset for hairpin in part.hairpins for onset in (hairpin.onset, hairpin.end)]
    )
    played_since, spoken, before = 0, 0, -1
    for index in _played(part):
        measure = part.measures[index]
        rests, before = index - before - 1, index
        spoken_before, spoken = spoken, bisect.bisect_left(signs, measure.onset + measure.length)
        played_since = played_since + 1 if spoken == spoken_before else 0
        text = _reminder(study, index, rests, played_since, told) if played_since else ""
        if text:
            yield found("dynamics", part.notes_in(index), text)


def _reminder(study: Study, index: int, rests: int, played_since: int, told: Container[Fraction]) -> str:
    """What there is to say in a measure that has no dynamic of its own, "" for nothing."""
    part, onset = study.part, study.part.measures[index].onset
    now = in_force(part, onset)
    if now is None:
        return ""
    hairpin, label = _last_hairpin(part, onset), part.measures[index].label
    if hairpin is not None and hairpin.onset >= now[1]:
        words = _after_hairpin(hairpin) if played_since == _LONG else ""
        return words.format(measure=label, since=_label_at(part, hairpin.onset))
    others = _of_the_others(study, index, now[1]) if rests >= _REST else ""
    if others and others != now[0]:
        words = _(
            "Measure {measure}, after the rest: still {level}, since measure {since}, but the others have {others}."
        )
    elif rests >= _LONG_REST:
        words = _("Measure {measure}, after the rest: still {level}, since measure {since}.")
    elif played_since == _LONG and now[1] not in told:
        words = _("Measure {measure}: still {level}, since measure {since}.")
    else:
        return ""
    since = _label_at(part, now[1])
    return words.format(measure=label, level=level_words(now[0]), since=since, others=level_words(others))


def _after_hairpin(hairpin: Hairpin) -> str:
    if hairpin.grows:
        return _("Measure {measure}: no new dynamic since the crescendo of measure {since}; agree on one.")
    return _("Measure {measure}: no new dynamic since the diminuendo of measure {since}; agree on one.")


# Solos, and their ways back


def levels_at_end(score: Score, passage: Passage) -> list[str]:
    """The dynamic in which each part that plays in a passage plays its last notes there, where it has one."""
    held_last = ((part, notes_of(part, passage)) for part in score.parts if part.id in passage.parts)
    levels = (held(part, max(note.onset for note in notes)) for part, notes in held_last if notes)
    return [level for level, _ in filter(None, levels)]


def left_at(study: Study, before: Passage, passage: Passage) -> tuple[str, Fraction] | None:
    """The dynamic of the full score, and since when, at which a solo of the part is left; ``None`` where it is not."""
    part = study.part
    notes = notes_of(part, passage) if part.id in passage.foremost and few_after_all(passage, before) else ()
    if not notes or passage.last_measure - passage.first_measure + 1 < _SOLO:
        return None
    onset = min(note.onset for note in notes)
    measure = part.measures[measures_of(passage, notes)[0]]
    now = held(part, max(onset, measure.onset + measure.length / 2))
    if now is None or now[1] >= min(before.end, onset, measure.onset):
        return None
    everyone = levels_at_end(study.score, before)
    return now if 2 * everyone.count(now[0]) > len(before.parts) else None


def _solos(study: Study) -> Iterator[tuple[Fraction, Finding]]:
    """The first solo that is left at a dynamic of the full score before it, by the onset of that dynamic."""
    part, told = study.part, set[Fraction]()
    for before, passage in itertools.pairwise(study.texture):
        left = left_at(study, before, passage)
        if left is not None and left[1] not in told:
            told.add(left[1])
            notes = notes_of(part, passage)
            text = _left_words(passage).format(
                measure=part.measures[measures_of(passage, notes)[0]].label,
                level=level_words(left[0]),
                since=_label_at(part, left[1]),
            )
            yield left[1], found("dynamics", notes, text, _JUDGED)


def _left_words(passage: Passage) -> str:
    if len(passage.foremost) == 1:
        return _(
            "Measure {measure}: you are alone, still in everyone's {level} of measure {since}: "
            "play louder than it says."
        )
    return _(
        "Measure {measure}: only two of you are left, still in everyone's {level} of measure {since}: "
        "play louder than it says."
    )


def _ways_back(study: Study) -> Iterator[Finding]:
    """Solos that run on into the full score, at the same level or a louder one."""
    part = study.part
    for passage, after in itertools.pairwise(study.texture):
        if part.id in passage.foremost and few_after_all(passage, after):
            yield from _way_back(part, passage, after)


def _way_back(part: Part, passage: Passage, after: Passage) -> Iterator[Finding]:
    notes, then = notes_of(part, passage), notes_of(part, after)
    if not (notes and then):
        return
    last = max(notes, key=lambda note: note.onset + note.duration)
    first = min(then, key=lambda note: note.onset)
    (begin, end), join = measures_of(passage, notes), part.measures[measures_of(after, then)[0]]
    now, level = held(part, last.onset), in_force(part, max(first.onset, join.onset + join.length / 2))
    if now is None or level is None or steps(level[0]) < steps(now[0]):
        return
    if level[0] == now[0] and end - begin + 1 < _GROWS:
        return
    if first.onset - last.onset - last.duration < _RUNS_IN and _can_grow(last) and not _shaped(part, end, first.onset):
        if level[0] != now[0]:
            words = _("Perhaps: grow through measure {measure} into everyone's {level} of measure {next}.")
        else:
            words = _("Perhaps: grow through measure {measure} to meet everyone in measure {next}.")
        text = words.format(measure=part.measures[end].label, level=level_words(level[0]), next=join.label)
        yield found("dynamics", (note for note in notes if note.measure >= end), text, _PROPOSED)


def _can_grow(last: Note) -> bool:
    """Whether a line may grow through its last note; not where it is plucked or the music stops after it."""
    return not (last.pizzicato or last.fermata or last.lifted)


def _shaped(part: Part, measure: int, until: Fraction) -> bool:
    """Whether a hairpin says already how the last measures up to this one go."""
    start = part.measures[max(0, measure - _LAST + 1)].onset
    return any(hairpin.onset < until and hairpin.end > start for hairpin in part.hairpins)
