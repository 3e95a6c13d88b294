"""The files by which a Linux desktop knows Handframe, checked against the specifications they are written by."""

from __future__ import annotations

import configparser
import re
import shlex

import pytest
from lxml import etree
from PySide6.QtGui import QIcon

from app.job.project.file import SUFFIX
from app.window.dialogs import SCORE_SUFFIXES
from app.window.run import ICON
from tests.app.programs import ROOT

FOLDER = ROOT / "app" / "desktop"
MIME = "{http://www.freedesktop.org/standards/shared-mime-info}"
# IANA, Media Types: registered by the W3C Music Notation Community Group for MusicXML 3.1 and later.
MUSICXML = {"application/vnd.recordare.musicxml": "*.mxl", "application/vnd.recordare.musicxml+xml": "*.musicxml"}
# Desktop Menu Specification, "Registered Categories": the main categories, and what each of our others asks for.
MAIN = {"AudioVideo", "Audio", "Education"}
ADDITIONAL = {"Music": {"AudioVideo", "Education"}, "Qt": set()}


@pytest.fixture(scope="module")
def entry():
    """The keys of the desktop entry; no interpolation: "%f" is a field code."""
    parser = configparser.ConfigParser(
        interpolation=None, delimiters=("=",), comment_prefixes=("#",), strict=True, empty_lines_in_values=False
    )
    parser.optionxform = str  # keys are case sensitive: Desktop Entry Specification 1.5, "Basic format of the file"
    parser.read_string((FOLDER / "handframe.desktop").read_text(encoding="utf-8"))
    assert parser.sections() == ["Desktop Entry"]
    return dict(parser["Desktop Entry"])


@pytest.fixture(scope="module")
def types():
    """The declared media types by name."""
    root = etree.parse(FOLDER / "handframe.xml").getroot()
    assert root.tag == f"{MIME}mime-info"
    return {one.get("type"): one for one in root.iterchildren(f"{MIME}mime-type")}


def items(value):
    """A list of strings, which ends with a semicolon: Desktop Entry Specification 1.5, "Possible value types"."""
    assert value.endswith(";")
    return value[:-1].split(";")


def test_the_icon_is_there_and_is_seen_small_too(entry, qapp):
    """Icon Theme Specification, "Directory Layout": found by its name without the suffix; 16 pixels is the least size
    that the hicolor theme has."""
    assert f"{entry['Icon']}.svg" == ICON.name
    icon = QIcon(str(ICON))
    for size in (16, 48, 256):
        image = icon.pixmap(size, size).toImage()
        seen = {image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())}
        assert image.width() == size
        assert len(seen) > 8


def test_the_entry_has_the_keys_that_an_application_must_have(entry):
    """Desktop Entry Specification 1.5, "Recognized desktop entry keys": Type and Name, and Exec for an application."""
    assert entry["Type"] == "Application"
    assert entry["Name"] == "Handframe"
    assert entry["Version"] == "1.4"  # it uses nothing newer, and older desktops look no further
    assert entry["Terminal"] in ("true", "false")
    assert entry["StartupNotify"] in ("true", "false")


def test_keys_and_values_are_of_the_letters_that_they_may_be_of(entry):
    """Desktop Entry Specification 1.5, "Entries": A-Za-z0-9- in keys; values are not empty here."""
    for key, value in entry.items():
        assert re.fullmatch(r"[A-Za-z0-9-]+", key), key
        assert value, key


def test_the_program_is_started_as_it_is_installed_with_one_file(entry):
    """Desktop Entry Specification 1.5, "The Exec key": %f is a single file, and stands alone as an argument."""
    words = shlex.split(entry["Exec"])
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert f'\n{words[0]} = "app.main:main"' in project
    assert words[1:] == ["%f"]
    assert entry["TryExec"] == words[0]


def test_the_categories_are_registered_and_stand_beside_those_they_ask_for(entry):
    """Desktop Menu Specification, "Registered Categories": Audio asks for AudioVideo, Music for one of its own."""
    categories = set(items(entry["Categories"]))
    assert categories <= MAIN | ADDITIONAL.keys()
    assert "Audio" not in categories or "AudioVideo" in categories
    for name in categories & ADDITIONAL.keys():
        assert not ADDITIONAL[name] or ADDITIONAL[name] & categories


def test_every_type_that_the_entry_opens_is_one_that_is_declared_or_registered(entry, types):
    """IANA, Media Types: text/vnd.abc is registered; audio/midi is the name in the shared MIME-info database."""
    named = items(entry["MimeType"])
    assert len(set(named)) == len(named)
    assert set(types) <= set(named)
    assert set(named) - set(types) == {"audio/midi", "text/vnd.abc"}


def test_a_project_is_known_by_its_suffix_and_scores_by_their_registered_types(types):
    patterns = {name: [glob.get("pattern") for glob in one.iter(f"{MIME}glob")] for name, one in types.items()}
    assert patterns.pop("application/x-handframe") == [f"*{SUFFIX}"]
    assert patterns == {name: [pattern] for name, pattern in MUSICXML.items()}
    assert {pattern[1:] for pattern in (f"*{SUFFIX}", *MUSICXML.values())} <= set(SCORE_SUFFIXES)


def test_every_type_has_a_comment_and_says_what_it_is_made_of(types):
    """Shared MIME-info Database, "The source XML files": the elements that a type may have."""
    allowed = {f"{MIME}{name}" for name in ("comment", "sub-class-of", "root-XML", "glob")}
    for name, one in types.items():
        assert {child.tag for child in one} <= allowed, name
        assert one.findtext(f"{MIME}comment"), name
        assert one.find(f"{MIME}sub-class-of").get("type") in ("application/zip", "application/xml"), name


def test_musicxml_is_also_known_by_its_root(types):
    """MusicXML 4.0: the root of a score is score-partwise or score-timewise, in no namespace."""
    roots = types["application/vnd.recordare.musicxml+xml"].iterchildren(f"{MIME}root-XML")
    assert {(root.get("namespaceURI"), root.get("localName")) for root in roots} == {
        ("", "score-partwise"),
        ("", "score-timewise"),
    }
