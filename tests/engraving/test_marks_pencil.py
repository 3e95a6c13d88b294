"""The teacher's marks in the file: each in its standard element, where it belongs, once, and undone without a trace."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.errors import EngravingError
from engraving.marks.finger import Mark
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.marks.writing import marked_bytes, marked_tree
from tests.engraving.comparing import canonical
from tests.engraving.pencilled import COLOUR, without_colour
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.schema import musicxml_schema, schema_errors
from tests.scores import full_score, part, score

TUNE = score("Violin", "4/4", "D5/1@a E5@b F#5@c G5@d | *C5@grace [D4@low A4@high]/2 B4@e | A5/4@up & D4/2@v D4@w")
TEXTS = {"dynamic": "mf", "text": "listen", "margin-text": "theme", "position": "3rd pos.", "string": "III",
         "held-position": "3rd pos."}  # fmt: skip


def mark(kind: str, first: str, last: str = "", text: str = "", dx: float = 0.0, dy: float = 0.0) -> TeacherMark:
    return TeacherMark(kind, first, last, text or TEXTS.get(kind, ""), dx, dy)


def one_of_each() -> list[TeacherMark]:
    """A mark of every kind, alone."""
    return [mark(name, "a", "d" if kind.scope == "range" else "") for name, kind in MARK_KINDS.items()]


def pencilled(*marks: TeacherMark, data: bytes = TUNE, colour: str | None = None) -> etree._Element:
    return marked_tree(read_document(data, "tune.xml"), [], marks, colour=colour).getroot()


def texts(elements: list[etree._Element]) -> list[str]:
    return [etree.tostring(element, with_tail=False).decode() for element in elements]


def technical(content: str) -> str:
    return f"<technical>{content}</technical>"


def articulations(content: str) -> str:
    return f"<articulations>{content}</articulations>"


def notations(root: etree._Element, note_id: str) -> str:
    """What stands in the notations of a note, as text."""
    return "".join(text for found in root.xpath(f"//note[@id='{note_id}']/notations") for text in texts(list(found)))


def measure(root: etree._Element, number: int) -> list[str]:
    """The notes of a measure by their ids, and the signs of its directions, in order."""
    row = []
    for child in root.iterfind(f"part/measure[{number}]/*"):
        if child.tag == "note":
            row.append(str(child.get("id")))
        elif child.tag == "direction":
            signs = child.findall("direction-type/*")
            row.append(" ".join(" ".join((str(sign.tag), sign.get("type", ""))).strip() for sign in signs))
        elif child.tag == "backup":
            row.append("backup")
    return row


# Each in its element


@pytest.mark.parametrize(
    ("kind", "expected"),
    [
        ("down-bow", technical('<down-bow placement="above"/>')),
        ("up-bow", technical('<up-bow placement="above"/>')),
        ("retake", technical('<other-technical placement="above">retake</other-technical>')),
        ("tenuto", articulations("<tenuto/>")),
        ("accent", articulations("<accent/>")),
        ("staccato", articulations("<staccato/>")),
        ("breath", articulations("<breath-mark>comma</breath-mark>")),
        ("high", technical('<arrow placement="above"><arrow-direction>up</arrow-direction></arrow>')),
        ("low", technical('<arrow placement="above"><arrow-direction>down</arrow-direction></arrow>')),
        ("extension", technical('<other-technical placement="above">ext.</other-technical>')),
        ("string", technical('<string placement="above">3</string>')),
        ("circle", '<other-notation type="single" placement="above">circle</other-notation>'),
    ],
)
def test_a_sign_at_a_note_stands_in_its_notations(kind: str, expected: str) -> None:
    last = "a" if MARK_KINDS[kind].scope == "range" else ""
    assert notations(pencilled(mark(kind, "a", last)), "a") == expected


@pytest.mark.parametrize(
    ("kind", "placement", "sign"),
    [
        ("dynamic", "below", "<dynamics><mf/></dynamics>"),
        ("text", "above", "<words>listen</words>"),
        ("margin-text", "above", '<words justify="right" halign="right">theme</words>'),
        ("position", "above", "<words>3rd pos.</words>"),
    ],
)
def test_a_direction_stands_right_before_its_note(kind: str, placement: str, sign: str) -> None:
    root = pencilled(mark(kind, "c"))
    directions = root.findall("part/measure/direction")
    assert texts(directions) == [
        f'<direction placement="{placement}"><direction-type>{sign}</direction-type><voice>1</voice></direction>'
    ]
    following = directions[0].getnext()
    assert following is not None
    assert following.get("id") == "c"


def test_a_dynamic_that_the_standard_does_not_name_is_written_in_words() -> None:
    root = pencilled(mark("dynamic", "a", text="più f"))
    assert [one.text for one in root.iter("other-dynamics")] == ["più f"]


@pytest.mark.parametrize(
    ("kind", "start", "stop"),
    [
        ("slur", '<slur type="start" number="1"/>', '<slur type="stop" number="1"/>'),
        ("dashed-slur", '<slur type="start" line-type="dashed" number="1"/>', '<slur type="stop" number="1"/>'),
        (
            "circle",
            '<other-notation type="start" number="1">circle</other-notation>',
            '<other-notation type="stop" number="1">circle</other-notation>',
        ),
    ],
)
def test_a_line_of_notes_stands_at_both_ends(kind: str, start: str, stop: str) -> None:
    root = pencilled(mark(kind, "a", "c"))
    assert [notations(root, note) for note in "abcd"] == [start, "", stop, ""]


@pytest.mark.parametrize(
    ("kind", "start", "stop"),
    [
        ("crescendo", ['<wedge type="crescendo" number="1"/>'], '<wedge type="stop" number="1"/>'),
        ("diminuendo", ['<wedge type="diminuendo" number="1"/>'], '<wedge type="stop" number="1"/>'),
        (
            "bracket",
            ['<bracket type="start" line-end="down" number="1"/>'],
            '<bracket type="stop" line-end="down" number="1"/>',
        ),
        (
            "held-finger",
            ['<bracket type="start" line-end="none" number="1"/>'],
            '<bracket type="stop" line-end="none" number="1"/>',
        ),
        (
            "held-position",
            ["<words>3rd pos.</words>", '<dashes type="start" number="1"/>'],
            '<dashes type="stop" number="1"/>',
        ),
    ],
)
def test_a_line_of_directions_goes_from_before_its_first_note_to_behind_its_last(
    kind: str, start: list[str], stop: str
) -> None:
    root = pencilled(mark(kind, "b", "c"))
    row = measure(root, 1)
    assert (row[0], row[2:4], row[5:]) == ("a", ["b", "c"], ["d"])
    first, last = root.findall("part/measure/direction")
    assert (texts(first.findall("direction-type/*")), texts(last.findall("direction-type/*"))) == (start, [stop])
    # MusicXML 4.0 lets words and dashes not stand in one direction-type.
    assert all(len(holder) == 1 for holder in root.iter("direction-type"))


def test_a_new_direction_is_indented_like_its_neighbours() -> None:
    etree.indent(tree := etree.ElementTree(etree.fromstring(TUNE)))
    document = read_document(etree.tostring(tree), "x.xml")
    lines = marked_bytes(document, [], [mark("text", "b")]).decode().splitlines()
    at = lines.index('      <direction placement="above">')
    assert lines[at : at + 7] == [
        '      <direction placement="above">',
        "        <direction-type>",
        "          <words>listen</words>",
        "        </direction-type>",
        "        <voice>1</voice>",
        "      </direction>",
        '      <note id="b">',
    ]


def test_a_sign_is_indented_in_the_notations_that_are_there() -> None:
    etree.indent(tree := etree.ElementTree(etree.fromstring(score("Violin", "4/4", "(D5/1@a E5@b%down)"))))
    document = read_document(etree.tostring(tree), "x.xml")
    written = marked_bytes(document, [], [mark("accent", "a"), mark("high", "b")]).decode()
    for lines in (
        ["          <articulations>", "            <accent/>", "          </articulations>", "        </notations>"],
        [
            '            <arrow placement="above">',
            "              <arrow-direction>up</arrow-direction>",
            "            </arrow>",
            "          </technical>",
        ],
    ):
        assert "\n".join(lines) in written


def test_a_hooked_bow_is_a_slur_and_dots_on_its_notes() -> None:
    data = score("Violin", "4/4", "D5/1@a E5@b *F5@g [D4@c A4@h] [D4@d A4@i]")
    root = pencilled(mark("hooked-bow", "a", "d"), data=data)
    dotted = [note.get("id") for note in root.iter("note") if note.find("notations/articulations/staccato") is not None]
    assert dotted == ["a", "b", "c", "d"]
    assert [sign.get("type") for sign in root.iter("slur")] == ["start", "stop"]


def test_a_note_held_over_in_a_hooked_bow_takes_no_second_dot() -> None:
    root = pencilled(mark("hooked-bow", "a", "c"), data=score("Violin", "4/4", "D5/1@a E5~@b E5@c"))
    assert [note.get("id") for note in root.iter("note") if note.find(".//staccato") is not None] == ["a", "b"]


# An accidental as a reminder


@pytest.mark.parametrize(
    ("pitch", "name"),
    [("D5", "natural"), ("F#5", "sharp"), ("Bb4", "flat"), ("F##5", "double-sharp"), ("Ebb4", "flat-flat"),
     ("C+0.5,5", "quarter-sharp"), ("C-1.5,5", "three-quarters-flat")],
)  # fmt: skip
def test_a_courtesy_accidental_stands_in_brackets_after_the_note_value(pitch: str, name: str) -> None:
    root = pencilled(mark("courtesy", "x"), data=score("Violin", "4/4", f"({pitch}/1.5@x E5)"))
    note = next(root.iter("note"))
    assert texts(note.findall("accidental")) == [f'<accidental cautionary="yes" parentheses="yes">{name}</accidental>']
    assert [child.tag for child in note][-4:] == ["type", "dot", "accidental", "notations"]


def test_a_printed_accidental_reminds_already() -> None:
    data = score("Violin", "4/4", "F#5/1@x%=#")
    assert canonical(pencilled(mark("courtesy", "x"), data=data).getroottree()) == canonical(
        etree.fromstring(data).getroottree()
    )


def test_a_note_without_a_pitch_has_no_accidental_to_remind_of() -> None:
    data = raw("<note><unpitched/><duration>1</duration></note>")
    with pytest.raises(EngravingError, match=r"^tune\.xml: the note note-1 has no accidental"):
        pencilled(mark("courtesy", "note-1"), data=data)


# Chords, grace notes, voices, staves


@pytest.mark.parametrize("kind", ["up-bow", "tenuto", "breath"])
def test_what_holds_for_a_chord_stands_at_its_first_note(kind: str) -> None:
    root = pencilled(mark(kind, "high"))
    assert (notations(root, "low") != "", notations(root, "high")) == (True, "")


@pytest.mark.parametrize("kind", ["string", "high", "extension"])
def test_what_holds_for_one_finger_stands_at_its_own_note_of_the_chord(kind: str) -> None:
    root = pencilled(mark(kind, "high"))
    assert (notations(root, "low"), notations(root, "high") != "") == ("", True)


def test_directions_go_round_a_whole_chord() -> None:
    root = pencilled(mark("bracket", "high", "high"), mark("dynamic", "high"))
    assert measure(root, 2) == ["grace", "dynamics", "bracket start", "low", "high", "bracket stop", "e"]


def test_grace_notes_take_marks_of_their_own() -> None:
    root = pencilled(mark("slur", "grace", "low"), mark("text", "grace"))
    assert measure(root, 2)[:3] == ["words", "grace", "low"]
    assert notations(root, "grace") == '<slur type="start" number="1"/>'


def test_a_direction_names_the_voice_and_the_staff_of_its_note() -> None:
    root = pencilled(mark("crescendo", "v", "w"))
    assert measure(root, 3) == ["up", "backup", "wedge crescendo", "v", "w", "wedge stop"]
    assert [one.findtext("voice") for one in root.iter("direction")] == ["2", "2"]
    data = raw(raw_note("D5", f"{QUARTER}<voice>2</voice><staff>2</staff>") + raw_note("E5"))
    first, second = pencilled(mark("text", "note-1"), mark("text", "note-2"), data=data).iter("direction")
    assert texts(list(first))[1:] == ["<voice>2</voice>", "<staff>2</staff>"]
    assert texts(list(second))[1:] == []


def test_a_hooked_bow_dots_the_notes_of_its_own_voice_only() -> None:
    data = score("Violin", "2/4", "A5/2 & D4/1 E4@v | A5/2 & F4/1@w G4")
    root = pencilled(mark("hooked-bow", "v", "w"), data=data)
    assert [note.get("id") for note in root.iter("note") if note.find(".//staccato") is not None] == ["v", "w"]


# Hairpins that follow each other


def test_a_hairpin_ends_where_the_next_begins() -> None:
    root = pencilled(mark("crescendo", "a", "c"), mark("diminuendo", "c", "d"))
    assert measure(root, 1) == ["wedge crescendo", "a", "b", "wedge stop", "wedge diminuendo", "c", "d", "wedge stop"]


def test_a_hairpin_ends_at_the_dynamic_it_leads_to() -> None:
    root = pencilled(mark("crescendo", "a", "c"), mark("dynamic", "c", text="f"))
    assert measure(root, 1) == ["wedge crescendo", "a", "b", "dynamics", "wedge stop", "c", "d"]


def test_a_hairpin_under_one_note_lasts_as_long_as_the_note() -> None:
    root = pencilled(mark("dynamic", "c", text="p"), mark("crescendo", "c", "c"))
    assert measure(root, 1) == ["a", "b", "dynamics", "wedge crescendo", "c", "wedge stop", "d"]


def test_a_hairpin_from_a_grace_note_to_its_main_note_does_not_end_at_its_own_beginning() -> None:
    document = read_document(TUNE, "tune.xml")
    swell = mark("crescendo", "grace", "low")
    once = marked_bytes(document, [], [swell])
    assert measure(etree.fromstring(once), 2) == ["wedge crescendo", "grace", "low", "high", "wedge stop", "e"]
    assert marked_bytes(read_document(once, "tune.xml"), [], [swell]) == once


# Numbers


def numbers(root: etree._Element, tag: str) -> list[tuple[str, str]]:
    return [(sign.get("type", ""), sign.get("number", "1")) for sign in root.iter(tag)]


def test_a_slur_takes_a_number_that_no_slur_beside_it_has() -> None:
    data = score("Violin", "4/4", "D5/1@a (E5@b (F5@c G5@d | A5@e) B5) C6@f (D6 | E6@g)")
    root = pencilled(mark("slur", "a", "c"), mark("dashed-slur", "c", "g"), mark("slur", "f", "g"), data=data)
    assert [slur.get("number") for slur in root.xpath("//note[@id='a']//slur")] == ["3"]
    assert [slur.get("number") for slur in root.xpath("//note[@id='c']//slur")] == ["2", "3", "4"]
    assert [slur.get("number") for slur in root.xpath("//note[@id='f']//slur")] == ["2"]


def test_a_number_is_free_again_behind_the_line_that_had_it() -> None:
    root = pencilled(mark("crescendo", "a", "b"), mark("diminuendo", "c", "d"), mark("crescendo", "low", "e"))
    assert {number for _, number in numbers(root, "wedge")} == {"1"}


def test_lines_over_each_other_have_numbers_of_their_own() -> None:
    root = pencilled(mark("bracket", "a", "d"), mark("held-position", "b", "c"), mark("held-finger", "b", "e"))
    assert numbers(root, "dashes") == [("start", "2"), ("stop", "2")]
    assert sorted(numbers(root, "bracket")) == [("start", "1"), ("start", "3"), ("stop", "1"), ("stop", "3")]


def test_a_slur_that_the_file_never_ends_keeps_its_number() -> None:
    begun = f'{QUARTER}<notations><slur type="start"/></notations>'
    data = raw(raw_note("D5", begun), raw_note("E5", attributes=' id="a"') + raw_note("F5", attributes=' id="b"'))
    assert numbers(pencilled(mark("slur", "a", "b"), data=data), "slur")[1:] == [("start", "2"), ("stop", "2")]


@pytest.mark.parametrize(("first", "last", "number"), [("c", "d", "2"), ("e", "f", "1")])
def test_a_stray_end_of_a_slur_takes_its_number_in_its_measure_only(first: str, last: str, number: str) -> None:
    ended = f'{QUARTER}<notations><slur type="stop"/></notations>'
    notes = ["".join(raw_note("E5", attributes=f' id="{name}"') for name in names) for names in ("cd", "ef")]
    data = raw(raw_note("D5", ended) + notes[0], notes[1])
    assert numbers(pencilled(mark("slur", first, last), data=data), "slur")[1:] == [("start", number), ("stop", number)]


def test_a_slur_after_a_stray_end_keeps_its_number_to_its_own_end() -> None:
    def slurred(kind: str) -> str:
        return f'{QUARTER}<notations><slur type="{kind}"/></notations>'

    inside = raw_note("E5", attributes=' id="a"') + raw_note("F5", attributes=' id="b"')
    data = raw(
        raw_note("D5", slurred("stop")), raw_note("D5", slurred("start")) + inside + raw_note("G5", slurred("stop"))
    )
    assert numbers(pencilled(mark("slur", "a", "b"), data=data), "slur")[2:4] == [("start", "2"), ("stop", "2")]


def test_the_end_of_a_slur_may_be_written_before_its_beginning() -> None:
    def note(name: str, voice: int, slur: str = "") -> str:
        slurred = f'<notations><slur type="{slur}"/></notations>' if slur else ""
        return raw_note(name, f"{QUARTER}<voice>{voice}</voice>{slurred}")

    over = note("D5", 1) + note("E5", 1, "stop") + "<backup><duration>2</duration></backup>" + note("D4", 2, "start")
    root = pencilled(mark("slur", "note-1", "note-2"), mark("slur", "note-4", "note-5"),
                     data=raw(over, note("E4", 1) + note("F4", 1)))  # fmt: skip
    assert numbers(root, "slur") == [
        ("start", "2"),
        ("stop", "1"),
        ("stop", "2"),
        ("start", "1"),
        ("start", "1"),
        ("stop", "1"),
    ]


def test_more_lines_than_there_are_numbers_are_refused() -> None:
    data = score("Violin", "4/4", " ".join(f"D5/0.25@n{place}" for place in range(36)))
    lines = [mark("slur", f"n{place}", f"n{35 - place}") for place in range(17)]
    with pytest.raises(EngravingError, match=r"^tune\.xml: more than 16 lines of one kind"):
        pencilled(*lines, data=data)
    assert len(numbers(pencilled(*lines[:16], data=data), "slur")) == 32


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
