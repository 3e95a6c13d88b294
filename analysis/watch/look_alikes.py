"""The same music again: as it was, moved, or nearly, so that what was learned once is learned for both.

Where music has moved by the interval of the strings, every finger goes over by a string and the hand stays in its
position. Where the later music goes its own way, the fingers run on as they did before; so that is told too (both
common practice, no source).
"""

from __future__ import annotations

import bisect
import itertools
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import cached_property

from analysis.again.lines import Likeness, Lines
from analysis.again.passages import Passage
from analysis.again.recurrences import Recurrence, recurrences
from analysis.fingering.carrying import moved_over, strings_over
from analysis.language import _, n_, p_
from analysis.music import Part, measures_words, span_words
from analysis.watch.finding import Finding
from analysis.watch.inflections import letters_words
from analysis.watch.look_alike_words import interval_words, is_again, strings_words
from analysis.watch.study import Study
from analysis.wording import comma_listed, listed

# How sure we are that a teacher would call it the same music: less where some of it is not.
_WHOLE, _NEARLY, _ANOTHER_PART = 1.0, 0.9, 0.8
# What begins after so much of a measure is an upbeat to the next one: after notes, and after rests. What ends before so
# much of it is only the end of the measure before. Our own figures.
_UPBEAT, _UPBEAT_AFTER_REST, _DOWNBEAT = 0.25, 0.5, 0.5
# More stretches of other music, altered letters or intervals are not counted up; nor are more remarks made at once.
_CHANGES, _LETTERS, _MOVES, _REMARKS = 2, 2, 2, 2
# So many slurs have to be others, and one in so many.
_SLURS, _ONE_IN = 2, 8
_HUNDREDTHS, _OCTAVE = 100, 7

# Letters and semitones; no semitones where these are not all the same.
_Move = tuple[int, int | None]


def watch_look_alikes(study: Study) -> Iterator[Finding]:
    """Where a passage comes again in the part, or after another part has had it."""
    others = [part for part in study.score.parts if part.id != study.part.id]
    found = recurrences(study.part, others)
    if not found:
        return
    page = _Page(study, (study.part, *others), found[0].lines)
    told: dict[str, list[_Telling]] = {}
    for recurrence in found:
        telling = _Telling(page, recurrence)
        if page.measures[telling.first] != page.measures[telling.last]:
            told.setdefault(telling.sentence(), []).append(telling)
    places = {note.id: (note.onset, number) for number, note in enumerate(study.part.notes)}
    for text, tellings in told.items():
        # Two voices that come again together are one thing to say.
        pairs = sorted((pair for telling in tellings for pair in telling.note_pairs()), key=lambda one: places[one[0]])
        later, earlier = zip(*pairs, strict=True)
        yield Finding("look-alike", later, min(telling.certainty for telling in tellings), text, earlier)


class _Page:
    """The rows as they stand in measures."""

    def __init__(self, study: Study, parts: Sequence[Part], lines: Lines) -> None:
        self.study, self.parts, self.lines = study, parts, lines
        self.measures = [heads[0].measure for heads in lines.heads]
        self.begins = lines.voice.searchsorted(lines.voice).tolist()
        self.ends = lines.end.tolist()

    def part(self, row: int) -> Part:
        """The part a row is in."""
        return self.parts[int(self.lines.part[row])]

    def label(self, row: int) -> str:
        """The printed number of the measure a row is in."""
        return self.part(row).measures[self.measures[row]].label

    def is_slurred(self, row: int) -> bool:
        """Whether a slur leads on from a row."""
        return any(note.slurred_on for note in self.lines.heads[row])

    def rows_of_measure(self, row: int) -> range:
        """All rows of the voice in the measure of one of them."""
        low, high = self.begins[row], self.ends[row]
        first = bisect.bisect_left(self.measures, self.measures[row], low, high)
        return range(first, bisect.bisect_right(self.measures, self.measures[row], low, high))

    def extent(self, rows: Sequence[int]) -> tuple[int, int]:
        """Of rows in order, the first and last that lie in measures which are theirs for a good part."""
        begun = self.begun(rows[0])
        starts_measure = rows[0] == self.rows_of_measure(rows[0])[0]
        stands_out = begun > (_UPBEAT_AFTER_REST if starts_measure else _UPBEAT)
        mine = [row for row in rows if not (stands_out and self.measures[row] == self.measures[rows[0]])]
        if rows[-1] != self.rows_of_measure(rows[-1])[-1] and self.begun(rows[-1] + 1) < _DOWNBEAT:
            mine = [row for row in mine if self.measures[row] != self.measures[rows[-1]]]
        return (mine[0], mine[-1]) if mine else (rows[0], rows[-1])

    def measures_between(self, one: int, other: int) -> Fraction:
        """The time from one row to a later one, in measures."""
        return self.measures[other] - self.measures[one] + self.begun(other) - self.begun(one)

    def begun(self, row: int) -> Fraction:
        """The share of its measure that has gone by when a row is struck."""
        measure, note = self.part(row).measures[self.measures[row]], self.lines.heads[row][0]
        return (note.onset - measure.onset) / measure.length if measure.length else Fraction(0)


class _Telling:
    """One recurrence in the words of a teacher."""

    def __init__(self, page: _Page, recurrence: Recurrence) -> None:
        self.page, self.recurrence, self.lines = page, recurrence, recurrence.lines
        self.pairs = recurrence.pairs()
        self.source_of = dict(self.pairs)
        self.first, self.last = page.extent([row for row, _ in self.pairs])
        self.in_part = page.part(self.pairs[0][1]) is page.study.part

    @property
    def certainty(self) -> float:
        """How sure it is that this is the same music."""
        if not self.in_part:
            return _ANOTHER_PART
        whole = len(self.recurrence.passages) == len(self.recurrence.passages[0].blocks) == 1
        return _WHOLE if whole and self.recurrence.likeness is not Likeness.IN_KEY else _NEARLY

    def note_pairs(self) -> Iterator[tuple[str, str]]:
        """The id of every later note beside that of the one it repeats, tied ones too as far as both go on."""
        heads, tied = self.lines.heads, self.lines.tied
        for row, source in self.pairs:
            none = ((),) * len(heads[row])
            sides = heads[row], heads[source], tied.get(row, none), tied.get(source, none)
            for later, earlier, on, on_earlier in zip(*sides, strict=True):
                yield later.id, earlier.id
                yield from zip(on, on_earlier, strict=False)

    def sentence(self) -> str:
        """What to say of it."""
        if self.recurrence.period:
            return self._of_period()
        label = self.page.label
        later = label(self.first), label(self.last)
        earlier = label(self.source_of[self.first]), label(self.source_of[self.last])
        said = comma_listed([self._what(span_words(*earlier)), *list(self._remarks())[:_REMARKS]])
        fingers = self._fingers()
        count = 1 if later[0] == later[1] else 2
        if fingers:
            words = n_("Measure {numbers} are {music}: {fingers}.", "Measures {numbers} are {music}: {fingers}.", count)
        else:
            words = n_("Measure {numbers} are {music}.", "Measures {numbers} are {music}.", count)
        return words.format(numbers=span_words(*later), music=said, fingers=fingers)

    def _what(self, numbers: str) -> str:
        """The earlier music, by its measures, and how the later is moved."""
        unmoved = all(is_again(*moved) for moved in self._moves)
        if self.in_part:
            words = _("{numbers} again") if unmoved else _("{numbers} {moved}")
            return words.format(numbers=numbers, moved=self._moves_words)
        words = _("what {part} has in {numbers}") if unmoved else _("what {part} has in {numbers}, {moved}")
        return words.format(part=self.page.part(self.pairs[0][1]).name, numbers=numbers, moved=self._moves_words)

    def _of_period(self) -> str:
        """Of music that follows itself."""
        block, page = self.recurrence.passages[0].blocks[0], self.page
        exact = self.recurrence.likeness is Likeness.EXACT
        moved = "" if exact else _("{moved} each time").format(moved=self._moves_words)
        if page.measures_between(block.source, block.start) < 1:
            first, last = map(page.label, page.extent(range(block.source, block.start + block.length)))
            return _figure_words(1 if first == last else 2, exact=exact).format(
                numbers=span_words(first, last), moved=moved
            )
        first, last = page.label(self.first), page.label(self.last)
        earlier = measures_words(*map(page.label, page.extent(range(block.source, block.start))))
        return _repeat_words(1 if first == last else 2, exact=exact).format(
            numbers=span_words(first, last), earlier=earlier, moved=moved
        )

    # How far it has moved

    @cached_property
    def _moves(self) -> dict[_Move, list[Passage]]:
        """The passages by how far they have moved, the most first."""
        moves: dict[_Move, list[Passage]] = {}
        for passage in sorted(self.recurrence.passages, key=lambda passage: -passage.size):
            block = passage.blocks[0]
            letters = int(self.lines.letter[block.start] - self.lines.letter[block.source])
            hundredths = int(self.lines.pitch[block.start] - self.lines.pitch[block.source])
            semitones, rest = divmod(hundredths, _HUNDREDTHS)
            varies = passage.likeness is Likeness.IN_KEY or bool(rest)
            moves.setdefault((letters, None if varies else semitones), []).append(passage)
        return moves

    @property
    def _moves_words(self) -> str:
        """How the later music is moved."""
        in_key = self.recurrence.likeness is Likeness.IN_KEY
        moves = sorted(self._moves, key=lambda moved: not is_again(*moved))
        every = list(dict.fromkeys(interval_words(*moved) for moved in moves))
        words = every[0]
        if len(every) > _MOVES:
            words = _("{moved} or in another octave").format(moved=words)
        elif len(every) > 1:
            words = _("{moved} or {otherwise}").format(moved=words, otherwise=every[1])
        return _("{moved} in the key").format(moved=words) if in_key and not self._keeps_letters else words

    @property
    def _keeps_letters(self) -> bool:
        """Whether the letters are the same, in whatever octave."""
        return not any(letters % _OCTAVE for letters, _ in self._moves)

    def _fingers(self) -> str:
        """Whether the same fingers play it over other strings."""
        plan = self.page.study.plan
        if plan is None or not self.in_part:
            return ""
        for (letters, semitones), passages in self._moves.items():
            over = strings_over(plan.setting.instrument, (letters, semitones)) if letters and semitones else 0
            rows = [pair for passage in passages for pair in passage.pairs()] if over else []
            heads = self.lines.heads
            pairs = (two for row, source in rows for two in zip(heads[row], heads[source], strict=True))
            if over and all(moved_over(plan, plan, later, earlier) is not None for later, earlier in pairs):
                words = _("the same fingers {strings} over")
                if len(self._moves) > 1:
                    words = _("where {moved}, the same fingers {strings} over")
                return words.format(moved=interval_words(letters, semitones), strings=strings_words(over))
        return ""

    # What is not the same

    def _remarks(self) -> Iterator[str]:
        """What is not the same, weightiest first."""
        longer = self._measures_longer()
        if longer:
            yield p_("the passage is", "extended") if longer > 0 else p_("the passage is", "shortened")
        changes = self._changes()
        exceptions = []
        if len(changes) > _CHANGES:
            yield _("with changes")
        elif changes:
            several = len(changes) > 1 or "–" in changes[0]
            words = n_("measure {numbers}", "measures {numbers}", 2 if several else 1)
            exceptions.append(words.format(numbers=listed(changes)))
        if self.first != self.page.rows_of_measure(self.first)[0]:
            exceptions.append(_("the beginning"))
        if self.last != self.page.rows_of_measure(self.last)[-1]:
            exceptions.append(_("the end"))
        if exceptions:
            yield _("but for {exceptions}").format(exceptions=listed(exceptions))
        yield from self._accidentals()
        if self._has_other_slurs():
            yield _("with other slurs")
        later, earlier = (self.lines.heads[row][0].dynamic for row in (self.first, self.source_of[self.first]))
        if later and earlier and later != earlier:
            yield _("{dynamic} this time").format(dynamic=later)

    def _measures_longer(self) -> int:
        """How many measures more than the earlier music the later takes."""
        of = self.page.measures
        return (of[self.last] - of[self.first]) - (of[self.source_of[self.last]] - of[self.source_of[self.first]])

    def _changes(self) -> list[str]:
        """The measures in which other music stands between."""
        page = self.page
        changed = {
            page.measures[row]
            for gap, source in self.recurrence.skips()
            for row in (gap or range(gap.start, gap.start + 1))
            if (gap or source) and self.first <= row <= self.last
        }
        measures = page.study.part.measures
        runs = [
            [measures[index].label for _, index in group]
            for _, group in itertools.groupby(enumerate(sorted(changed)), key=lambda one: one[1] - one[0])
        ]
        return [span_words(run[0], run[-1]) for run in runs]

    def _accidentals(self) -> Iterator[str]:
        """Which notes have other accidentals, where the letters are the same."""
        if self.recurrence.likeness is not Likeness.IN_KEY or not self._keeps_letters:
            return
        letters = dict.fromkeys(
            (later.pitch.step, int(later.pitch.alter))
            for row, source in self.pairs
            for later, earlier in zip(self.lines.heads[row], self.lines.heads[source], strict=True)
            if later.pitch.alter != earlier.pitch.alter
        )
        if len(letters) <= _LETTERS:
            yield _("with {letters}").format(letters=letters_words(letters))
        else:
            yield _("with other accidentals")

    def _has_other_slurs(self) -> bool:
        steps = [
            (block.start + step, block.source + step)
            for passage in self.recurrence.passages
            for block in passage.blocks
            for step in range(block.length - 1)
        ]
        others = sum(self.page.is_slurred(row) != self.page.is_slurred(source) for row, source in steps)
        return others >= _SLURS and others * _ONE_IN >= len(steps)


def _figure_words(count: int, *, exact: bool) -> str:
    """Of a figure that fills so many measures over and over."""
    if exact:
        return n_(
            "Measure {numbers} are one figure over and over.", "Measures {numbers} are one figure over and over.", count
        )
    return n_(
        "Measure {numbers} are one figure over and over, {moved}.",
        "Measures {numbers} are one figure over and over, {moved}.",
        count,
    )


def _repeat_words(count: int, *, exact: bool) -> str:
    """Of so many measures that repeat those before them."""
    if exact:
        return n_("Measure {numbers} repeat {earlier}.", "Measures {numbers} repeat {earlier}.", count)
    return n_("Measure {numbers} repeat {earlier}, {moved}.", "Measures {numbers} repeat {earlier}, {moved}.", count)
