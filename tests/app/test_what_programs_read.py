"""Whatever language is spoken: what programs read, saved work and words typed on the command line stay the same.

The rule is RFC 2277, section 2: names that a protocol gives meaning to are not translated, text for people is.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from analysis.fingering.placements import hand_places
from analysis.fingering.rules.files import PRESETS, parse_rules, preset
from analysis.instruments import INSTRUMENTS, VIOLIN, guess_instrument
from app.cli.tables import csv_text, note_rows
from app.cli.watch import entry_object
from app.job.paper.digits import marks_to_write
from app.job.project.work_json import work_to_json
from app.job.rules.file import rules_text
from app.job.teacher.locking import read_lock
from app.job.teacher.watching import Remark, Standing
from app.job.teacher.work import first_work
from engraving.document import read_document
from engraving.marks.writing import marked_bytes
from engraving.mei import write_mei
from engraving.reading import read_score
from tests.analysis.language.brackets import Bracketed
from tests.engraving.marked import TUNE, one_of_each
from tests.scores import full_score, part

# Shifts, extensions, open strings and a chord; the second part has no name.
SCORE = full_score(
    part("Violin", "4/4", "D5/1 E5 F#5 G5 | A5/1 B5 C#6 D6 | [G3 D4]/2 Bb4 | D5/1 E5 F#5 G5", key=2),
    part("", "4/4", "D4/4 | A3/4 | G3/4 | D4/4", key=2),
)
# Columns that are sentences for people.
_SAID = ("reason",)


@pytest.fixture
def in_both_languages(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[], object]], None]:
    """Checks that something is the same in English and in another language."""

    def check(made: Callable[[], object]) -> None:
        english = made()
        with monkeypatch.context() as patch:
            patch.setattr("analysis.language.catalogue", Bracketed)
            assert made() == english

    return check


Check = Callable[[Callable[[], object]], None]


def test_sentences_are_said_in_the_language_that_is_spoken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("analysis.language.catalogue", Bracketed)
    document = read_document(SCORE, "s.musicxml")
    plan = first_work(read_score(document)).parts["P1"].plan(read_score(document).parts[0])
    assert plan is not None
    assert any("«" in str(row["reason"]) for row in note_rows(plan))
    assert "«" in rules_text(preset("first"))


def test_tables_for_programs_are_the_same(in_both_languages: Check) -> None:
    def rows() -> object:
        score = read_score(read_document(SCORE, "s.musicxml"))
        plan = first_work(score).parts["P1"].plan(score.parts[0])
        assert plan is not None
        table = csv.DictReader(io.StringIO(csv_text([(plan, None)])))
        return [{name: value for name, value in row.items() if name not in _SAID} for row in table]

    in_both_languages(rows)


def test_scores_that_are_written_are_the_same(in_both_languages: Check, tmp_path: Path) -> None:
    def files() -> object:
        document = read_document(SCORE, "s.musicxml")
        score = read_score(document)
        plan = first_work(score).parts["P1"].plan(score.parts[0])
        assert plan is not None
        write_mei(tmp_path / "s.mei", document, marks_to_write(plan))
        tune = read_document(TUNE, "tune.musicxml")
        marked = [marked_bytes(tune, [], [mark]) for mark in one_of_each()]
        return marked, marked_bytes(document, marks_to_write(plan)), (tmp_path / "s.mei").read_bytes()

    in_both_languages(files)


def test_saved_work_is_the_same(in_both_languages: Check) -> None:
    def saved() -> object:
        score = read_score(read_document(SCORE, "s.musicxml"))
        work = first_work(score)
        own, music = work.parts["P1"], score.parts[0]
        found = own.watched(score, music, own.plan(music))
        assert found
        for entry in found:
            own = own.with_remark(entry.finding.key, Remark(Standing.ACCEPTED))
        shown = [{**entry_object(music, entry), "text": ""} for entry in found]
        return shown, json.dumps(work_to_json("s.musicxml", work.with_part("P1", own)))

    in_both_languages(saved)


def test_parts_and_instruments_have_the_same_names_for_house_rules(in_both_languages: Check) -> None:
    def names() -> object:
        parts = read_score(read_document(SCORE, "s.musicxml")).parts
        return [
            (one.name, instrument and instrument.key) for one in parts for instrument in (guess_instrument(one.name),)
        ]

    in_both_languages(names)


@pytest.mark.parametrize("name", PRESETS)
def test_house_rules_read_back_the_same(in_both_languages: Check, name: str) -> None:
    in_both_languages(lambda: parse_rules(rules_text(preset(name)), "rules.toml"))


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda instrument: str(instrument.key))
def test_positions_are_typed_by_the_same_names(in_both_languages: Check, instrument: object) -> None:
    assert instrument in INSTRUMENTS
    played = next(one for one in INSTRUMENTS if one is instrument)
    names = [name for place in hand_places(played) for name in (place.name, *place.aliases, str(place.number))]
    in_both_languages(lambda: [read_lock(f"in {name} position", played) for name in names])


def test_strings_and_fingers_are_typed_by_the_same_words(in_both_languages: Check) -> None:
    in_both_languages(lambda: read_lock("finger 2 on the A string in 3rd position", VIOLIN))
