"""An afternoon's work in one go: fifteen parts prepared, marked, printed, saved, and opened again."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtWidgets import QApplication

from analysis.fingering.locks import Lock
from analysis.instruments import INSTRUMENTS, Instrument
from analysis.music import Part
from app.job.files.opening import open_any
from app.window.main_window import MainWindow
from tests.app.person import Person
from tests.engraving.corpus import corpus_folder
from tests.waiting import wait_until

WORK = "bach/bwv190.7-inst.mxl"
PARTS = 15


@pytest.fixture
def person(qapp: QApplication, tmp_path: Path) -> Iterator[Person]:
    window = MainWindow(tmp_path / "recovery")
    window.show()
    one = Person(window, tmp_path / "written")
    one.folder.mkdir()
    with one.sitting():
        yield one
        one.close_others()
        window.close()
    window.deleteLater()
    QApplication.processEvents()


def instrument_for(part: Part) -> Instrument:
    """The highest instrument whose lowest string is not above the part's lowest note."""
    lowest = min(note.pitch.midi for note in part.notes)
    reaching = [one for one in INSTRUMENTS if one.strings[-1].pitch.midi <= lowest]
    return max(reaching or INSTRUMENTS, key=lambda one: one.strings[-1].pitch.midi)


def finger_a_part(person: Person, part: Part) -> None:
    """Turn to a part, have it fingered on a string instrument, decide three notes otherwise, and mark it."""
    desk = person.window.desk
    desk.turn_to(part.id)
    person.settle()
    if desk.plan is None or not desk.plan.chains:
        desk.set_instrument(instrument_for(part))
        person.settle()
    assert desk.plan is not None
    fingered = [note.id for note in part.notes if desk.plan.choice(note.id) is not None]
    for note_id in fingered[:: max(len(fingered) // 3, 1)][:3]:
        desk.select_note(note_id)
        ways = desk.plan.ways(note_id)
        way = ways[min(1, len(ways) - 1)]
        person.window.notes.choose(way) if way.placement != desk.plan.choice(note_id) else person.do("keep")
        assert desk.plan.locks[note_id] == Lock.on(desk.plan.choice(note_id))
    desk.select_note(fingered[0])
    person.do("mark-down-bow")
    desk.select_passage((0, 3))
    desk.select_note(None)
    person.do("shape")


def test_fifteen_parts_are_ready_at_the_end_of_an_afternoon(person: Person, capsys, record_property) -> None:
    start = time.perf_counter()
    window, desk = person.window, person.window.desk
    window.open(corpus_folder() / WORK)
    wait_until(lambda: bool(desk.pages))
    person.settle()
    parts = desk.score.score.parts
    assert len(parts) == PARTS
    for part in parts:
        finger_a_part(person, part)

    desk.turn_to(parts[4].id)
    desk.select_passage((0, 3))
    person.do("compare")
    wait_until(lambda: len(window.compare_window.ways) == 2)
    window.compare_window.close()
    person.do("sheet")
    person.settle()
    person.do("set")
    person.settle()
    person.do("save")
    assert desk.history.isClean()

    pdfs = {path.stem: PdfReader(path) for path in person.folder.glob("*.pdf")}
    whole_set = max(pdfs.values(), key=lambda pdf: len(pdf.pages))
    assert [entry.title for entry in whole_set.outline] == [part.name for part in parts]
    assert len(pdfs) == 2
    (project,) = person.folder.glob("*.handframe")
    again = open_any(project)
    assert dict(again.work.parts) == dict(desk.state.work.parts)
    assert again.work.printing == desk.state.work.printing
    for part in parts:
        kept = again.work.parts[part.id]
        assert len(kept.locks) == min(3, len(part.notes))
        plan = kept.plan(part)
        assert dict(plan.choices()) == dict(desk.state.plans[part.id].choices())
    assert person.told == []
    seconds = time.perf_counter() - start
    record_property("seconds", round(seconds, 1))
    with capsys.disabled():
        sys.stdout.write(f"{PARTS} parts, {sum(len(part.notes) for part in parts)} notes: {seconds:.0f} s\n")
