"""The manual in every language of the window: heading by heading the English one, with links that lead somewhere."""

from __future__ import annotations

import re

import pytest

from analysis.language import CATALOGUES, catalogue
from app.help.manual import ROOM, anchor_of, build_manual, shown_anchor
from app.window.help.help_window import SECTIONS

ENGLISH = (ROOM / "prose.md").read_text(encoding="utf-8")
LANGUAGES = sorted(path.parents[1].name for path in CATALOGUES.glob("*/LC_MESSAGES/handframe.po"))


@pytest.fixture(params=LANGUAGES)
def language(request, monkeypatch):
    monkeypatch.setenv("LANGUAGE", request.param)
    catalogue.cache_clear()
    yield request.param
    monkeypatch.undo()
    catalogue.cache_clear()


def prose_in(language):
    return (ROOM / f"prose.{language}.md").read_text(encoding="utf-8")


def shape(prose):
    """What a translation leaves as it is: kinds of lines, commands, tables, pictures, code."""
    sections = re.split(r"^(?=#)", prose, flags=re.MULTILINE)
    return [
        (
            re.match(r"#*", section)[0],
            len(re.findall(r"^(?:- |\d+\. )", section, re.MULTILINE)),
            len(re.split(r"\n\n+", section.strip())),
            sorted(re.findall(r"\[\[[\w-]+\]\]", section)),
            re.findall(r"\{\{\w+\}\}", section),
            re.findall(r"\]\((pictures/[\w-]+\.png)\)", section),
            len(re.findall(r"\]\(", section)),
        )
        for section in sections
    ]


def test_the_manual_is_written_in_every_language_of_the_window(language):
    prose = prose_in(language)
    for english, translated in zip(shape(ENGLISH), shape(prose), strict=True):
        assert translated == english
    said = [line for line in ENGLISH.splitlines() if len(line.split()) > 5 and not line.startswith((" " * 4, "`"))]
    assert [line for line in said if line in prose] == []


def test_it_is_what_is_shown_and_its_links_lead_somewhere(language):
    manual = build_manual()
    assert manual.splitlines()[0] == prose_in(language).splitlines()[0] != ENGLISH.splitlines()[0]
    anchors = {anchor_of(line.lstrip("# ")) for line in manual.splitlines() if line.startswith("#")}
    links = re.findall(r"\]\(#([^)]+)\)", manual)
    assert links
    assert set(links) <= anchors


def test_what_is_in_hand_is_found_in_it(language):
    headings = [anchor_of(line.lstrip("# ")) for line in build_manual().splitlines() if line.startswith("#")]
    for _kind, section in SECTIONS:
        assert shown_anchor(section) in headings
        assert shown_anchor(section) != section or section in prose_in(language).casefold()


def test_in_english_the_manual_is_english():
    assert build_manual().splitlines()[0] == ENGLISH.splitlines()[0]
    assert shown_anchor("the-watch-list") == "the-watch-list"
