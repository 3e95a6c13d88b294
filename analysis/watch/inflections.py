"""The letters of a part as its accidentals inflect them, and the words for it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from analysis.language import n_
from analysis.music import LETTERS, Note, Part, altered_by
from analysis.pitch_names import pitch_name, spoken_pitch
from analysis.watch.finding import Finding
from analysis.wording import listed, listed_once

# How far signs alter a letter, in semitones; quarter tones and triple signs are left out.
_ALTERED = range(-2, 3)
_PRINTED = (-1, 1)


@dataclass(frozen=True, slots=True)
class Inflection:
    """How far ``note`` is altered, in semitones, beside what the key signature of ``fifths`` makes ``usual`` for it.

    ``line`` is the line or space it stands on: its staff, and letter steps from C0. ``played`` counts the measures that
    have notes, up to this one: measures of rest are nothing to remember over.
    """

    note: Note
    alter: int
    usual: int
    fifths: int
    line: tuple[int, int]
    played: int

    @property
    def step(self) -> str:
        """The letter."""
        return self.note.pitch.step

    @property
    def is_usual(self) -> bool:
        """Whether it is as the key signature has it."""
        return self.alter == self.usual


def inflections(part: Part) -> Iterator[Inflection]:
    """The notes of a part as they are played, tied ones too; quarter tones and triple signs are left out."""
    keys, fifths, at = part.keys, 0, 0
    measure, played = -1, 0
    usual = dict.fromkeys(LETTERS, 0)
    for note in sorted(part.notes, key=lambda note: note.onset):
        while at < len(keys) and keys[at].onset <= note.onset:
            fifths, at = keys[at].fifths, at + 1
            usual = {step: altered_by(fifths, step) for step in LETTERS}
        if note.measure != measure:
            measure, played = note.measure, played + 1
        pitch = note.pitch
        if pitch.alter in _ALTERED:
            yield Inflection(note, int(pitch.alter), usual[pitch.step], fifths, (note.staff, pitch.letter), played)


def measures_listed(labels: Sequence[str], *, unbroken: bool = False) -> str:
    """Printed measure numbers as a sentence names them; ``unbroken``: no measure is left out.

    >>> measures_listed(["3"]), measures_listed(["3", "5"]), measures_listed(["3", "4", "5"], unbroken=True)
    ('measure 3', 'measures 3 and 5', 'measures 3–5')
    """
    numbers = f"{labels[0]}–{labels[-1]}" if unbroken and len(labels) > 2 else listed(labels)
    return n_("measure {numbers}", "measures {numbers}", len(labels)).format(numbers=numbers)


def letters_words(letters: Iterable[tuple[str, int]]) -> str:
    """Letters with how they are altered, each once.

    >>> letters_words([("B", -1)]), letters_words([("C", 0), ("F", 0)]), letters_words([("C", 0), ("G", 1)])
    ('B♭', 'C and F natural', 'C natural and G♯')
    """
    each = list(dict.fromkeys(letters))
    if len(each) > 1 and len({alter for _step, alter in each}) == 1:
        return listed_once([spoken_pitch(*letter) for letter in each])
    return listed(pitch_name(step, alter) if alter in _PRINTED else spoken_pitch(step, alter) for step, alter in each)


def as_written(part: Part, findings: Iterable[Finding]) -> Iterator[Finding]:
    """The findings with the notes of each in written order."""
    order = {note.id: number for number, note in enumerate(part.notes)}
    for finding in findings:
        yield replace(finding, note_ids=tuple(sorted(finding.note_ids, key=order.__getitem__)))
