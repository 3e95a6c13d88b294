"""The catalogues say all that the code says, and nothing else.

What a catalogue may hold and how it is compiled: GNU gettext manual, "The Format of PO Files" and "The Format of GNU MO
Files", by way of Babel's readers and writers. Which plural forms a language has: Unicode CLDR, Language Plural Rules.
"""

from __future__ import annotations

import gettext
from collections.abc import Iterator
from functools import cache
from io import BytesIO
from itertools import chain
from string import Formatter
from typing import BinaryIO

import pytest
from babel import Locale
from babel.messages.catalog import Catalog
from babel.messages.catalog import Message as Entry
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from analysis.language import CATALOGUES, DOMAIN, catalogue
from app.cli.opening import COMMANDS, window_parser
from app.main import main
from tests.analysis.language.marked import Message, calls, extracted, literal_messages, messages

LANGUAGES = sorted(path.parent.parent.name for path in CATALOGUES.glob(f"*/LC_MESSAGES/{DOMAIN}.po"))
every_language = pytest.mark.parametrize("language", LANGUAGES)


@cache
def read(language: str) -> Catalog:
    with (CATALOGUES / language / "LC_MESSAGES" / f"{DOMAIN}.po").open("rb") as file:
        return read_po(file, locale=language)


def entries(language: str) -> Iterator[Entry]:
    """All but the header."""
    return (entry for entry in read(language) if entry.id)


def forms(text: str | tuple[str, ...] | list[str] | None) -> tuple[str, ...]:
    """A sentence, or its singular and plurals."""
    return (text,) if isinstance(text, str) else tuple(text or ())


def message(entry: Entry) -> Message:
    one, many = (*forms(entry.id), "")[:2]
    return entry.context or "", one, many


def places(text: str) -> set[tuple[str, str, str | None]]:
    """The names in braces of a sentence, each with its format and conversion."""
    parts = Formatter().parse(text)
    return {(name, spec or "", conversion) for _said, name, spec, conversion in parts if name is not None}


def test_german_is_spoken() -> None:
    assert "de" in LANGUAGES


def test_every_sentence_in_the_code_can_be_extracted() -> None:
    known = extracted()
    lost = [where for where, (context, one, many) in literal_messages() if many not in known.get((context, one), ())]
    assert lost == []


def test_sentences_are_marked_before_values_go_in() -> None:
    """What is made up at run time, by an f-string or by joining, stands in no catalogue."""
    given = ((where, argument) for where, call in calls() for argument in call.args)
    assert [where for where, argument in given if type(argument).__name__ in ("JoinedStr", "BinOp")] == []


def test_a_sentence_has_the_same_plural_wherever_it_is_said() -> None:
    """A catalogue has one entry for it."""
    assert [said for said, plurals in extracted().items() if len(plurals - {""}) > 1] == []


@every_language
def test_the_catalogue_holds_what_the_code_says(language: str) -> None:
    known, said = {message(entry) for entry in entries(language)}, messages()
    assert (said - known, known - said) == (set(), set())
    assert list(read(language).obsolete) == []


@every_language
def test_every_sentence_is_translated_for_good(language: str) -> None:
    doubtful = [entry.id for entry in entries(language) if entry.fuzzy or not all(forms(entry.string) or ("",))]
    assert not read(language).fuzzy
    assert doubtful == []


@every_language
def test_translations_take_the_same_values(language: str) -> None:
    """A number may be left out of the singular alone: one note needs no figure."""
    for entry in entries(language):
        allowed = [places(form) for form in forms(entry.id)]
        for form in forms(entry.string):
            assert places(form) in allowed, entry.id


@every_language
def test_translations_begin_and_end_with_the_same_blanks(language: str) -> None:
    for entry in entries(language):
        for original, form in zip(chain(forms(entry.id), forms(entry.id)[-1:] * 6), forms(entry.string), strict=False):
            assert (form[:1].isspace(), form[-1:].isspace()) == (original[:1].isspace(), original[-1:].isspace()), form


@every_language
def test_the_plural_forms_are_those_of_the_language(language: str) -> None:
    """Numbers that CLDR counts alike have one form, those that it tells apart have two."""
    by_cldr, chosen = Locale.parse(language).plural_form, gettext.c2py(read(language).plural_expr)
    pairs = {(by_cldr(number), chosen(number)) for number in range(2000)}
    assert len({kind for kind, _form in pairs}) == len({form for _kind, form in pairs}) == len(pairs)
    assert {form for _kind, form in pairs} == set(range(read(language).num_plurals))
    assert {len(forms(entry.string)) for entry in entries(language) if entry.pluralizable} <= {len(pairs)}


@every_language
def test_the_compiled_catalogue_is_that_of_the_text(language: str) -> None:
    compiled = BytesIO()
    write_mo(compiled, read(language))
    compiled.seek(0)
    assert texts(compiled) == texts((CATALOGUES / language / "LC_MESSAGES" / f"{DOMAIN}.mo").open("rb"))


def texts(compiled: BinaryIO) -> dict[object, str]:
    """All texts of a compiled catalogue, without its heading, which tells who compiled it."""
    with compiled:
        every: dict[object, str] = gettext.GNUTranslations(compiled)._catalog
    return {original: text for original, text in every.items() if original}


@every_language
def test_the_help_of_every_command_can_be_printed(
    language: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The library fills in values after a percent sign, which a translation must not have by itself."""
    english = window_parser().format_help()
    monkeypatch.setenv("LANGUAGE", language)
    catalogue.cache_clear()
    try:
        assert window_parser().format_help() != english
        for command in COMMANDS:
            with pytest.raises(SystemExit, match="0"):
                main([command, "--help"])
            told = capsys.readouterr().out
            assert f": handframe {command}" in told
            assert "usage" not in told
    finally:
        catalogue.cache_clear()
