"""The teacher's marks in the file: each in its standard element, where it belongs."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.errors import EngravingError
from engraving.marks.teacher import MARK_KINDS
from engraving.marks.writing import marked_bytes
from tests.engraving.comparing import canonical
from tests.engraving.marked import (
    TUNE,
    articulations,
    mark,
    measure,
    notations,
    pencilled,
    technical,
    texts,
)
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import score

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
