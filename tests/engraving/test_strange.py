"""Strange but legal music: it opens, is engraved, is fingered, and comes out of the export as it went in."""

from __future__ import annotations

import pytest
from lxml import etree

from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from app.job.teacher.work import first_work
from engraving.document import Document, read_document
from engraving.engraver import engrave
from engraving.errors import ScoreFileError
from engraving.extract import part_for_engraving
from engraving.layout import A4
from engraving.marks.writing import marked_bytes
from engraving.reading import read_score
from tests.engraving.comparing import canonical
from tests.engraving.strange import STRANGE, Strange

OPENED = [one for one in STRANGE if not one.refused]
REFUSED = [one for one in STRANGE if one.refused]


def document_of(one: Strange) -> Document:
    return read_document(one.data, "strange.xml")


@pytest.mark.parametrize("one", OPENED, ids=lambda one: one.name)
def test_it_opens_with_its_notes(one: Strange) -> None:
    document = document_of(one)
    # Names of quarter tones are several words.
    assert " ".join(note.pitch.name for note in read_score(document).parts[0]).split() == one.notes.split()
    assert [one.says in remark for remark in document.remarks] == ([True] if one.says else [])


@pytest.mark.parametrize("one", OPENED, ids=lambda one: one.name)
def test_it_is_engraved(one: Strange) -> None:
    document = document_of(one)
    text = part_for_engraving(document, document.parts[0].id)
    assert not list(etree.fromstring(text).iter("staff-tuning"))  # the engraver would make tablature of it
    assert engrave(text, A4)


@pytest.mark.parametrize("one", OPENED, ids=lambda one: one.name)
def test_every_note_is_fingered_or_said_to_be_out_of_reach(one: Strange) -> None:
    score = read_score(document_of(one))
    work = first_work(score).parts[score.parts[0].id]
    if work.instrument is not None:
        plan = make_plan(score.parts[0], work.instrument, preset("two-homes"), {})
        fingered = {note_id for note_id, _ in plan.choices()}
        assert {note.id for note in score.parts[0]} == fingered | plan.problems.keys()


@pytest.mark.parametrize("one", OPENED, ids=lambda one: one.name)
def test_nothing_of_it_is_lost_in_the_export(one: Strange) -> None:
    document = document_of(one)
    again = marked_bytes(document, [])
    assert canonical(etree.fromstring(again).getroottree()) == canonical(
        etree.fromstring(document.source).getroottree()
    )


@pytest.mark.parametrize("one", REFUSED, ids=lambda one: one.name)
def test_it_is_refused_in_a_sentence_that_says_where(one: Strange) -> None:
    with pytest.raises(ScoreFileError) as raised:
        read_score(document_of(one))
    assert str(raised.value).startswith("strange.xml")
    assert one.says in str(raised.value)
    assert len(str(raised.value)) < 200
