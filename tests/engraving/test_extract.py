"""One part of the score as text for the engraver: what is taken out, mended and gathered, and what must stay."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from engraving.beams import mend_beams
from engraving.document import read_document
from engraving.errors import EngravingError
from engraving.extract import part_for_engraving
from engraving.heading import read_heading
from engraving.restruns import measure_span
from tests.engraving.pages import corpus_document, engraved, every_mark
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import full_score, part, score

WHOLE_REST = '<note><rest measure="yes"/><duration>4</duration></note>'
SOUND = raw_note("D5", "<duration>4</duration>")


def extracted(data: bytes, part_id: str = "P1") -> etree._Element:
    return etree.fromstring(part_for_engraving(read_document(data, "tune.xml"), part_id))


def spans(data: bytes) -> list[tuple[int, int]]:
    """The long rests of a part: first and last measure."""
    measures = extracted(data).findall("part/measure")
    return [measure_span(str(m.get("id"))) for m in measures if m.find(".//multiple-rest") is not None]


def with_notations(*each: str) -> etree._Element:
    marks = "".join(f"<notations>{content}</notations>" for content in each)
    note = extracted(raw(raw_note("D5", QUARTER + marks))).find("part/measure/note")
    assert note is not None
    return note


def test_only_the_part_asked_for_is_in_the_text() -> None:
    data = full_score(part("Violin I", "4/4", "D5/4@a"), part("Viola", "4/4", "C4/4@b"), title="March")
    text = extracted(data, "P2")
    assert [note.get("id") for note in text.iter("note")] == ["b"]
    assert [entry.findtext("part-name") for entry in text.iter("score-part")] == ["Viola"]
    assert text.findtext("work/work-title") == "March"


@pytest.mark.parametrize(("given", "stands"), [("", "tune"), ("March", "March")])
def test_a_title_is_put_over_it_where_the_file_has_none(given: str, stands: str) -> None:
    document = read_document(score("Viola", "4/4", "C4/4", title=given), "tune.xml")
    made = etree.fromstring(part_for_engraving(document, "P1", title="tune"))
    assert read_heading(made).title == stands
    assert read_heading(made).part == "Viola"
    assert not read_heading(etree.fromstring(part_for_engraving(document, "P1"))).subtitle


def test_an_unknown_part_is_named_with_those_there_are() -> None:
    document = read_document(score("Viola", "4/4", "C4/4"), "tune.xml")
    with pytest.raises(EngravingError, match=r"^tune\.xml: no part with the id 'P9'; there is P1 \(Viola\)$"):
        part_for_engraving(document, "P9")


def test_the_document_is_left_as_it_was() -> None:
    document = read_document(every_mark(), "tune.xml")
    before = etree.tostring(document.tree)
    part_for_engraving(document, "P1")
    assert etree.tostring(document.tree) == before


def test_digit_marks_go_and_bowings_stay() -> None:
    note = with_notations("<technical><fingering>3</fingering><up-bow/><string>2</string><open-string/></technical>")
    assert [mark.tag for mark in note.iterfind("notations/technical/*")] == ["up-bow"]


def test_a_holder_emptied_of_its_digits_goes_too() -> None:
    assert with_notations("<technical><fingering>3</fingering></technical>").find("notations") is None


def test_later_notations_move_into_the_first() -> None:
    note = with_notations('<slur type="start"/>', "<fermata/>", "<technical><down-bow/></technical>")
    assert [[mark.tag for mark in each] for each in note.iter("notations")] == [["slur", "fermata", "technical"]]


def test_hidden_notations_take_nothing_visible_with_them() -> None:
    marks = '<notations print-object="no"><fermata/></notations><notations><slur type="start"/></notations>'
    note = extracted(raw(raw_note("D5", QUARTER + marks))).find("part/measure/note")
    assert note is not None
    assert [[mark.tag for mark in each] for each in note.iter("notations")] == [["slur"]]


def test_a_tuning_does_not_turn_the_staff_into_a_tablature() -> None:
    tuning = "<tuning-step>G</tuning-step><tuning-octave>3</tuning-octave>"
    staff = f'<staff-details><staff-tuning line="1">{tuning}</staff-tuning></staff-details>'
    text = extracted(raw(raw_note("D5"), attributes=f"<divisions>1</divisions>{staff}"))
    assert text.find(".//staff-tuning") is None
    (page,) = engraved(raw(raw_note("D5", attributes=' id="d"'), attributes=f"<divisions>1</divisions>{staff}"))
    assert "d" in page.map.notes


def test_two_empty_measures_are_gathered_and_one_is_not() -> None:
    assert spans(raw(SOUND, WHOLE_REST, SOUND, WHOLE_REST, WHOLE_REST, WHOLE_REST)) == [(3, 5)]


@pytest.mark.parametrize(
    "shown",
    [
        "<direction><direction-type><words>solo</words></direction-type></direction>" + WHOLE_REST,
        WHOLE_REST + '<barline location="right"><repeat direction="backward"/></barline>',
        WHOLE_REST + '<barline location="right"><bar-style>light-light</bar-style></barline>',
        WHOLE_REST.replace("</note>", "<notations><fermata/></notations></note>"),
        "<attributes><key><fifths>3</fifths></key></attributes>" + WHOLE_REST,
        WHOLE_REST + "<attributes><clef><sign>C</sign><line>4</line></clef></attributes>",
        SOUND,
    ],
    ids=["words", "repeat", "double bar", "fermata", "new key", "new clef at the end", "a note"],
)
def test_a_measure_with_something_to_see_ends_a_run_of_rests(shown: str) -> None:
    runs = spans(raw(WHOLE_REST, WHOLE_REST, shown, SOUND))
    assert runs == [(0, 1)]


def test_a_new_key_may_stand_before_a_long_rest() -> None:
    new_key = "<attributes><key><fifths>3</fifths></key></attributes>"
    assert spans(raw(SOUND, new_key + WHOLE_REST, WHOLE_REST)) == [(1, 2)]


def test_the_files_own_count_of_rests_is_not_believed() -> None:
    wrong = "<attributes><measure-style><multiple-rest>4</multiple-rest></measure-style></attributes>"
    text = extracted(raw(SOUND, wrong + WHOLE_REST, WHOLE_REST, SOUND))
    assert [count.text for count in text.iter("multiple-rest")] == ["2"]
    assert extracted(raw(SOUND, wrong + WHOLE_REST, SOUND)).find(".//multiple-rest") is None


def test_a_grace_note_gets_the_value_its_file_leaves_out() -> None:
    notes = extracted(raw(raw_note("D5", "<voice>1</voice>", "<grace/>") + SOUND)).findall("part/measure/note")
    assert [note.findtext("type") for note in notes] == ["eighth", "whole"]
    assert [child.tag for child in notes[0]] == ["grace", "pitch", "voice", "type"]


def _note(letter: str) -> str:
    beam = {"b": "begin", "c": "continue", "e": "end"}.get(letter)
    return f"<note>{f'<beam>{beam}</beam>' if beam else ''}</note>"


def beamed(values: str) -> list[str]:
    """The primary beams of a part of eighths, one letter each: b, c, e, or - for no beam; after mending."""
    measures = ["".join(map(_note, measure)) for measure in values.split("|")]
    tree = etree.fromstring(raw(*measures)).find("part")
    assert tree is not None
    mend_beams(tree)
    return [(note.findtext("beam") or "-")[0] for note in tree.iter("note")]


@pytest.mark.parametrize(
    ("broken", "mended"),
    [
        ("bccbcc", "bcebce"),
        ("bc-be", "be-be"),
        ("eee", "---"),
        ("bcc|-", "bce-"),
        ("cce", "bce"),
        ("b-be", "--be"),
    ],
)
def test_broken_beams_end_where_the_next_begins_or_no_beam_is(broken: str, mended: str) -> None:
    assert "".join(beamed(broken)) == mended


def test_the_beams_of_a_part_are_mended_on_their_way_to_the_engraver() -> None:
    unclosed = [raw_note("D5", f"{QUARTER}<beam>{beam}</beam>") for beam in ("begin", "continue", "begin", "end")]
    text = extracted(raw("".join(unclosed)))
    assert [beam.text for beam in text.iter("beam")] == ["begin", "end", "begin", "end"]


GROUPS = st.lists(st.sampled_from(["-", "be", "bce", "bcce", "b|e", "bc|ce"]), min_size=1).map("".join)


@given(GROUPS)
def test_well_formed_beams_stay_as_they_are(values: str) -> None:
    assert "".join(beamed(values)) == values.replace("|", "")


@given(st.text("bce-|", min_size=1, max_size=20))
def test_mended_beams_are_always_well_formed(values: str) -> None:
    inside = False
    for value in beamed(values):
        assert inside == (value in "ce")
        inside = value in "bc"
    assert not inside


def test_a_utf_16_score_is_engraved_like_any_other() -> None:
    """The corpus file is UTF-16, an encoding the engraver does not read by itself."""
    document = corpus_document("beethoven/opus74")
    assert document.source[:2] in (b"\xff\xfe", b"\xfe\xff")
    text = part_for_engraving(document, document.parts[3].id)
    assert etree.fromstring(text).find("part/measure/note") is not None
