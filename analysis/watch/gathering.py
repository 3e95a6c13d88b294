"""What happens at several places, told at once: alike events close together, and the words for where and how often."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from analysis.fingering.chain import Chain
from analysis.fingering.grips import Grip
from analysis.fingering.placements import THUMB, Placement
from analysis.fingering.stages import Stage
from analysis.language import _, later, n_
from analysis.music import Note, Part, span_words
from analysis.watch.finding import Finding, found
from analysis.wording import listed, times_word

# So many places are told one by one; of more, the first and the last with their number.
_PLACES = 5
_FINGERS = (
    "", later("first finger"), later("second finger"), later("third finger"), later("fourth finger"), later("thumb"),
)  # fmt: skip
# Stands for the measures in what is told of an event, until it is known which.
WHERE = "{where}"
# A silence after which hand and bow have had time to get ready, in seconds.
PAUSE = 0.3


@dataclass(frozen=True, slots=True)
class Step:
    """A stage with the grip it is played with.

    ``joined``: it follows the stage before without a silence that would let hand and bow get ready.
    """

    stage: Stage
    grip: Grip
    joined: bool

    @property
    def single(self) -> Placement | None:
        """How its only note is played; ``None`` for a chord."""
        return self.grip[0] if len(self.grip) == 1 else None

    @property
    def note(self) -> Note:
        """Its highest note."""
        return self.stage.heads[0]

    @property
    def notes(self) -> tuple[Note, ...]:
        """The notes that are struck, without those that only sound on."""
        heads, held = self.stage.heads, self.stage.held
        return heads if not held else tuple(note for head, note in enumerate(heads) if head not in held)


def steps(chain: Chain) -> list[Step]:
    """The stages of a voice with their grips, in written order."""
    parted = chain.line.parted
    return [
        Step(stage, grip, number > 0 and number - 1 not in parted and stage.seconds_rest <= PAUSE)
        for number, (stage, grip) in enumerate(zip(chain.stages, chain.chosen_path(), strict=True))
    ]


@dataclass(frozen=True, slots=True)
class Event:
    """Something happens over some ``notes``, the first of which tells where.

    ``told`` is the sentence to the player with ``{where}`` for the measures: alike events have the same one.
    ``closer`` says it in more words, and stands instead where it holds for all the events that are told at once.
    """

    told: str
    notes: tuple[Note, ...]
    certainty: float = 1.0
    closer: str = ""

    @property
    def measures(self) -> range:
        """The indices of the measures in which it happens."""
        return range(self.notes[0].measure, self.notes[-1].measure + 1)


def told_at_once(part: Part, kind: str, events: Iterable[Event], near: int) -> Iterator[Finding]:
    """Findings of one kind for some events in the order of their places; alike ones that are near share one."""
    yield from settled(part, (_finding(part, kind, group) for group in gathered(events, near)))


def gathered(events: Iterable[Event], near: int) -> list[list[Event]]:
    """Events that are told at once: alike ones, each at most ``near`` measures after the one before."""
    latest: dict[str, list[Event]] = {}
    groups: list[list[Event]] = []
    for event in events:
        group = latest.get(event.told)
        if group is None or event.measures.start - group[-1].measures[-1] > near:
            group = latest[event.told] = []
            groups.append(group)
        group.append(event)
    return groups


def _finding(part: Part, kind: str, group: Sequence[Event]) -> Finding:
    indices = itertools.chain.from_iterable(event.measures for event in group)
    notes = itertools.chain.from_iterable(event.notes for event in group)
    closer = {event.closer for event in group}
    told = group[0].told if len(closer) > 1 else group[0].closer or group[0].told
    text = told.format(where=measures_listed(part, indices, len(group)))
    return found(kind, notes, text, min(event.certainty for event in group))


def settled(part: Part, findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings as a list may hold them: notes once each in written order, what is said alike said once.

    Of two that could not be told apart by their key the first stands.
    """
    order = {note.id: number for number, note in enumerate(part.notes)}
    by_text: dict[tuple[str, str], Finding] = {}
    for finding in findings:
        before = by_text.get((finding.kind, finding.text))
        note_ids = finding.note_ids if before is None else before.note_ids + finding.note_ids
        in_order = tuple(sorted(set(note_ids), key=order.__getitem__))
        by_text[finding.kind, finding.text] = replace(before or finding, note_ids=in_order)
    by_key: dict[tuple[str, str, str], Finding] = {}
    for finding in by_text.values():
        by_key.setdefault(finding.key, finding)
    yield from by_key.values()


def measures_listed(part: Part, indices: Iterable[int], times: int = 0) -> str:
    """Measures in words: ``measure 5``, ``measures 5–7 and 12``; of many stretches the ends, ``measures 5 to 40``.

    ``times``: how often in all, which is told where the stretches are not.
    """
    stretches: list[list[int]] = []
    for index in sorted(set(indices)):
        if stretches and index == stretches[-1][-1] + 1:
            stretches[-1].append(index)
        else:
            stretches.append([index])
    if len(stretches) > _PLACES:
        words = _("measures {first} to {last} ({times})") if times else _("measures {first} to {last}")
        first, last = _label(part, stretches[0][0]), _label(part, stretches[-1][-1])
        return words.format(first=first, last=last, times=times_word(times))
    spans = list(dict.fromkeys(_stretch(part, stretch) for stretch in stretches))
    several = len(spans) > 1 or "–" in spans[0]
    return n_("measure {numbers}", "measures {numbers}", 2 if several else 1).format(numbers=listed(spans))


def _stretch(part: Part, stretch: Sequence[int]) -> str:
    return span_words(_label(part, stretch[0]), _label(part, stretch[-1]))


def _label(part: Part, index: int) -> str:
    return part.measures[index].label or str(index + 1)


def printed(words: str) -> str:
    """Words that name a place of the hand, with printed signs.

    >>> printed("thumb on Eb")
    'thumb on E♭'
    """
    return words.replace("Eb", "E♭").replace("Bb", "B♭").replace("#", "♯")


def finger_words(finger: int) -> str:
    """What a finger is called: ``first finger``, ``thumb``."""
    return _(_FINGERS[min(finger, THUMB)])
