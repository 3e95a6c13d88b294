"""The teacher's marks as values: which notes get them, what gives way, what goes along to look-alikes."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.rules.files import preset
from analysis.instruments import VIOLIN
from app.errors import AppError
from app.job.teacher.pencilling import (
    LEVELS,
    carry_pencilled,
    marks_for,
    notes_between,
    offered_texts,
    standing,
    to_engrave,
    to_paint,
    with_marks,
)
from app.job.teacher.work import PartWork
from engraving.document import read_document
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.reading import read_score
from tests.scores import score

PLAIN = "D5/1 E5 F#5 G5 | A5 G5 F#5 E5 | D5 E5 F#5 G5"


def read(music, key=2):
    return read_score(read_document(score("Violin", "4/4", music, key=key), "s.musicxml")).parts[0]


def ids(marks):
    return [mark.first for mark in marks]


def named(part):
    """Notes by letter, in written order."""
    return [note.id for note in part.notes]


def test_a_bow_stands_at_every_note_in_hand_and_words_at_the_first():
    part = read(PLAIN)
    n = named(part)
    assert ids(marks_for(part, "accent", n[1], n[3])) == n[1:4]
    assert ids(marks_for(part, "accent", n[3], n[1])) == n[1:4]
    assert marks_for(part, "text", n[1], n[3], "sing") == (TeacherMark("text", n[1], text="sing"),)


def test_a_line_reaches_from_the_first_note_in_hand_to_the_last():
    part = read(PLAIN)
    n = named(part)
    assert marks_for(part, "slur", n[3], n[1]) == (TeacherMark("slur", n[1], n[3]),)
    assert marks_for(part, "circle", n[2], n[2]) == (TeacherMark("circle", n[2], n[2]),)
    with pytest.raises(AppError, match="Slur: select the notes"):
        marks_for(part, "slur", n[2], n[2])


def test_a_chord_gets_one_bow_but_an_arrow_for_each_note():
    part = read("D5/1 [D4 A4] F#5 G5")
    n = named(part)
    assert len(marks_for(part, "down-bow", n[0], n[-1])) == 4
    assert len(marks_for(part, "high", n[0], n[-1])) == 5


def test_a_note_tied_on_is_not_struck_and_gets_no_bow():
    part = read("D5/1 E5 F#5/2~ | F#5/1 E5 D5 E5")
    n = named(part)
    assert part.notes[3].tied_from
    assert ids(marks_for(part, "up-bow", n[2], n[4])) == [n[2], n[4]]


def test_an_accidental_that_is_printed_needs_no_reminder():
    part = read("D5/1 E5 F5%=n G5")
    n = named(part)
    assert ids(marks_for(part, "courtesy", n[0], n[3])) == [n[0], n[1], n[3]]
    with pytest.raises(AppError, match="printed there already"):
        marks_for(part, "courtesy", n[2], n[2])


@pytest.mark.parametrize(
    ("old", "new", "stays"),
    [
        ("up-bow", "down-bow", False),
        ("up-bow", "accent", True),
        ("high", "low", False),
        ("accent", "accent", False),
        ("tenuto", "accent", True),
    ],
)
def test_what_contradicts_a_new_mark_gives_way(old, new, stays):
    part = read(PLAIN)
    first = named(part)[0]
    kept = with_marks(part, [TeacherMark(old, first, dx=1.0)], [TeacherMark(new, first)])
    assert (TeacherMark(old, first, dx=1.0) in kept) is stays
    assert kept[-1] == TeacherMark(new, first)


def test_a_chord_has_one_bow_wherever_it_is_written_but_fingers_of_its_own():
    part = read("[D4 A4]/1 E5 F#5 G5")
    low, high = (note.id for note in part.notes[:2])
    bows = with_marks(part, [TeacherMark("up-bow", low)], [TeacherMark("down-bow", high)])
    assert bows == (TeacherMark("down-bow", high),)
    assert len(with_marks(part, [TeacherMark("high", low)], [TeacherMark("low", high)])) == 2


def test_marks_at_notes_the_part_has_not_are_left_out_of_page_and_paper():
    part = read(PLAIN)
    n = named(part)
    marks = [TeacherMark("accent", "gone"), TeacherMark("slur", n[0], "gone"), TeacherMark("accent", n[0])]
    assert standing(part, marks) == (TeacherMark("accent", n[0]),)


def test_every_mark_is_either_engraved_or_painted():
    part = read(PLAIN)
    n = named(part)
    marks = [
        TeacherMark(kind.name, n[0], n[2] if kind.scope == "range" else "", TEXTS.get(kind.name, "")) for kind in KINDS
    ]
    both = to_engrave(part, marks), to_paint(part, marks)
    assert sorted(mark.kind for group in both for mark in group) == sorted(MARK_KINDS)
    moved = replace(TeacherMark("slur", n[0], n[2]), dy=1.0)
    assert to_paint(part, [moved]) == (moved,)


KINDS = MARK_KINDS.values()
TEXTS = {
    "dynamic": "mf",
    "text": "sing",
    "margin-text": "listen",
    "position": "3rd pos.",
    "string": "II",
    "held-position": "3rd pos.",
}


def test_what_a_mark_may_say_begins_with_what_the_plan_does():
    part = read(PLAIN)
    first = named(part)[0]
    plan = PartWork(VIOLIN, preset("third")).with_locks({first: Lock(string=2, position=3)}).plan(part)
    assert offered_texts("position", plan, first)[0] == "3rd pos."
    assert offered_texts("string", plan, first)[0] == "II"
    assert offered_texts("string", None, None) == ("I", "II", "III", "IV")
    assert offered_texts("dynamic", plan, first) == LEVELS


def test_every_text_offered_makes_a_mark():
    plan = PartWork(VIOLIN, preset("first")).plan(read(PLAIN))
    for kind in ("dynamic", "position", "string", "held-position"):
        for text in offered_texts(kind, plan, named(read(PLAIN))[0]):
            last = "b" if MARK_KINDS[kind].scope == "range" else ""
            assert TeacherMark(kind, "a", last, text).text == text


def test_between_two_notes_of_a_voice_no_other_voice_counts():
    part = read("D5/1 E5 F#5 G5 & A4/2 B4")
    upper = [note.id for note in part.notes if note.voice == part.notes[0].voice]
    assert len({note.voice for note in part.notes}) == 2
    assert [note.id for note in notes_between(part, upper[3], upper[0])] == upper
    lower = next(note.id for note in part.notes if note.id not in upper)
    assert {note.voice for note in notes_between(part, lower, upper[1])} == {note.voice for note in part.notes}


# Measures 3 and 4 are 1 and 2 again, a fifth lower: the same fingers one string over.
AGAIN = "D5/1 E5 F#5 G5 | A5 G5 F#5/2 | G4/1 A4 B4 C5 | D5 C5 B4/2"


def carried(music, marks, on_paper=None, locks=None):
    part = read(music)
    n = named(part)
    half = len(n) // 2
    work = PartWork(VIOLIN, preset("first"), marks=tuple(marks(n)), on_paper=MappingProxyType(on_paper or {}))
    change = carry_pencilled(part, part, work, n[half:], n[:half], locks(n) if locks else {})
    return n, change(work)


def test_marks_go_along_where_both_their_ends_do():
    n, after = carried(
        AGAIN,
        lambda n: [
            TeacherMark("up-bow", n[1]),
            TeacherMark("slur", n[2], n[3], dy=0.5),
            TeacherMark("crescendo", n[5], n[8]),
        ],
    )
    assert set(after.marks[3:]) == {TeacherMark("up-bow", n[8]), TeacherMark("slur", n[9], n[10], dy=0.5)}
    assert len(after.marks) == 5


def test_a_string_becomes_the_one_that_the_carried_fingers_lie_on():
    n, after = carried(
        AGAIN,
        lambda n: [TeacherMark("string", n[0], text="II"), TeacherMark("string", n[1], text="II")],
        locks=lambda n: {n[7]: Lock(string=3, position=1, finger=3)},
    )
    assert after.marks[2:] == (TeacherMark("string", n[7], text="III"),)


@pytest.mark.parametrize(("music", "count"), [(AGAIN, 1), ("D5/1 E5 F#5 G5 | D5 E5 F#5 G5", 2)])
def test_a_reminder_of_an_accidental_goes_along_only_to_the_same_pitch(music, count):
    _, after = carried(music, lambda n: [TeacherMark("courtesy", n[0])])
    assert len(after.marks) == count


def test_a_digit_wanted_on_paper_is_wanted_there_too():
    n = named(read(AGAIN))
    _, after = carried(AGAIN, lambda n: [], {n[2]: False, n[3]: True})
    assert after.on_paper == {n[2]: False, n[3]: True, n[9]: False, n[10]: True}
