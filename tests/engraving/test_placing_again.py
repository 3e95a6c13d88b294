"""A page set anew after edits: only what changed is worked out again, and everything stands where it would anyway."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from engraving.marks.teacher import TeacherMark
from engraving.page import PageMap
from engraving.placing import Ground, Overlay, Placed, Wanted, mark_page
from engraving.placing import board as board_module
from tests.engraving.pages import METRICS, corpus_pages

WORKS = ("haydn/opus1no1/movement1", "mozart/k458/movement1")


@pytest.fixture(scope="module", params=WORKS)
def page(request) -> PageMap:
    return corpus_pages(request.param)[0].map


def told(overlay: Sequence[Overlay]) -> list[object]:
    """What is seen of it."""
    return [one if isinstance(one, Placed) else (one.mark, one.drawn) for one in overlay]


def some_digits(page: PageMap, chance: random.Random) -> list[Wanted]:
    return [Wanted(note_id, chance.choice("01234")) for note_id in page.notes if chance.random() < 0.8]


def edited(wanted: list[Wanted], chance: random.Random) -> list[Wanted]:
    """Another digit here and there, some with all that may stand beside one; some gone."""
    found = []
    for one in wanted:
        if chance.random() < 0.97:
            found.append(one)
        elif chance.random() < 0.8:
            text, string = chance.choice(["1", "4"]), chance.choice([None, "III"])
            hand, below = chance.choice([None, "3rd pos."]), chance.choice([None, True])
            found.append(Wanted(one.note_id, text, string, below, hand, reach=chance.random() < 0.5))
    return found


def some_marks(page: PageMap, chance: random.Random) -> list[TeacherMark]:
    ids = sorted(page.notes)
    kinds = ["circle", "held-finger", "high", "retake"]
    marks = []
    for kind in kinds[: chance.randrange(5)]:
        first = chance.randrange(len(ids) - 2)
        last = ids[first + 2] if kind in ("circle", "held-finger") else ""
        marks.append(TeacherMark(kind, ids[first], last, dx=chance.choice([0.0, 0.0, 1.5])))
    return marks


@pytest.mark.parametrize("turn", range(3))
def test_a_page_set_again_after_edits_is_the_page_set_afresh(page: PageMap, turn: int) -> None:
    chance, ground = random.Random(turn), Ground(page)
    wanted, marks = some_digits(page, chance), some_marks(page, chance)
    for _ in range(6):
        again = mark_page(page, wanted, marks, METRICS, ground)
        assert told(again) == told(mark_page(page, wanted, marks, METRICS))
        wanted = edited(wanted, chance)
        if chance.random() < 0.4:
            marks = some_marks(page, chance)


def test_only_the_system_of_an_edit_is_set_again(page: PageMap, monkeypatch: pytest.MonkeyPatch) -> None:
    ground, wanted = Ground(page), [Wanted(note_id, "1") for note_id in page.notes]
    mark_page(page, wanted, [], METRICS, ground)
    asked: list[int] = []
    real = board_module.stacks_of

    def counted(of: PageMap, here, metrics):
        asked.extend({of.notes[one.note_id].system for one in here})
        return real(of, here, metrics)

    monkeypatch.setattr(board_module, "stacks_of", counted)
    middle = next(note_id for note_id, place in page.notes.items() if place.system == 3)
    mark_page(page, [Wanted(one.note_id, "3") if one.note_id == middle else one for one in wanted], [], METRICS, ground)
    assert asked == [3]


def test_work_on_a_page_can_be_held_up_at_every_system(page: PageMap) -> None:
    """Twice: when what stands round it is looked at, and when its digits are set; told as shares that grow."""
    shares: list[float] = []
    mark_page(page, [Wanted(note_id, "1") for note_id in page.notes], [], METRICS, Ground(page), shares.append)
    assert len(shares) == 2 * len(page.systems)
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert shares[len(page.systems)] == 0.5
