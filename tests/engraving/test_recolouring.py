"""The teacher's marks on the engraved page: each is found again in what the engraver drew."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.drawing import Drawing, Glyph, Group
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import Layout
from engraving.marks.tags import colour_of, number_of
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.recolouring import numbers_of_dynamics, recoloured
from engraving.styles import OWN_INK, OWN_MARKS
from tests.scores import score

MUSIC = "!p D5/1@a E5@b F#5@c G5@d | A5/1@e !f B5@f A5/2@g"
ENGRAVED = [kind for kind in MARK_KINDS.values() if kind.engraved]


def page(*marks: TeacherMark, music: str = MUSIC) -> EngravedPage:
    document = read_document(score("Violin", "4/4", music, key=2), "tune.xml")
    (only,) = engrave(part_for_engraving(document, "P1", marks=marks), Layout.excerpt(160))
    return only


@pytest.mark.parametrize("kind", ENGRAVED, ids=[kind.name for kind in ENGRAVED])
def test_every_kind_that_is_engraved_is_found_on_the_page_near_its_note(kind):
    mark = TeacherMark(kind.name, "c", "d" if kind.scope == "range" else "", "mf" if kind.takes_text else "")
    engraved = page(TeacherMark("accent", "a"), mark)
    rects = [rect for number, rect in engraved.map.marks if number == 1]
    assert len(rects) == 1
    space, head = engraved.map.staff_space, engraved.map.notes["c"].head
    assert rects[0].x0 - (6 if kind.name == "breath" else 2) * space < head.x1
    assert rects[0].x1 > head.x0 - 4 * space
    assert engraved.svg.count(OWN_INK.encode()) > 1


def test_a_page_without_marks_of_the_teachers_has_none_of_their_colour():
    assert OWN_INK.encode() not in page().svg
    assert page().map.marks == ()
    assert OWN_MARKS.ink == OWN_INK


@pytest.mark.parametrize("level", ["mf", "p", "sfz", "più f"])
@pytest.mark.parametrize("note", ["b", "c", "f", "g"])
def test_a_dynamic_among_printed_ones_is_told_apart(level, note):
    engraved = page(TeacherMark("dynamic", note, text=level))
    ((number, rect),) = engraved.map.marks
    assert number == 0
    nearest = min(engraved.map.notes, key=lambda one: abs(engraved.map.notes[one].head.x0 - rect.x0))
    assert nearest == note


def test_colours_of_the_file_are_not_taken_for_marks():
    data = score("Violin", "4/4", MUSIC, key=2).replace(b"<note", f'<note color="{colour_of(0)}"'.encode(), 1)
    document = read_document(data, "tune.xml")
    marks = [TeacherMark("accent", "g")]
    (engraved,) = engrave(part_for_engraving(document, "P1", marks=marks), Layout.excerpt(160))
    ((number, rect),) = engraved.map.marks
    assert number == 0
    assert rect.x0 > engraved.map.notes["f"].head.x1


def test_a_measure_whose_dynamics_the_engraver_drew_otherwise_is_left_as_it_is():
    measure, group = Group("measure", "m1-1"), "dynam"
    drawn = [Glyph(Group(group, str(n), measure), "E520", (1, 0, 0, 1, n, 0)) for n in range(2)]
    drawing = Drawing(10, 10, tuple(drawn), {})
    told = recoloured(drawing, {"m1-1": [None, 4]})
    assert [mark.group.number for mark in told.marks] == [None, 4]
    left = recoloured(drawing, {"m1-1": [None, 4, None]})
    assert [mark.group.number for mark in left.marks] == [None, None]


def test_only_measures_with_dynamics_of_the_teachers_count():
    xml = """<score-partwise><part><measure id="a"><direction><direction-type><dynamics/></direction-type></direction>
    </measure><measure id="b"><direction><direction-type><dynamics color="#F10003"/></direction-type></direction>
    <direction><direction-type><dynamics/></direction-type></direction></measure></part></score-partwise>"""
    assert numbers_of_dynamics(etree.fromstring(xml)) == {"b": [3, None]}


@pytest.mark.parametrize("number", [0, 1, 255, 65535])
def test_a_colour_says_which_mark_it_is(number):
    assert number_of(colour_of(number)) == number
    assert number_of(colour_of(number).lower()) == number


@pytest.mark.parametrize("colour", [None, "black", "#7a2e1d", "#F1", "#F1000G", "#F100001"])
def test_no_other_colour_does(colour):
    assert number_of(colour) is None
