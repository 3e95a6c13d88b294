"""What must hold of every watch-list: a table of functions, one a rule, each returning the offenders in words."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence

from analysis.music import Part
from analysis.watch.finding import Finding
from analysis.watch.kinds import KINDS

Rule = Callable[[Part, Sequence[Finding]], Iterator[str]]

_NAMES = frozenset(kind.name for kind in KINDS)
# A letter with a typewriter's sharp or flat, or a note's name with its octave.
_TYPED = re.compile(r"\b[A-G](#|b{1,2}\b)|\b[A-G][♯♭]*\d\b")


def every_kind_is_in_the_table(part: Part, findings: Sequence[Finding]) -> Iterator[str]:
    yield from (finding.kind for finding in findings if finding.kind not in _NAMES)


def every_note_is_of_the_part_once_and_in_playing_order(part: Part, findings: Sequence[Finding]) -> Iterator[str]:
    places = {note.id: (note.onset, number) for number, note in enumerate(part.notes)}
    for finding in findings:
        found = [places[note_id] for note_id in finding.note_ids if note_id in places]
        if len(found) < len(finding.note_ids) or found != sorted(set(found)):
            yield f"{finding.kind}: {finding.note_ids}"


def no_finding_comes_twice(part: Part, findings: Sequence[Finding]) -> Iterator[str]:
    counted = Counter(finding.key for finding in findings)
    yield from (f"{key} {number} times" for key, number in counted.items() if number > 1)
    said = Counter((finding.kind, part.note(finding.note_ids[0]).measure, finding.text) for finding in findings)
    yield from (f"{kind}: {text}" for (kind, _, text), number in said.items() if number > 1)


def findings_stand_in_the_order_of_their_places(part: Part, findings: Sequence[Finding]) -> Iterator[str]:
    onsets = [part.note(finding.note_ids[0]).onset for finding in findings]
    yield from (str(late) for early, late in itertools.pairwise(onsets) if late < early)


def what_is_said_is_a_sentence_with_printed_signs(part: Part, findings: Sequence[Finding]) -> Iterator[str]:
    for finding in findings:
        text = finding.text
        plain = text == text.strip() and "  " not in text and text.endswith((".", "?"))
        if not plain or not (text[:1].isupper() or text[:1].isdigit()) or _TYPED.search(text):
            yield f"{finding.kind}: {text!r}"


def what_comes_again_names_a_note_for_each_note(part: Part, findings: Sequence[Finding]) -> Iterator[str]:
    for finding in findings:
        if finding.again and len(finding.again) != len(finding.note_ids):
            yield f"{finding.kind}: {len(finding.again)} for {len(finding.note_ids)}"


OFFENCES: tuple[Rule, ...] = (
    every_kind_is_in_the_table,
    every_note_is_of_the_part_once_and_in_playing_order,
    no_finding_comes_twice,
    findings_stand_in_the_order_of_their_places,
    what_is_said_is_a_sentence_with_printed_signs,
    what_comes_again_names_a_note_for_each_note,
)


def offences(part: Part, findings: Sequence[Finding]) -> list[str]:
    """Everything in a watch-list of ``part`` that breaks a rule, in words."""
    return [f"{rule.__name__}: {words}" for rule in OFFENCES for words in rule(part, findings)]
