"""Every command of the table, done once where it is possible: each changes something that is seen, and none fails."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

import pytest
from PySide6.QtWidgets import QApplication

from app.window.commands import COMMANDS
from app.window.main_window import MainWindow
from tests.app.person import Person
from tests.scores import full_score, part
from tests.waiting import wait, wait_until

# Eight measures of which the last four are the first again, nearly, with long open strings and crossings for one note.
LINE = "F#4/1 G4 A4 G4 | F#4 A4/3 | D5/1 E5 F#5 G5 | E5 D5 E5 G5 | F#4/1 G4 A4 G4 | F#4 A4/3 | D5/1 E5 F#5 G5 | D5/4"
SECONDS = (
    "D4/1 E4 F#4 E4 | D4 F#4/3 | A4/1 A4 A4 B4 | C#5 B4 C#5 C#5 | D4/1 E4 F#4 E4 | D4 F#4/3 | A4/1 A4 A4 C#5 | D5/4"
)
LEAVE_ALL = ("open", "quit")
# What stays as it was when a command is done in the state that the one before it leaves.
CHANGES_NOTHING = {
    "stop": "nothing is under way in these states",
    "save": "the file of the project has been written by then, and is the same",
    "unsaved": "there is work left behind only after a crash: window/safe/test_brought_back.py",
}


def nothing(person: Person) -> None:
    person.window.desk.select_note(None)
    person.window.desk.select_passage(None)


def a_note(person: Person) -> None:
    person.window.desk.select_note(person.note_ids()[2])


def a_fixed_note(person: Person) -> None:
    a_note(person)
    if person.note_ids()[2] not in person.window.desk.plan.locks:
        person.do("keep")


def some_notes(person: Person) -> None:
    person.window.desk.select_note(person.note_ids()[4])
    person.window.desk.select_until(person.note_ids()[6])


def measures(person: Person) -> None:
    nothing(person)
    person.window.desk.select_passage((1, 2))


def fixed_measures(person: Person) -> None:
    a_fixed_note(person)
    measures(person)
    person.window.desk.select_passage((0, 2))


def an_entry(person: Person) -> None:
    person.window.watch.choose(person.window.watch.entries[0])


def an_entry_that_comes_again(person: Person) -> None:
    person.window.watch.choose(next(entry for entry in person.window.watch.entries if entry.finding.again))


def a_mark(person: Person) -> None:
    a_note(person)
    if not person.window.pencil.marks:
        person.do("mark-accent")
    person.window.pencil.choose(person.window.pencil.marks[0])


def a_moved_mark(person: Person) -> None:
    a_mark(person)
    person.window.pencil.move(1.0, 2.0)


def larger(person: Person) -> None:
    person.do("larger")


def something_undone(person: Person) -> None:
    a_note(person)
    person.do("mark-tenuto")
    person.do("undo")


STATES: tuple[Callable[[Person], None], ...] = (
    nothing,
    a_note,
    a_fixed_note,
    some_notes,
    measures,
    fixed_measures,
    an_entry,
    an_entry_that_comes_again,
    a_moved_mark,
    larger,
    something_undone,
)


@pytest.fixture(scope="module")
def person(qapp: QApplication, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Person]:
    """A window on a duet, its first part fingered and read, and whoever sits before it."""
    folder = tmp_path_factory.mktemp("written")
    score = folder / "duet.musicxml"
    score.write_bytes(full_score(part("Violin I", "4/4", LINE, key=2), part("Violin II", "4/4", SECONDS, key=2)))
    window = MainWindow(tmp_path_factory.mktemp("recovery"))
    window.show()
    one = Person(window, folder)
    with one.sitting():
        window.open(score)
        wait_until(lambda: bool(window.desk.pages) and window.watch.is_read)
        one.settle()
        yield one
        one.close_others()
        window.desk.history.setClean()
        window.close()
    window.deleteLater()
    QApplication.processEvents()


@pytest.mark.parametrize("name", [command.name for command in COMMANDS if command.name not in LEAVE_ALL])
def test_a_command_is_possible_in_some_state_and_changes_what_is_seen(person: Person, name: str) -> None:
    action = person.window.actions_by_name[name]
    for state in STATES:
        state(person)
        person.settle()
        if action.isEnabled() and name not in CHANGES_NOTHING:
            before = person.sees()
            action.trigger()
            person.settle()
            wait(10)
            if person.sees() != before:
                break
    else:
        assert name in CHANGES_NOTHING, f"{name} changes nothing in any state"
    person.close_others()


def test_undo_and_redo_bring_every_step_back(person: Person) -> None:
    """The steps of all the tests above, taken back one after another and made again."""
    history, desk = person.window.desk.history, person.window.desk
    end = history.count()
    history.setIndex(end)
    works = [desk.state.work]
    while history.canUndo():
        history.undo()
        works.append(desk.state.work)
    assert len(works) == end + 1 > 30
    assert all(one != other for one, other in pairwise(works))
    for work in reversed(works[:-1]):
        history.redo()
        assert desk.state.work == work
    person.settle()
