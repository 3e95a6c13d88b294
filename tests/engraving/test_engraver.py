"""Engraved pages: every note once and at its pitch, measures in order, headings, excerpts, plain SVG, plain values."""

from __future__ import annotations

import pickle
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

import pytest
from lxml import etree

from analysis.music import LETTERS
from engraving.document import read_document
from engraving.drawing import Lettering, Typeface
from engraving.engraver import EngravedPage, engrave, engrave_each
from engraving.errors import EngravingError
from engraving.extract import part_for_engraving
from engraving.layout import A4, LETTER, Layout
from engraving.metrics import MUSIC_FAMILY, TEXT_FAMILY
from engraving.svg import read_drawing
from tests.amounts import sampled
from tests.engraving.corpus import quartet_names
from tests.engraving.pages import METRICS, corpus_document, corpus_pages, engraved, every_mark
from tests.engraving.rawxml import raw, raw_note
from tests.scores import score

K458 = "mozart/k458/movement1"
CLEF_LETTERS = {"G": 7 * 4 + 4, "F": 7 * 3 + 3, "C": 7 * 4}  # letter steps from C0 of the note on a clef's line
SVG = "{http://www.w3.org/2000/svg}"
WHOLE_REST = '<note><rest measure="yes"/><duration>4</duration></note>'
ALTO = "<attributes><clef><sign>C</sign><line>3</line></clef></attributes>"


def codes_of(page: EngravedPage) -> list[str]:
    """The signs on a page, each as ``#`` and its code."""
    uses = etree.fromstring(page.svg).iter(f"{SVG}use")
    return [use.get("{http://www.w3.org/1999/xlink}href", "") for use in uses]


def staff_positions(part: etree._Element) -> Iterator[tuple[str, float]]:
    """Of every note by the file: its id and how many staff spaces it lies above the lowest line, by its clef."""
    line_letter, line = CLEF_LETTERS["G"], 2
    shift = 0
    for element in part.iter("note", "clef", "octave-shift"):
        if element.tag == "clef":
            line = int(element.findtext("line", "2"))
            line_letter = CLEF_LETTERS[element.findtext("sign", "G")]
            line_letter += 7 * int(element.findtext("clef-octave-change", "0"))
        elif element.tag == "octave-shift":
            shift = {"up": 7, "down": -7}.get(element.get("type", ""), 0)
        elif (pitch := element.find("pitch")) is not None and element.get("print-object") != "no":
            letter = 7 * int(pitch.findtext("octave", "")) + LETTERS.index(pitch.findtext("step", ""))
            yield str(element.get("id")), (letter + shift - line_letter) / 2 + line - 1


def check_notes(text: str | bytes, pages: tuple[EngravedPage, ...]) -> None:
    """Each note of the text lies on one page, its head within a tenth of a space of where its pitch belongs."""
    part = etree.fromstring(text).find("part")
    assert part is not None
    wanted = dict(staff_positions(part))
    seen = Counter(note_id for page in pages for note_id in page.map.notes)
    assert seen == Counter(wanted.keys())
    for page in pages:
        for note_id, place in page.map.notes.items():
            above = (place.staff_bottom - place.head.centre[1]) / page.map.staff_space
            assert above == pytest.approx(wanted[note_id], abs=0.1), note_id


@pytest.mark.parametrize(
    ("work", "part"),
    [("haydn/opus1no1/movement1", n) for n in range(4)] + [("mozart/k155/movement3", 0), ("mozart/k80/movement3", 3)],
)
def test_every_note_lies_once_on_the_pages_at_its_pitch(work: str, part: int) -> None:
    document = corpus_document(work)
    check_notes(part_for_engraving(document, document.parts[part].id), corpus_pages(work, part))


@pytest.mark.sweep
@pytest.mark.parametrize(("turn", "name"), sampled(list(enumerate(quartet_names())), first=2))
def test_every_note_of_a_part_of_every_quartet_lies_once_on_its_pages(turn: int, name: str) -> None:
    document = corpus_document(name.removesuffix(".mxl"))
    text = part_for_engraving(document, document.parts[turn % len(document.parts)].id)
    part = etree.fromstring(text).find("part")
    assert part is not None
    seen = Counter(note_id for page in engrave(text, A4) for note_id in page.map.notes)
    assert seen == Counter(note_id for note_id, _ in staff_positions(part))


def test_a_double_bass_part_stands_as_it_is_written() -> None:
    data = score("Double bass", "4/4", "E2@e A2@a D3@d G3@g | C3/4@c")
    check_notes(data, engraved(data))


def test_a_chord_and_a_lower_voice_are_told_apart() -> None:
    (page,) = engraved(score("Violin", "4/4", "[G3@low D4@high]/4 | E5/4@upper & A4/4@lower"))
    notes = page.map.notes
    assert notes["low"].chord == notes["high"].chord is not None
    assert notes["upper"].chord is None
    assert {name for name, place in notes.items() if place.lower_voice} == {"lower"}


def test_stems_point_as_drawn() -> None:
    (page,) = engraved(score("Violin", "4/4", "G4/1@up G5/1@down [G4@c1 C5@c2]/1 r | C5/4@whole"))
    stems = {name: place.stem for name, place in page.map.notes.items()}
    assert stems == {"up": "up", "down": "down", "c1": "up", "c2": "up", "whole": None}


def test_a_column_holds_head_stem_and_beam_and_no_more() -> None:
    eighth = '<duration>1</duration><type>eighth</type><beam number="1">{}</beam>'
    first = raw_note("G4", eighth.format("begin"), attributes=' id="a"')
    second = raw_note("G4", eighth.format("end"), attributes=' id="b"')
    (page,) = engraved(raw(first + second, attributes="<divisions>2</divisions>"), Layout.excerpt(80))
    a, b = page.map.notes["a"], page.map.notes["b"]
    for place in (a, b):
        height = (place.head.y1 - place.column.y0) / page.map.staff_space
        assert 3 < height < 5  # a head and a stem of about three and a half spaces, the beam at its end
        assert place.column.y1 == pytest.approx(place.head.y1, abs=0.1)
        over = page.map.ink[(page.map.ink[:, 0] < place.column.x1) & (page.map.ink[:, 2] > place.column.x0)]
        assert place.column.y0 == pytest.approx(over[:, 1].min())
    assert a.column.x1 < b.column.x0


def test_measures_follow_one_another_over_all_pages() -> None:
    measures = [measure for page in corpus_pages(K458) for measure in page.map.measures]
    assert measures[0].first == 0
    assert measures[-1].last == 282  # 283 measures with the pickup
    assert all(after.first == before.last + 1 for before, after in pairwise(measures))
    assert any(measure.last > measure.first for measure in measures)


def test_the_number_printed_before_a_system_is_that_of_its_first_measure() -> None:
    """Measures of this movement are numbered from 0, the pickup; long rests stand before several systems."""
    printed = 0
    for page in corpus_pages(K458):
        numbers = [text.text for text in etree.fromstring(page.svg).iter(f"{SVG}text") if (text.text or "").isdigit()]
        for system in page.map.systems:
            printed += str(system.first) in numbers
    assert printed == sum(len(page.map.systems) for page in corpus_pages(K458)) - 1  # the first system has none


def test_a_note_belongs_to_the_measure_of_the_file() -> None:
    document = corpus_document(K458)
    part = document.tree.getroot().find("part")
    assert part is not None
    measures = [{note.get("id") for note in measure.iter("note")} for measure in part.iter("measure")]
    for page in corpus_pages(K458):
        assert all(note_id in measures[place.measure] for note_id, place in page.map.notes.items())


@pytest.mark.parametrize("layout", [A4, LETTER, Layout(148, 210, staff_mm=5.2, margin_mm=10)], ids=["A4", "US", "A5"])
def test_paper_and_staff_have_the_size_asked_for(layout: Layout) -> None:
    for page in corpus_pages("haydn/opus1no1/movement1", 0, layout):
        assert (page.width_mm, page.height_mm) == (layout.width_mm, layout.height_mm)
        for place in page.map.notes.values():
            assert place.staff_bottom - place.staff_top == pytest.approx(layout.staff_mm, abs=0.1)
        ink = page.map.ink
        assert ink[:, 0].min() >= layout.margin_mm - 4  # measure numbers hang out to the left
        assert ink[:, 2].max() <= layout.width_mm - layout.margin_mm + 0.1
        assert ink[:, 3].max() <= layout.height_mm


def texts(page: EngravedPage) -> list[str]:
    return [str(text.text) for text in etree.fromstring(page.svg).iter(f"{SVG}text")]


def test_the_first_page_carries_title_part_and_composer() -> None:
    composer = b'<identification><creator type="composer">N. N.</creator></identification>'
    head = b"<movement-title>Minuet</movement-title>" + composer
    data = score("Violin II", "4/4", "D5/4", title="Suite").replace(b"<part-list>", head + b"<part-list>")
    (page,) = engraved(data)
    assert texts(page)[:4] == ["Suite", "Minuet", "Violin II", "N. N."]
    assert 0 < page.map.music_top < page.map.systems[0].rect.y0


def test_later_pages_carry_the_part() -> None:
    """Not their number: that stands in the foot of a printed copy."""
    pages = corpus_pages(K458)
    assert [texts(page)[0] for page in pages[1:]] == ["1st Violin"] * 4
    assert not {"2", "3", "4", "5"} & {texts(page)[1] for page in pages[1:]}


def test_a_long_title_is_made_small_enough_for_the_page() -> None:
    (page,) = engraved(score("Violin", "4/4", "D5/4", title="A very long title " * 12))
    assert page.map.ink[:, 2].max() < page.width_mm - A4.margin_mm + 0.5
    assert page.map.ink[:, 0].min() > A4.margin_mm - 4


def test_the_part_name_stands_in_the_heading_only() -> None:
    (page,) = engraved(score("Violin", "4/4", "D5/4"))
    assert texts(page).count("Violin") == 1
    assert page.map.measures[0].rect.x0 == pytest.approx(A4.margin_mm, abs=0.1)


def test_an_excerpt_holds_the_measures_asked_for_with_clef_and_key() -> None:
    document = corpus_document(K458)
    text = part_for_engraving(document, document.parts[0].id)
    (page,) = engrave(text, Layout.excerpt(180), (61, 63))  # after a long rest of measures 55 to 59
    assert [(measure.first, measure.last) for measure in page.map.measures] == [(61, 61), (62, 62), (63, 63)]
    assert page.width_mm == 180
    assert page.height_mm < 50
    part = document.tree.getroot().find("part")
    assert part is not None
    measures = part.findall("measure")[61:64]
    ids = {note.get("id") for measure in measures for note in measure.iter("note") if note.find("pitch") is not None}
    assert set(page.map.notes) == ids
    codes = codes_of(page)
    assert codes[0] == "#E050"  # SMuFL: G clef
    assert codes[1:3] == ["#E260", "#E260"]  # SMuFL: flats


def test_the_first_page_alone_is_the_same_as_among_all() -> None:
    document = corpus_document(K458)
    (page,) = engrave(part_for_engraving(document, document.parts[0].id), A4, most_pages=1)
    assert page.svg == corpus_pages(K458)[0].svg


def test_an_excerpt_keeps_a_long_rest_whole() -> None:
    document = corpus_document(K458)
    text = part_for_engraving(document, document.parts[0].id)
    (page,) = engrave(text, Layout.excerpt(150), (44, 46))
    assert [(measure.first, measure.last) for measure in page.map.measures] == [(43, 45), (46, 46)]


@pytest.mark.parametrize(
    ("music", "clefs"),
    [
        ((WHOLE_REST, WHOLE_REST, WHOLE_REST), ["#E062"]),
        ((WHOLE_REST, ALTO + WHOLE_REST, WHOLE_REST), ["#E062", "#E07B"]),
    ],
)
def test_a_clef_stands_once_before_a_long_rest(music: tuple[str, ...], clefs: list[str]) -> None:
    """SMuFL: E062 is the F clef, E07B the small C clef of a change."""
    bass = "<divisions>1</divisions><clef><sign>F</sign><line>4</line></clef>"
    (page,) = engraved(raw(*music, attributes=bass), Layout.excerpt(150))
    assert page.map.measures[-1].last == len(music) - 1 > page.map.measures[-1].first
    assert [code for code in codes_of(page) if code in ("#E050", "#E062", "#E07A", "#E07B", "#E07C")] == clefs


@pytest.mark.parametrize(("within", "codes"), [("", ["#E07C"]), (ALTO, ["#E07B", "#E07C"])])
def test_a_clef_beside_a_new_time_leaves_the_notes_before_it_alone(within: str, codes: list[str]) -> None:
    """The new measure is the shorter one. SMuFL: E07B and E07C are the small C and F clefs of a change."""
    quarter = "<duration>1</duration><voice>1</voice><type>quarter</type>"
    notes = [raw_note("A3", quarter, attributes=f' id="a{number}"') for number in range(6)]
    time = "<time><beats>{}</beats><beat-type>4</beat-type></time>"
    bass = f"<print/><attributes>{time.format(2)}<clef><sign>F</sign><line>4</line></clef></attributes>"
    opening = f"<divisions>1</divisions>{time.format(4)}<clef><sign>G</sign><line>2</line></clef>"
    data = raw("".join((*notes[:3], within, notes[3])), "".join((bass, *notes[4:])), attributes=opening)
    (page,) = engraved(data, Layout.excerpt(120))
    check_notes(data, (page,))
    assert [code for code in codes_of(page) if code in ("#E07B", "#E07C")] == codes


HIDDEN = ' print-object="no" id="{}"'
EIGHTH = '<duration>1</duration><voice>1</voice><type>eighth</type><beam number="1">{}</beam>{}'


def test_hidden_notes_are_not_printed() -> None:
    """Nor their beams, dots, strokes and ledger lines; MusicXML 4.0: print-object="no" is not to be printed."""
    begin, end = EIGHTH.format("begin", "<accidental>sharp</accidental>"), EIGHTH.format("end", "")
    hidden = [raw_note("C7", inside, attributes=HIDDEN.format(name)) for name, inside in (("a", begin), ("b", end))]
    rests = ['<note print-object="no"><rest/><duration>1</duration><voice>1</voice><type>eighth</type></note>'] * 2
    seen = raw_note("D5", "<duration>2</duration><voice>1</voice><type>quarter</type>", attributes=' id="seen"')
    opening = "<divisions>2</divisions>"
    (page,) = engraved(raw("".join(hidden) + seen, attributes=opening), Layout.excerpt(80))
    (blank,) = engraved(raw("".join(rests) + seen, attributes=opening), Layout.excerpt(80))
    assert page.svg == blank.svg
    assert page.map.notes.keys() == {"seen"}


def test_a_slur_may_begin_at_a_hidden_note() -> None:
    slurred = EIGHTH.format("{0}", '<notations><slur type="{1}"/></notations>')
    hidden = raw_note("D5", slurred.format("begin", "start"), attributes=HIDDEN.format("a"))
    seen = raw_note("D5", slurred.format("end", "stop"), attributes=' id="seen"')
    pages = [engraved(raw(notes, attributes="<divisions>2</divisions>"))[0] for notes in (hidden + seen, seen)]
    assert [page.map.notes.keys() for page in pages] == [{"seen"}, {"seen"}]
    assert len(pages[0].map.ink) > len(pages[1].map.ink), "the slur is drawn"


def test_a_hidden_chord_is_blank_and_a_hidden_note_of_a_chord_leaves_the_others() -> None:
    half = "<duration>2</duration><type>half</type>"
    low, high = raw_note("G4", half, attributes=HIDDEN.format("a")), raw_note("D5", half, "<chord/>", ' id="seen"')
    gone = raw_note("D5", half, "<chord/>", HIDDEN.format("b"))
    (page,) = engraved(raw(low + gone + low.replace('"a"', '"c"') + high), Layout.excerpt(80))
    assert page.map.notes.keys() == {"seen"}


@pytest.mark.parametrize("measures", [(0, 2), (2, 2), (1, 0), (-1, 0)])
def test_measures_the_part_does_not_have_are_refused(measures: tuple[int, int]) -> None:
    with pytest.raises(EngravingError, match=r"^the part has no measures \S+ to \S+; it has 2$"):
        engraved(score("Violin", "4/4", "D5/4 | E5/4"), Layout.excerpt(100), measures)


@pytest.mark.parametrize("text", ["no xml", "", "<score-partwise/>", "<html/>"])
def test_a_text_that_is_no_part_is_refused_in_one_sentence(text: str) -> None:
    with pytest.raises(EngravingError, match=r"^the part cannot be engraved: [^\n]+$"):
        engrave(text, A4)


@pytest.mark.parametrize(
    "sizes",
    [(210, 297, 12, 2), (210, 297, 12, 11), (30, 297, 12, 7), (210, 297, 60, 7), (210, 40, 12, 7), (3000, 297, 12, 7)],
)
def test_paper_without_room_for_music_is_refused(sizes: tuple[float, float, float, float]) -> None:
    with pytest.raises(EngravingError):
        Layout(*sizes)


def test_the_svg_is_flat_and_names_only_our_two_fonts() -> None:
    pages = [*engraved(every_mark()), *corpus_pages("haydn/opus1no1/movement1")]
    for page in pages:
        root = etree.fromstring(page.svg)
        assert {etree.QName(element).localname for element in root.iter()} <= {"svg", "defs", "path", "use", "text"}
        assert [root.get("width"), root.get("height")] == [f"{page.width_mm:g}mm", f"{page.height_mm:g}mm"]
        families = {text.get("font-family") for text in root.iter(f"{SVG}text")}
        assert families <= {TEXT_FAMILY, MUSIC_FAMILY}
        assert all(float(str(text.get("font-size"))) > 100 for text in root.iter(f"{SVG}text"))


def test_texts_are_cut_into_runs_at_their_own_places() -> None:
    """A page as the engraver writes it: spans of no size around spans with one, anchors, a hidden group, a style."""
    drawing = read_drawing(
        f'<svg xmlns="{SVG[1:-1]}"><svg class="definition-scale" viewBox="0 0 2000 1000">'
        '<g class="page-margin" transform="translate(100, 50)"><g class="tempo">'
        '<text x="1000" y="10" text-anchor="end" font-size="0px"><tspan><tspan font-size="40px"> nn</tspan></tspan>'
        "</text>"
        '<text x="1000" y="20" text-anchor="middle" font-size="0px"><tspan font-size="40px">nn</tspan></text>'
        '<text x="1000" y="30" font-size="0px"><tspan font-style="italic" font-size="40px">n</tspan>'
        '<tspan font-weight="normal" font-size="40px">n</tspan></text></g>'
        '<g class="section placeholder"><ellipse cx="1" cy="1" rx="1" ry="1"/></g></g></svg></svg>',
        METRICS,
    )
    runs = [mark for mark in drawing.marks if isinstance(mark, Lettering)]
    bold = METRICS.width("n", Typeface(TEXT_FAMILY, bold=True), 40)
    slanted = METRICS.width("n", Typeface(TEXT_FAMILY, bold=True, italic=True), 40)
    assert len(runs) == len(drawing.marks)
    assert [(run.text, run.y, run.face.bold, run.face.italic) for run in runs] == [
        ("nn", 60, True, False),
        ("nn", 70, True, False),
        ("n", 80, True, True),
        ("n", 80, False, False),
    ]
    assert [run.x for run in runs] == pytest.approx([1100 - 2 * bold, 1100 - bold, 1100, 1100 + slanted])


def test_words_above_the_staff_leave_room_for_a_row_of_digits() -> None:
    words = "<direction-type><words>solo</words></direction-type>"
    note = raw_note("B4", "<duration>4</duration>", attributes=' id="n"')
    (page,) = engraved(raw(f'<direction placement="above">{words}</direction>{note}'))
    (word,) = [t for t in etree.fromstring(page.svg).iter(f"{SVG}text") if t.text == "solo"]
    gap = page.map.notes["n"].staff_top - float(str(word.get("y"))) / 100
    assert gap > 1.9 * page.map.staff_space


def test_what_is_engraved_can_cross_to_another_process() -> None:
    (page,) = engraved(score("Violin", "4/4", "D5@d E5 F#5 G5"))
    twin = pickle.loads(pickle.dumps(page))
    assert twin.svg == page.svg
    assert dict(twin.map.notes) == dict(page.map.notes)
    assert (twin.map.ink == page.map.ink).all()


def test_engraving_loads_neither_qt_nor_music21() -> None:
    program = (
        "import sys, engraving.engraver, engraving.extract\n"
        "print(sorted(m for m in sys.modules if m.split('.')[0] in ('PySide6', 'shiboken6', 'music21')))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_engraving_writes_nothing_on_the_standard_streams(capfd: pytest.CaptureFixture[str]) -> None:
    """The engraver has warnings about this movement, which ends a trill line nowhere."""
    document = corpus_document(K458)
    engrave(part_for_engraving(document, document.parts[0].id), A4)
    assert capfd.readouterr() == ("", "")


def test_a_dashed_slur_is_engraved_and_has_its_ink():
    plain = score("Violin", "4/4", "(D5/1 E5 F#5 G5)", key=2)
    dashed = plain.replace(b'type="start"', b'line-type="dashed" type="start"')
    assert dashed != plain
    document = read_document(dashed, "dashed.musicxml")
    (page,) = engrave(part_for_engraving(document, document.parts[0].id), Layout.excerpt(120))
    assert len(page.map.ink) > 0


def test_passages_engraved_after_one_reading_lie_as_each_by_itself():
    document = corpus_document(K458)
    source = part_for_engraving(document, document.parts[0].id)
    layout = Layout.excerpt(120)
    passages = [(16, 19), (98, 100), (3, 3)]
    for measures, pages in zip(passages, engrave_each(source, layout, passages), strict=True):
        alone = engrave(source, layout, measures)
        assert [page.map.notes for page in pages] == [page.map.notes for page in alone]
        assert [page.map.measures for page in pages] == [page.map.measures for page in alone]
        assert pages[0].map.notes
