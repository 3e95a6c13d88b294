"""The picture of what lies over a page: mended bit by bit it looks, dot by dot, as if painted at once."""

from __future__ import annotations

import random

import numpy as np
import pytest
from PySide6.QtCore import QRect

from analysis.fingering.locks import Lock
from app.job.files.opening import open_any
from app.job.paper.digits import digits_of
from app.job.paper.part import overlaid
from app.window.music.overlay_picture import OverlayPicture, sorted_out
from engraving.bowsigns import wanted_signs
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4
from engraving.marks.teacher import TeacherMark
from engraving.metrics import FontMetrics, data_folder
from engraving.placing import Ground
from engraving.placing.boxes import PassageBox
from tests.conftest import EXAMPLE

EDITS = 12
ALL = QRect(0, 0, 10_000, 10_000)
ROUNDING = 4  # of 255: a dot that a letter covers in part is rounded otherwise where Qt paints within bounds


class Edited:
    """The first part of the example under one edit after another."""

    def __init__(self) -> None:
        opened = open_any(EXAMPLE)
        part = opened.score.parts[0]
        self.plan = opened.work.parts[part.id].plan(part)
        self.page = engrave(part_for_engraving(opened.document, part.id), A4)[0]
        self.ids = [note_id for note_id in self.page.map.notes if note_id in self.plan]
        self.random, self.metrics, self.ground = random.Random(7), FontMetrics(data_folder()), Ground(self.page.map)
        self.marks: tuple[TeacherMark, ...] = ()
        self.boxes: tuple[PassageBox, ...] = ()
        self.bows: dict[str, str] = {}

    def edit(self) -> None:
        note_id = self.random.choice(self.ids)
        match self.random.randrange(5):
            case 0:
                self.marks = (*self.marks, TeacherMark(self.random.choice(("retake", "extension")), note_id))
            case 1:
                self.bows = {} if self.bows else dict.fromkeys(self.ids[::3], "down")
            case 2:
                first = self.random.randrange(8)
                self.boxes = () if self.boxes else (PassageBox("Tune", first, first + 3),)
            case _:
                way = self.random.choice(self.plan.ways(note_id)).placement
                self.plan = self.plan.with_locks({**self.plan.locks, note_id: Lock.on(way)})

    def overlay(self):
        wanted = (*digits_of(self.plan, self.ids, frozenset()), *wanted_signs(self.bows))
        return overlaid(self.page, wanted, self.marks, self.boxes, self.metrics, self.ground)


def dots(image):
    return np.frombuffer(image.constBits(), np.uint8).astype(int)


@pytest.mark.parametrize(("scale", "ratio"), [(3.7, 1.0), (4.1, 1.25), (2.9, 2.0)])
def test_mended_is_the_same_as_painted_at_once(qapp, scale, ratio):
    edited = Edited()
    mended = OverlayPicture(edited.page, scale, ratio)
    looks = set()
    for _ in range(EDITS):
        overlay, own = edited.overlay(), frozenset(edited.plan.locks)
        for _ in range(edited.random.randrange(4)):
            mended.showing(overlay, own, QRect(*(edited.random.randrange(900) for _ in range(4))))
        now = dots(mended.showing(overlay, own, ALL))
        at_once = dots(OverlayPicture(edited.page, scale, ratio).showing(overlay, own, ALL))
        assert np.abs(now - at_once).max() <= ROUNDING
        looks.add(now.tobytes())
        edited.edit()
    assert len(looks) > EDITS / 2, "the edits are seen"


def test_nothing_shows_of_a_picture_whose_dots_are_taken_over(qapp):
    edited = Edited()
    before = OverlayPicture(edited.page, 3.7, 1.0)
    before.showing(edited.overlay(), frozenset(), ALL)
    edited.edit()
    edited.ids = edited.ids[::2]
    overlay = edited.overlay()
    afresh = dots(OverlayPicture(edited.page, 3.7, 1.0).showing(overlay, frozenset(), ALL))
    taken_over = dots(OverlayPicture(edited.page, 3.7, 1.0, before).showing(overlay, frozenset(), ALL))
    assert np.array_equal(taken_over, afresh)


@pytest.fixture
def painted(monkeypatch):
    """What is painted each time."""
    every = []

    def sort(there, own):
        every.append(list(there))
        return sorted_out(every[-1], own)

    monkeypatch.setattr("app.window.music.overlay_picture.sorted_out", sort)
    return every


def test_what_stays_is_not_painted_again(qapp, painted):
    edited = Edited()
    picture = OverlayPicture(edited.page, 3.7, 1.0)
    overlay = edited.overlay()
    picture.showing(overlay, frozenset(), ALL)
    picture.showing(overlay, frozenset(), ALL)
    assert [len(one) for one in painted] == [len(overlay)]
    picture.showing(overlay, frozenset(edited.ids[:1]), ALL)
    assert 0 < len(painted[1]) < len(overlay) / 4


def test_what_is_not_seen_is_not_painted(qapp, painted):
    edited = Edited()
    picture = OverlayPicture(edited.page, 3.7, 1.0)
    overlay = edited.overlay()
    upper = QRect(0, 0, 800, 500)
    picture.showing(overlay, frozenset(), upper)
    assert 0 < len(painted[0]) < len(overlay)
    picture.showing(overlay, frozenset(), QRect(100, 50, 300, 400))
    assert len(painted) == 1, "it lies within what was seen before"
    picture.showing(overlay, frozenset(), ALL)
    assert len(painted[1]) < len(overlay)
    assert {id(one) for one in painted[0]} | {id(one) for one in painted[1]} == {id(one) for one in overlay}


def test_things_are_sorted_by_what_they_are(qapp):
    edited = Edited()
    edited.marks = (TeacherMark("retake", edited.ids[4]),)
    edited.boxes = (PassageBox("Tune", 2, 4),)
    edited.bows = {edited.ids[1]: "up"}
    overlay = edited.overlay()
    found = sorted_out(overlay, edited.ids[:2])
    assert {one.note_id for one in found.own} == set(edited.ids[:2])
    assert [one.note_id for one in found.bows] == [edited.ids[1]]
    assert [one.mark for one in found.marks] == list(edited.marks)
    assert {one.number for one in found.boxes} == {0}
    assert sum(map(len, (found.computed, found.own, found.bows, found.marks, found.boxes))) == len(overlay)
