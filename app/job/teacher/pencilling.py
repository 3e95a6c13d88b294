"""The teacher's marks on one part: made for the notes in hand, joined to those that stand, carried to look-alikes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan
from analysis.instruments import ROMAN
from analysis.language import _
from analysis.music import Note, Part
from app.errors import AppError
from app.job.teacher.work import PartWork
from app.job.words.names import hand_mark, position_key, position_mark
from engraving.marks.teacher import MARK_KINDS, OF_CHORD, ONE_OF, TeacherMark
from engraving.placing import is_painted

# At several notes in hand these stand at each of them, the other kinds at the first.
_EACH = frozenset(("down-bow", "up-bow", "tenuto", "accent", "staccato", "courtesy", "high", "low", "extension"))
_POSITIONS = 6  # that are offered, half position the first
# Dynamics as printed (MusicXML 4.0, element dynamics).
LEVELS = ("mf", "mp", "p", "pp", "f", "ff", "fp", "sf", "sfz")
_OF_PITCH = frozenset(("courtesy", "high", "low"))
_SLURS = frozenset(("slur", "dashed-slur", "hooked-bow"))


def standing(part: Part, marks: Iterable[TeacherMark]) -> tuple[TeacherMark, ...]:
    """Those of the marks whose notes the part has."""
    return tuple(mark for mark in marks if mark.first in part and (not mark.last or mark.last in part))


def to_engrave(part: Part, marks: Iterable[TeacherMark]) -> tuple[TeacherMark, ...]:
    """The marks that the engraver draws; the others are painted over the page."""
    return tuple(mark for mark in standing(part, marks) if not is_painted(mark))


def to_paint(part: Part, marks: Iterable[TeacherMark]) -> tuple[TeacherMark, ...]:
    """The marks that are painted over the engraved page."""
    return tuple(mark for mark in standing(part, marks) if is_painted(mark))


def marks_for(part: Part, kind: str, first: str, last: str, text: str = "") -> tuple[TeacherMark, ...]:
    """The marks of a kind for the notes from ``first`` to ``last``, which may be one note; AppError where none can be.

    A bow or an accent stands at every note that is struck, a slur reaches over all of them, words stand at the first.
    """
    notes = notes_between(part, first, last)
    title = _(MARK_KINDS[kind].title)
    if MARK_KINDS[kind].scope == "range":
        one_chord = len({note.chord or note.id for note in notes}) == 1
        if kind in _SLURS and one_chord:
            raise AppError(
                _("{title}: select the notes from the first to the last it reaches over").format(title=title)
            )
        return (TeacherMark(kind, notes[0].id, notes[-1].id, text),)
    if kind not in _EACH:
        return (TeacherMark(kind, notes[0].id, text=text),)
    struck = [note for note in notes if not note.tied_from] or notes
    if kind == "courtesy":
        struck = [note for note in struck if note.pitch.alter == int(note.pitch.alter) and not note.sign]
        if not struck:
            raise AppError(_("{title}: the accidental is printed there already").format(title=title))
    elif kind not in _OF_PITCH:
        # One sign holds for all notes of a chord.
        struck = list({note.chord or note.id: note for note in reversed(struck)}.values())[::-1]
    return tuple(TeacherMark(kind, note.id) for note in struck)


def offered_texts(kind: str, plan: Plan | None, note_id: str | None) -> tuple[str, ...]:
    """What a mark of a kind may say, the likeliest first: for a position or string the one its note is played in."""
    choice = plan.choice(note_id) if plan is not None and note_id is not None else None
    if kind == "dynamic":
        return LEVELS
    if kind in ("position", "held-position"):
        names = [hand_mark(choice, plan.setting.instrument)] if plan is not None and choice is not None else []
        lowest = (position_mark(position_key(number, None)) for number in range(_POSITIONS))
        return tuple(dict.fromkeys((*names, *lowest)))
    if kind == "string":
        strings = ROMAN[1 : 1 + len(plan.setting.instrument.strings)] if plan is not None else ROMAN[1:5]
        return tuple(dict.fromkeys((*([ROMAN[choice.string]] if choice is not None else []), *strings)))
    return ("",)


def notes_between(part: Part, first: str, last: str) -> list[Note]:
    """The notes from one to another in time, whichever of the two comes first; those of their voices only.

    Between two notes of one voice no other voice counts.
    """
    ends = sorted((part.note(first), part.note(last)), key=lambda note: note.onset)
    voices = {(note.voice, note.staff) for note in ends}
    earliest, latest = (part.index(note.id) for note in ends)
    if len(voices) == 1:
        inside = part.notes[min(earliest, latest) : max(earliest, latest) + 1]
        return [note for note in inside if (note.voice, note.staff) in voices]
    inside = tuple(note for note in part.notes if ends[0].onset <= note.onset <= ends[1].onset)
    return sorted((note for note in inside if (note.voice, note.staff) in voices), key=lambda note: note.onset)


def with_marks(part: Part, marks: Sequence[TeacherMark], added: Iterable[TeacherMark]) -> tuple[TeacherMark, ...]:
    """The marks with others added; what contradicts a new one, as an up-bow does a down-bow, gives way to it."""
    kept = list(dict.fromkeys(marks))
    for mark in added:
        kept = [other for other in kept if not _gives_way(part, other, mark)]
        kept.append(mark)
    return tuple(kept)


def _gives_way(part: Part, old: TeacherMark, new: TeacherMark) -> bool:
    """Whether a mark cannot stand beside a new one, or is that mark already, wherever it was moved to."""
    if (old.kind, old.first, old.last, old.text) == (new.kind, new.first, new.last, new.text):
        return True
    group = ONE_OF.get(new.kind)
    if group is None or ONE_OF.get(old.kind) != group or old.first not in part:
        return False
    here, there = part.note(new.first), part.note(old.first)
    if group in OF_CHORD:
        return (here.chord or here.id) == (there.chord or there.id)
    return here.id == there.id


def carry_pencilled(
    part: Part,
    source: Part,
    marked: PartWork,
    note_ids: Sequence[str],
    again: Sequence[str],
    locks: Mapping[str, Lock],
) -> Callable[[PartWork], PartWork]:
    """What gives notes of ``part`` the marks, and digits on paper, of the notes of ``source`` that they repeat.

    ``again`` has for each of ``note_ids`` the note it repeats, and ``marked`` holds the marks there. A mark goes along
    where both its ends do. A string becomes the one on which the carried fingers lie (``locks``). Where the music has
    moved to another pitch, a courtesy accidental stays behind: there other accidentals are in doubt.
    """
    later: dict[str, str] = {}
    for later_id, earlier_id in zip(note_ids, again, strict=True):
        later.setdefault(earlier_id, later_id)
    found = [
        there
        for mark in standing(source, marked.marks)
        if mark.first in later and (not mark.last or mark.last in later)
        if (there := _carried(part, source, mark, later, locks)) is not None
    ]
    wanted = {later[note_id]: on for note_id, on in marked.on_paper.items() if note_id in later}

    def change(work: PartWork) -> PartWork:
        on_paper = MappingProxyType({**work.on_paper, **wanted})
        return replace(work, marks=with_marks(part, work.marks, found), on_paper=on_paper)

    return change


def _carried(
    part: Part, source: Part, mark: TeacherMark, later: Mapping[str, str], locks: Mapping[str, Lock]
) -> TeacherMark | None:
    """A mark at the notes that repeat its own; ``None`` where it would be wrong."""
    there = replace(mark, first=later[mark.first], last=later[mark.last] if mark.last else "")
    if mark.kind == "courtesy" and part.note(there.first).pitch != source.note(mark.first).pitch:
        return None
    if mark.kind == "string":
        lock = locks.get(there.first)
        return replace(there, text=ROMAN[lock.string]) if lock is not None and lock.string else None
    return there
