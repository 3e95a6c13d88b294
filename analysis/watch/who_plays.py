"""Who plays: where a player is alone or one of two, where others have a solo, and where parts play the same notes.

That few players must fill the room after a loud full passage, that those who accompany stay under a solo, and that
octaves are tuned to the lower part: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from analysis.language import _, n_, p_
from analysis.music import Note, Part, Score
from analysis.texture import Doubling, Passage, doublings, few_after_all, measures_of, notes_of
from analysis.watch.dynamics import left_at, level_words, levels_at_end, steps
from analysis.watch.finding import Finding, found
from analysis.watch.study import Study
from analysis.wording import listed

# Passages of the same players that are no more measures apart are told at once.
_APART = 12
# Parts that double this one are told of from so many measures on; where it is everyone, from fewer.
_SOME, _EVERYONE = 3, 2
_JUDGED = 0.8
_NUMBERED = re.compile(r"\s(\d+|[IVX]+)\.?$")


@dataclass(frozen=True, slots=True)
class _Told:
    """What there is to say of some measures, first and last index of each run."""

    measures: tuple[tuple[int, int], ...]
    notes: tuple[Note, ...]
    words: str
    certainty: float = 1.0


def watch_who_plays(study: Study) -> Iterator[Finding]:
    """Who plays with this part, where that is not everyone; nothing where one part plays by itself."""
    if not study.texture:
        return
    lines = tuple(_lines(study))
    told = sorted((*_few(study, lines), *_same_notes(study, lines)), key=lambda one: one.measures[0])
    said: set[tuple[str, str, str] | str] = set()
    for one in _joined(told):
        finding = found("texture", one.notes, _sentence(study.part, one.measures, one.words), one.certainty)
        if said.isdisjoint((finding.key, finding.text)):
            said |= {finding.key, finding.text}
            yield finding


def _joined(every: Iterable[_Told]) -> list[_Told]:
    """What is told, the same words for passages near each other once."""
    joined: list[_Told] = []
    latest: dict[str, int] = {}
    for one in every:
        number = latest.get(one.words)
        if number is not None and one.measures[0][0] - joined[number].measures[-1][1] <= _APART:
            before = joined[number]
            joined[number] = replace(before, measures=before.measures + one.measures, notes=before.notes + one.notes)
        else:
            latest[one.words] = len(joined)
            joined.append(one)
    return joined


def _sentence(part: Part, measures: Sequence[tuple[int, int]], words: str) -> str:
    """What there is to say, after the measures by their printed numbers: ``Measures 5–8 and 12: you play alone.``"""
    labels = [[part.measures[index].label for index in run] for run in measures]
    runs = [first if first == last else f"{first}–{last}" for first, last in labels]
    several = len(runs) > 1 or "–" in runs[0]
    text = n_("Measure {numbers}: {what}.", "Measures {numbers}: {what}.", 2 if several else 1)
    return text.format(numbers=listed(runs), what=words)


def _name(part: Part) -> str:
    """A part as the others speak of it, ``Violin II``, ``the viola``."""
    name = part.name.strip()
    if not name:
        return _("another part")
    if _NUMBERED.search(name) or "." in name:
        return name
    small = p_("does the name of an instrument begin small within a sentence? yes or no", "yes") == "yes"
    return _("the {part}").format(part=name.lower() if small else name)


def _names(score: Score, ids: Iterable[str]) -> str:
    wanted = frozenset(ids)
    return listed(_name(part) for part in score.parts if part.id in wanted)


# One or two by themselves


def _few(study: Study, lines: Sequence[_Line]) -> Iterator[_Told]:
    before: Passage | None = None
    for passage in study.texture:
        words = _words(study, passage, lines)
        notes = notes_of(study.part, passage) if words else ()
        if notes:
            forte = _forte_before(study, before, passage)
            run = (measures_of(passage, notes),)
            if forte:
                loud = _("{what}, after everyone's {level}: carry the room").format(what=words, level=forte)
                yield _Told(run, notes, loud, _JUDGED)
            else:
                yield _Told(run, notes, words)
        before = passage


def _words(study: Study, passage: Passage, lines: Sequence[_Line]) -> str:
    """What the player does among those who play in a passage, "" where that is nothing out of the ordinary."""
    part, score = study.part, study.score
    others = [name for name in passage.foremost if name != part.id]
    if part.id in passage.foremost:
        if passage.soloists and not others:
            return _("one of you has a solo")
        if passage.soloists:
            return _("one of you has a solo, with one in {parts}").format(parts=_names(score, others))
        words = _("only you and {parts} play").format(parts=_names(score, others)) if others else _("you play alone")
        if part.id in passage.divided:
            words = _("{what}, divided").format(what=words)
        same = next((line for line in lines if others and line.fills(passage) and line.parts == set(others)), None)
        if same is None:
            return words
        return (_("{what}, in unison") if same.unison else _("{what}, in octaves")).format(what=words)
    if passage.soloists:
        return _("a solo in {parts}: stay under it").format(parts=_names(score, passage.soloists))
    return _("only some of you play") if part.id in passage.few else ""


def _forte_before(study: Study, before: Passage | None, passage: Passage) -> str:
    """The dynamic in which everyone played before few are left, where most were loud; else "".

    Where it is still in force for those who are left, that is told of as the dynamic that it is.
    """
    if before is None or study.part.id not in passage.foremost or not few_after_all(passage, before):
        return ""
    loud = [level for level in levels_at_end(study.score, before) if steps(level) >= steps("f")]
    if 2 * len(loud) <= len(before.parts) or left_at(study, before, passage):
        return ""
    return level_words(min(loud, key=steps))


# The same notes


@dataclass(frozen=True, slots=True)
class _Line:
    """Measures, first and last index, in which other parts play the notes of this one; ``unison``: never in octaves."""

    first: int
    last: int
    parts: frozenset[str]
    unison: bool

    def fills(self, passage: Passage) -> bool:
        """Whether it goes through a whole passage."""
        return self.first <= passage.first_measure and passage.last_measure <= self.last


def _lines(study: Study) -> Iterator[_Line]:
    """Where others double the part; of doublings that overlap the measures that all have, or else the longest."""
    cluster: list[Doubling] = []
    for doubling in doublings(study.score, study.part):
        if cluster and doubling.first_measure > max(one.last_measure for one in cluster):
            yield _line(cluster)
            cluster = []
        cluster.append(doubling)
    if cluster:
        yield _line(cluster)


def _line(cluster: Sequence[Doubling]) -> _Line:
    first = max(one.first_measure for one in cluster)
    last = min(one.last_measure for one in cluster)
    if last - first + 1 < _EVERYONE:
        longest = max(cluster, key=lambda one: one.last_measure - one.first_measure)
        return _Line(longest.first_measure, longest.last_measure, frozenset((longest.part,)), longest.unison)
    return _Line(first, last, frozenset(one.part for one in cluster), all(one.unison for one in cluster))


def _same_notes(study: Study, lines: Sequence[_Line]) -> Iterator[_Told]:
    part = study.part
    for line in lines:
        measures = range(line.first, line.last + 1)
        playing = {
            other.id
            for other in study.score.parts
            if other.id != part.id and any(other.notes_in(measure) for measure in measures)
        }
        everyone = len(playing) > 1 and playing <= line.parts
        by_themselves = any(part.id in passage.foremost and line.fills(passage) for passage in study.texture)
        if by_themselves or (len(measures) < _SOME and not everyone):
            continue
        if line.unison:
            words = _("in unison with {parts}: sound as one")
        elif len(line.parts) > 1:
            words = _("in octaves with {parts}: tune to the lowest part")
        else:
            words = _("in octaves with {parts}: tune to the lower part")
        notes = tuple(note for measure in measures for note in part.notes_in(measure))
        names = _("everyone") if everyone else _names(study.score, line.parts)
        yield _Told(((line.first, line.last),), notes, words.format(parts=names))
