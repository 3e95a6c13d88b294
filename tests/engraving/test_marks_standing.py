"""The teacher's marks beside what stands in the file: moved, coloured, written once, refused, and out again."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.errors import EngravingError
from engraving.marks.finger import Mark
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.marks.writing import marked_bytes, marked_tree
from tests.engraving.comparing import canonical
from tests.engraving.marked import (
    TUNE,
    articulations,
    mark,
    notations,
    one_of_each,
    pencilled,
    technical,
    texts,
)
from tests.engraving.pencilled import COLOUR, without_colour
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.schema import musicxml_schema, schema_errors
from tests.scores import full_score, part, score

# Moved and coloured


@pytest.mark.parametrize("one", one_of_each(), ids=lambda one: one.kind)
def test_a_moved_mark_says_how_far_in_tenths_of_a_staff_space(one: TeacherMark) -> None:
    moved = mark(one.kind, one.first, one.last, one.text, 1.5, -2.125)
    attributes = {'relative-x="15"', 'relative-y="-21.25"'}
    plain, with_moves = etree.tostring(pencilled(one)).decode(), etree.tostring(pencilled(moved)).decode()
    assert "relative" not in plain
    assert all(attribute in with_moves for attribute in attributes)
    assert with_moves.replace(' relative-x="15"', "").replace(' relative-y="-21.25"', "") == plain


@pytest.mark.parametrize("one", one_of_each(), ids=lambda one: one.kind)
def test_the_marks_are_told_apart_by_their_colour_or_not_at_all(one: TeacherMark) -> None:
    plain, coloured = pencilled(one), pencilled(one, colour=COLOUR.lower())
    assert "color" not in etree.tostring(plain).decode()
    original = etree.fromstring(TUNE).getroottree()
    assert canonical(without_colour(coloured.getroottree(), original)) == canonical(original)
    assert etree.tostring(coloured).decode().replace(f' color="{COLOUR}"', "") == etree.tostring(plain).decode()


def test_fingers_are_coloured_like_the_teachers_marks() -> None:
    tree = marked_tree(read_document(TUNE, "x.xml"), [Mark("a", 3, 2)], colour=COLOUR)
    assert [one.get("color") for one in tree.iter("fingering", "string")] == [COLOUR, COLOUR]


@pytest.mark.parametrize("colour", ["red", "#12", "#1234567", "C03020"])
def test_a_colour_that_is_none_is_refused(colour: str) -> None:
    with pytest.raises(EngravingError, match=f"'{colour}' is no colour"):
        pencilled(mark("accent", "a"), colour=colour)


# What stands there already


@pytest.mark.parametrize("one", one_of_each(), ids=lambda one: one.kind)
@pytest.mark.parametrize("indent", [None, "  "])
def test_a_mark_is_written_once_and_is_valid(one: TeacherMark, indent: str | None) -> None:
    tree = etree.fromstring(TUNE).getroottree()
    if indent is not None:
        etree.indent(tree, indent)
    document = read_document(etree.tostring(tree), "tune.xml")
    once = marked_bytes(document, [], [one, one])
    assert once != marked_bytes(document, [])
    assert marked_bytes(read_document(once, "tune.xml"), [], [one]) == once
    assert not schema_errors(musicxml_schema(), once)


def test_a_circle_round_one_note_is_drawn_once() -> None:
    circle = mark("circle", "a", "a")
    once = marked_bytes(read_document(TUNE, "tune.xml"), [], [circle, circle])
    assert once.count(b"other-notation") == 2
    assert marked_bytes(read_document(once, "tune.xml"), [], [circle]) == once


def at_a(inside: str) -> bytes:
    return raw(raw_note("D5", QUARTER + inside, attributes=' id="a"') + raw_note("E5", attributes=' id="b"'))


def stays(data: bytes, *marks: TeacherMark) -> bool:
    return canonical(pencilled(*marks, data=data).getroottree()) == canonical(etree.fromstring(data).getroottree())


def test_what_the_composer_wrote_is_not_written_again() -> None:
    signs = technical("<up-bow/><string>3</string>") + articulations("<breath-mark/><accent/>")
    data = at_a(f"<notations>{signs}</notations>")
    assert stays(data, mark("up-bow", "a"), mark("string", "a"), mark("breath", "a"), mark("accent", "a"))
    assert not stays(data, mark("tenuto", "a"))


def test_a_printed_dynamic_at_the_onset_is_not_written_again() -> None:
    data = score("Violin", "4/4", '!mf "listen" *C5/1 D5@a E5@b')
    assert stays(data, mark("dynamic", "a"), mark("text", "a"))
    assert not stays(data, mark("dynamic", "a", text="f"))
    assert not stays(data, mark("dynamic", "b"))
    assert not stays(data, mark("margin-text", "a", text="listen"))


def test_a_dynamic_of_another_voice_is_none_of_the_note() -> None:
    data = raw(
        "<direction><direction-type><dynamics><mf/></dynamics></direction-type><voice>2</voice></direction>"
        + raw_note("D5", f"{QUARTER}<voice>1</voice>", attributes=' id="a"')
    )
    assert not stays(data, mark("dynamic", "a"))


def test_a_printed_slur_or_hairpin_over_the_same_notes_is_not_written_again() -> None:
    data = score("Violin", "4/4", "!< (D5/1@a E5@b F5@c) !. G5@d")
    assert stays(data, mark("slur", "a", "c"), mark("crescendo", "a", "c"))
    for other in (mark("dashed-slur", "a", "c"), mark("slur", "a", "b"), mark("diminuendo", "a", "c")):
        assert not stays(data, other)
    assert not stays(data, mark("crescendo", "a", "d"))


@pytest.mark.parametrize(
    ("before", "kind", "after"),
    [
        ('<up-bow placement="below"/>', "down-bow", '<down-bow placement="below"/>'),
        ("<down-bow/>", "up-bow", "<up-bow/>"),
        ("<string>1</string>", "string", "<string>3</string>"),
        ("<arrow><arrow-direction>up</arrow-direction></arrow>", "low",
         "<arrow><arrow-direction>down</arrow-direction></arrow>"),
    ],
)  # fmt: skip
def test_a_sign_that_says_otherwise_is_changed_in_its_place(before: str, kind: str, after: str) -> None:
    data = at_a(f"<notations>{technical(before)}</notations>")
    assert notations(pencilled(mark(kind, "a"), data=data), "a") == technical(after)


@pytest.mark.parametrize("kind", ["up-bow", "string", "low"])
def test_what_is_changed_takes_the_colour_of_the_marks(kind: str) -> None:
    signs = "<down-bow/><string>1</string><arrow><arrow-direction>up</arrow-direction></arrow><fingering>2</fingering>"
    document = read_document(at_a(f"<notations>{technical(signs)}</notations>"), "x.xml")
    tree = marked_tree(document, [Mark("a", 3)], [mark(kind, "a")], colour=COLOUR)
    coloured = {sign.tag for sign in tree.iterfind(".//technical/*") if sign.get("color") == COLOUR}
    assert coloured == {"fingering", MARK_KINDS[kind].element}


def test_an_arrow_that_is_no_finger_stays_beside_ours() -> None:
    other = "<arrow><arrow-direction>left</arrow-direction></arrow>"
    root = pencilled(mark("high", "a"), data=at_a(f"<notations>{technical(other)}</notations>"))
    assert [one.text for one in root.iter("arrow-direction")] == ["left", "up"]


def test_signs_that_are_not_to_be_seen_are_left_alone() -> None:
    hidden = (
        f'<notations print-object="no">{technical("<up-bow/><fingering>2</fingering><string>1</string>")}</notations>'
    )
    document = read_document(at_a(hidden), "x.xml")
    tree = marked_tree(document, [Mark("a", 3)], [mark("down-bow", "a"), mark("string", "a")])
    ours, theirs = tree.findall("part/measure/note[1]/notations")
    assert texts([theirs]) == [hidden]
    assert [child.tag for child in ours[0]] == ["fingering", "down-bow", "string"]


# Refusals


@pytest.mark.parametrize(
    ("message", "marks"),
    [
        ("there is no note with the id nowhere", [mark("accent", "nowhere")]),
        ("there is no note with the id nowhere", [mark("slur", "a", "nowhere")]),
        ("a rest takes no mark, and pause is one", [mark("text", "pause")]),
        ("two different bows for the note high", [mark("up-bow", "low"), mark("down-bow", "high")]),
        ("two different strings for the note a", [mark("string", "a"), mark("string", "a", text="I")]),
        ("two different dynamics for the note a", [mark("dynamic", "a"), mark("dynamic", "a", text="f")]),
        ("two different arrows for the note a", [mark("high", "a"), mark("low", "a")]),
        ("Slur: the mark ends at a, before it begins at b", [mark("slur", "b", "a")]),
        ("Crescendo: the mark ends at a, before it begins at c", [mark("crescendo", "c", "a")]),
        ("Slur: the mark ends at lower, before it begins at c", [mark("slur", "c", "lower")]),
        ("Slur: the notes a and other stand in two parts", [mark("slur", "a", "other")]),
        ("Slur: the notes low and high belong to one chord", [mark("slur", "low", "high")]),
    ],
)
def test_marks_that_cannot_be_written_are_refused(message: str, marks: list[TeacherMark]) -> None:
    data = full_score(
        part("Violin I", "4/4", "D5/1@a E5@b r@pause & D4/2@lower | [D4@low A4@high]/2 F5@c"),
        part("Violin II", "4/4", "D5/1@other"),
    )
    with pytest.raises(EngravingError, match=rf"^tune\.xml: {message}"):
        pencilled(*marks, data=data)


def test_two_notes_of_a_chord_are_played_on_two_strings() -> None:
    root = pencilled(mark("string", "low", text="IV"), mark("string", "high", text="III"))
    assert [one.text for one in root.iter("string")] == ["4", "3"]


def test_the_document_itself_is_not_changed() -> None:
    document = read_document(TUNE, "x.xml")
    before = canonical(document.tree)
    for one in one_of_each():
        marked_tree(document, [], [one])
    assert canonical(document.tree) == before
