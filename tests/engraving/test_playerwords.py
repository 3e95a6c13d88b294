"""Words that say which players play, and how long they hold."""

from __future__ import annotations

import pytest

from engraving.reading.playerwords import players_in
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.signs import notes_of, part_of, words

BACK = "<backup><duration>2</duration></backup>"


def players(*measures: str) -> list[str]:
    return [note.players for note in part_of(raw(*measures))]


def in_voice(name: str, voice: int) -> str:
    return raw_note(name, f"{QUARTER}<voice>{voice}</voice>")


def test_the_players_play_until_others_are_asked_for() -> None:
    music = 'C5/2 "Solo" D5 | E5/2 "1st desk" F5 | "arco" G5/2 "Tutti" A5'
    assert [n.players for n in notes_of(music)] == ["", "solo", "solo", "few", "few", "tutti"]


def test_each_voice_follows_its_own_players() -> None:
    upper = words("1 solo") + in_voice("A5", 1) + in_voice("B5", 1)
    lower = words("gli altri", "<voice>2</voice>") + in_voice("A4", 2) + in_voice("B4", 2)
    together = words("tutti") + in_voice("C6", 1) + BACK.replace("2", "1") + in_voice("C4", 2)
    assert players(upper + BACK + lower, together) == ["solo", "solo", "tutti", "tutti", "tutti", "tutti"]


def test_who_plays_and_whether_they_are_divided_are_two_things() -> None:
    notes = notes_of('"2 soli div." [D5 A5]/4 | "tutti unis." D5/4 | "div." [D5 A5]/4')
    assert [(n.players, n.divisi) for n in notes] == [
        ("few", True), ("few", True), ("tutti", False), ("tutti", True), ("tutti", True),
    ]  # fmt: skip


def test_the_name_of_a_cue_asks_for_nobody() -> None:
    cue = words("Solo") + raw_note("E5", before="<cue/>")
    assert players(raw_note("C5") + cue + raw_note("D5")) == ["", ""]


def test_a_sound_asks_for_nobody() -> None:
    sound = '<sound><instrument-change id="P1-I1"><solo/></instrument-change></sound>'
    assert players(sound + raw_note("C5"), words("dolce", sound) + raw_note("D5")) == ["", ""]


@pytest.mark.parametrize(
    "text",
    ["solo", "SOLO", "Solo.", "(solo)", "soli", "1 solo", "1. Solo", "2nd solo", "I solo", "Violino solo",
     "Solo-Violine", "Solo, poi tutti", "1 player", "one player"],
)  # fmt: skip
def test_words_for_one_player(text: str) -> None:
    """Common practice, no source."""
    assert players_in(text) == "solo"


@pytest.mark.parametrize(
    "text",
    ["one desk", "1st desk", "1st Desk only", "desk 1", "2 desks", "first stand", "1. Pult", "1.–2. Pult", "zwei Pulte",
     "1° leggio", "un leggio", "2 leggii", "1er pupitre", "outside players", "half", "Half.", "half the section",
     "half section", "la metà", "la meta\u0300", "die Hälfte", "la moitié", "a few", "a few players", "2 soli",
     "due soli", "3 Soli", "4 players", "senza rip.", "senza ripieni"],
)  # fmt: skip
def test_words_for_a_few_players(text: str) -> None:
    """Common practice, no source."""
    assert players_in(text) == "few"


@pytest.mark.parametrize(
    "text",
    ["tutti", "TUTTI", "(tutti)", "Tutti div.", "tutte", "ripieno", "con ripieni", "rip.", "all", "All", "(all)",
     "all play", "all desks", "all violins", "alle", "alle Pulte", "tous", "end solo", "end of solo", "fine del solo",
     "full section", "gli altri", "die übrigen", "tutti, non solo", "quasi solo, tutti"],
)  # fmt: skip
def test_words_for_all_players(text: str) -> None:
    """Common practice, no source."""
    assert players_in(text) == "tutti"


@pytest.mark.parametrize(
    "text",
    ["", "soloist", "isolo", "assolo", "quasi solo", "come solo", "quasi un solo", "senza solo", "Ob. solo",
     "Fl. 1 solo", "Clarinet in B solo", "Horn solo", "solo la 2a volta", "2a volta solo", "tutta la forza", "All.",
     "All. moderato", "all'8va", "alla marcia", "alle 8va", "half note = 60", "half pos.", "half the bow",
     "half = quarter", "metà arco", "a metà dell'arco", "moitié de l'archet", "a few bars", "please stand",
     "music stand", "sotto voce", "small", "ripetizione"],
)  # fmt: skip
def test_words_that_ask_for_nobody(text: str) -> None:
    """Common practice, no source."""
    assert players_in(text) == ""
