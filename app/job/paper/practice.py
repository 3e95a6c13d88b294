"""What stands on a practice sheet: the measures to practise, the most needful first, and what to know about them."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from analysis.music import Part
from analysis.watch.finding import SUGGESTION, Finding
from app.job.teacher.watching import OWN, Entry
from engraving.marks.teacher import TeacherMark

Measures = tuple[int, int]

# A finding is shown by its first measures, at most so many. What lies no further apart stands together, in an excerpt
# of at most so many measures and notes.
_MOST_OF_ONE, _APART, _MOST_MEASURES, _MOST_NOTES = 4, 1, 8, 40
# While nothing is accepted, so many things to practise are proposed, for so many findings.
_PROPOSED, _PROPOSED_FINDINGS = 5, 8


@dataclass(frozen=True, slots=True)
class Practised:
    """How a kind of finding is practised.

    ``by_hand``: the left hand learns it, so that a chart helps. ``proposed``: how many are proposed before other kinds
    have had their turn; of kinds that the teacher has to decide about first, none ever is.
    """

    kind: str
    by_hand: bool = True
    proposed: int = 0


# In which order a teacher has things practised: what she wrote herself; the spots where everything comes together;
# where the hand moves, how its fingers lie and which notes they are; what goes across strings; what has been learned
# already; then the bow, and last what only asks for attention (common practice, no source).
ORDER = (
    Practised(OWN),
    Practised("hard-spot", proposed=2),
    Practised("shift", proposed=1),
    Practised("finger-pattern", proposed=2),
    Practised("bar-line", proposed=1),
    Practised("extension", proposed=1),
    Practised("stretch", proposed=1),
    Practised("high-finger", proposed=1),
    Practised("leading-note", proposed=1),
    Practised("key-region", proposed=1),
    Practised("fifth-across", proposed=1),
    Practised("single-crossing", proposed=1),
    Practised("string-skip", proposed=1),
    Practised("open-string"),
    Practised("look-alike"),
    Practised("bowing", by_hand=False),
    Practised("range", by_hand=False),
    Practised("texture", by_hand=False),
    Practised("dynamics", by_hand=False),
)
_RANKS = {practised.kind: rank for rank, practised in enumerate(ORDER)}
_LAST = Practised("", by_hand=False)


@dataclass(frozen=True, slots=True)
class PracticeItem:
    """One thing to practise: the ``measures`` (indices, both included) and the entries that stand under them."""

    measures: Measures
    entries: tuple[Entry, ...]

    @property
    def by_hand(self) -> bool:
        """Whether the left hand has something to learn here."""
        return any(_practised(entry).by_hand for entry in self.entries)

    @property
    def rank(self) -> tuple[int, float]:
        """The less, the sooner it is practised: by kind, the surest first."""
        return min(_rank(entry) for entry in self.entries)


@dataclass(frozen=True, slots=True)
class Practice:
    """What to practise, in this order; ``is_proposed`` while the teacher has accepted nothing.

    ``marks``: the teacher's marks in the part, to be seen in the excerpts.
    """

    items: tuple[PracticeItem, ...]
    is_proposed: bool
    marks: tuple[TeacherMark, ...] = ()


def practice(part: Part, entries: Sequence[Entry], marks: tuple[TeacherMark, ...] = ()) -> Practice:
    """What the accepted ``entries`` of a part's watch-list ask to be practised, or the surest of them while none is."""
    accepted = [entry for entry in entries if entry.is_accepted]
    items = _items(part, accepted) if accepted else _proposed(part, entries)
    in_order = sorted(items, key=lambda item: (item.rank, item.measures))
    return Practice(tuple(_with_company(part, item) for item in in_order), is_proposed=not accepted, marks=marks)


def _practised(entry: Entry) -> Practised:
    rank = _RANKS.get(entry.finding.kind)
    return _LAST if rank is None else ORDER[rank]


def _rank(entry: Entry) -> tuple[int, float]:
    return _RANKS.get(entry.finding.kind, len(ORDER)), -entry.finding.certainty


def _proposed(part: Part, entries: Iterable[Entry]) -> list[PracticeItem]:
    """The first in order of practice, every kind in its turn, as many as fit on a page."""
    open_ones = [entry for entry in entries if not entry.is_hidden and entry.finding.certainty >= SUGGESTION]
    counted: Counter[str] = Counter()
    turns: list[Entry] = []
    later: list[Entry] = []
    for entry in sorted((entry for entry in open_ones if _practised(entry).proposed), key=_rank):
        counted[entry.finding.kind] += 1
        (turns if counted[entry.finding.kind] <= _practised(entry).proposed else later).append(entry)
    items: list[PracticeItem] = []
    chosen: list[Entry] = []
    for entry in (*turns, *later)[:_PROPOSED_FINDINGS]:
        more = _items(part, [*chosen, entry])
        if len(more) > _PROPOSED:
            break
        chosen, items = [*chosen, entry], more
    return items


def _items(part: Part, entries: Iterable[Entry]) -> list[PracticeItem]:
    """Entries whose measures touch or nearly do, together, in the order of the part."""
    items: list[PracticeItem] = []
    for entry in sorted(entries, key=lambda entry: _span(part, entry.finding)):
        span = _span(part, entry.finding)
        joined = _joined(part, items[-1].measures, span) if items else None
        if joined is None:
            items.append(PracticeItem(span, (entry,)))
        else:
            items[-1] = PracticeItem(joined, (*items[-1].entries, entry))
    return items


def _joined(part: Part, before: Measures, span: Measures) -> Measures | None:
    """The measures of two together, the second beginning no sooner; ``None`` where they are better shown apart."""
    whole = (before[0], max(before[1], span[1]))
    reached = _trimmed(part, whole)
    if span[0] <= before[1]:
        return before[0], max(before[1], reached[1])
    return whole if span[0] - before[1] - 1 <= _APART and reached == whole else None


def _span(part: Part, finding: Finding) -> Measures:
    """The measures that show a finding: from its first note on, without a gap, as many as make an excerpt."""
    shown = sorted({part.note(note_id).measure for note_id in finding.note_ids})
    run = list(itertools.takewhile(lambda pair: pair[1] - pair[0] <= 1 + _APART, itertools.pairwise(shown)))
    last = run[-1][1] if run else shown[0]
    return _trimmed(part, (shown[0], min(last, shown[0] + _MOST_OF_ONE - 1)))


def _with_company(part: Part, item: PracticeItem) -> PracticeItem:
    """A single measure gets the one before it, from where hand and bow come; the first measure gets the next one."""
    first, last = item.measures
    if first < last:
        return item
    longer = (first - 1, last) if first else (first, min(1, len(part.measures) - 1))
    return PracticeItem(longer, item.entries) if _trimmed(part, longer) == longer else item


def _trimmed(part: Part, measures: Measures) -> Measures:
    """As many of the first measures as an excerpt has room for, at least one."""
    first, last = measures
    reached, notes = first, len(part.notes_in(first))
    for measure in range(first + 1, min(last, first + _MOST_MEASURES - 1) + 1):
        notes += len(part.notes_in(measure))
        if notes > _MOST_NOTES:
            break
        reached = measure
    return first, reached
