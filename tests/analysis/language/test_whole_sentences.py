"""Reasons, findings and problems are whole sentences of the user's language: no English is put together around them.

The language here is English in brackets with other letters, the pseudo-localisation of common practice; no source.
"""

from __future__ import annotations

import gettext
import re

import pytest

from analysis import language
from analysis.fingering.cautions import cautions
from analysis.fingering.locks import Lock
from analysis.fingering.passages import passage_ways
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import BASS, CELLO, VIOLIN
from analysis.keys.signatures import KEYS
from analysis.music import LETTERS, Pitch, Score
from analysis.pitch_names import in_octave
from analysis.watch.watchlist import watch_list
from tests.analysis.lines import line, plan
from tests.analysis.watch.studies import ensemble

# Signs, chords, shifts, crossings, a line that comes again a fifth higher, and pitches that no violin has.
TUNE = "D5/0.5 E5 F#5 G5 A5 F#5 D5 A4 B4 C#5 D5 E5 F#5/1 E5 "
OVER = "G4/0.5 A4 B4 C5 D5 B4 G4 D4 E4 F#4 G4 A4 B4/1 A4 "
FIRST_VIOLIN = (
    "{2#} {f} " + TUNE + "(D5/0.5 Bb4 C5 Bb4) F5/1 F5 C5/4 F#5/0.5 G5 F#5 D#5 E5 G4 E5 G4 "
    "A5/0.5 B5 C#6 D6 (E6 D6 C#6 B5) [G3 D4]/2 [D4 A4]/2 E5/4 A4/0.5 E5 A4 E5 A4 E5 A4 E5 F3/2 [G3 A3]/2 "
    + TUNE + "{0} " + OVER + "G3/0.25 E5 G3 E5 C5/1 G#4 A4 D4/4 {p} E5/4 r/4 r/4 "
) * 2  # fmt: skip
OTHERS = ("r/4 " * 30 + "{mf} " + "G4/1 D4 G4 D4 " * 24, "r/4 " * 30 + "{mf} " + "G3/1 D4 G3 D4 " * 24)
_NAMES_IN_BRACES = re.compile(r"(\{\w*\})")
# Names and letters that are printed in the score, and words that the trade has in Italian.
_FROM_THE_SCORE = re.compile(r"\b(Violin|Viola|II?|[A-G]|mezzo|forte|piano|[mfp]+)\b")
_ENGLISH = re.compile("[A-Za-z]+")


class _Pseudo(gettext.NullTranslations):
    """A language that is English in brackets with wider letters."""

    def gettext(self, message: str) -> str:
        pieces = _NAMES_IN_BRACES.split(message)
        return f"[{''.join(piece if number % 2 else _wide(piece) for number, piece in enumerate(pieces))}]"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return self.gettext(msgid1 if n == 1 else msgid2)

    def pgettext(self, context: str, message: str) -> str:
        return self.gettext(message)


class _Helmholtz(gettext.NullTranslations):
    """A language that is English but for its octaves."""

    def pgettext(self, context: str, message: str) -> str:
        return "c'" if message == "C4" else message


def _wide(text: str) -> str:
    return "".join(chr(ord(sign) + 0xFEE0) if sign.isascii() and sign.isalpha() else sign for sign in text)


@pytest.fixture
def pseudo(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(language, "catalogue", _Pseudo)


def _english_in(text: str) -> list[str]:
    """What of a sentence is English, or "whole" where it is not one bracketed sentence."""
    whole = text.startswith("[") and text.endswith("]")
    return _ENGLISH.findall(_FROM_THE_SCORE.sub("", text)) + ([] if whole else ["whole"])


@pytest.fixture(scope="module")
def score() -> Score:
    return ensemble(line(FIRST_VIOLIN, tempo=132), *OTHERS)


@pytest.fixture(scope="module")
def fingered(score: Score) -> Plan:
    return make_plan(score.parts[0], VIOLIN, preset("two-homes"))


def test_findings_are_whole_sentences(score: Score, fingered: Plan, pseudo: None) -> None:
    findings = watch_list(score, score.parts[0], fingered)
    assert len({finding.kind for finding in findings}) > 10
    assert {finding.text: found for finding in findings if (found := _english_in(finding.text))} == {}


def test_what_is_found_is_the_same_in_every_language(score: Score, fingered: Plan, monkeypatch) -> None:
    keys = [finding.key for finding in watch_list(score, score.parts[0], fingered)]
    monkeypatch.setattr(language, "catalogue", _Pseudo)
    assert [finding.key for finding in watch_list(score, score.parts[0], fingered)] == keys


def test_reasons_are_whole_sentences(fingered: Plan, pseudo: None) -> None:
    reasons = {fingered.reason(note.id) for note in fingered.part} - {""}
    assert len(reasons) > 5
    assert {reason: found for reason in reasons if (found := _english_in(reason))} == {}


@pytest.mark.parametrize(
    ("text", "instrument", "rules"),
    [("C2/1 D2 E2 F2 G2 A2 B2 C3 F#4 A4", CELLO, "whole-board"), ("E2/4 A2", BASS, "first")],
)
def test_reasons_on_other_instruments_too(text, instrument, rules, pseudo: None) -> None:
    made = plan(text, rules, instrument)
    reasons = {made.reason(note.id) for note in made.part} - {""}
    assert {reason: found for reason in reasons if (found := _english_in(reason))} == {}


def test_problems_are_whole_sentences(fingered: Plan, pseudo: None) -> None:
    locks = {"n1": Lock(string=1, position=3, finger=2), "n2": Lock(finger=0, string=4), "n3": Lock(hand=8.0, finger=4)}
    made = plan("D5/1 A4 [G3 D4] F3 [G3 A3] D5^E5 A6", "first", locks=locks)
    assert len(set(made.problems.values())) > 3
    assert {text: found for text in made.problems.values() if (found := _english_in(text))} == {}
    assert all(not _english_in(lock.words(VIOLIN).join("[]")) for lock in locks.values())


def test_cautions_and_names_of_ways_are_whole(pseudo: None) -> None:
    rules, stretched = HouseRules(reach="small"), Lock(string=2, position=1, finger=4)
    made = plan("C5/1 F5 D5", rules, locks={"n2": stretched})
    drawn_back = plan("A#3/1 B3 C#4", rules, CELLO, locks={"n1": Lock(string=1, position=1, finger=1)})
    told = [text for one in (*cautions(made), *cautions(drawn_back)) for text in (one.text, one.easier)]
    assert len(told) > 3
    told += [way.name for way in passage_ways(made, 0, 0)]
    assert len(told) > 5
    assert {text: found for text in told if (found := _english_in(text))} == {}


def test_names_of_pitches_and_keys_are_looked_up(pseudo: None) -> None:
    names = [Pitch(step, alter, 4).words for step in LETTERS for alter in range(-2, 3)]
    assert len(set(names)) == 35
    assert [name for name in (*names, *(key.words for key in KEYS)) if _ENGLISH.search(name)] == []


def test_octaves_after_helmholtz(monkeypatch) -> None:
    """ISO 31-8 has no names for octaves; Helmholtz, On the Sensations of Tone (from memory): C, c, c', c''."""
    monkeypatch.setattr(language, "catalogue", _Helmholtz)
    written = [in_octave("F#", octave) for octave in (0, 1, 2, 3, 4, 6)]
    assert written == ["Subcontra-F#", "Contra-F#", "F#", "f#", "f#'", "f#'''"]
