"""Damaged values that end the engraver's process are kept from it."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.extract import part_for_engraving
from tests.scores import score

TIME = b"<time><beats>4</beats><beat-type>4</beat-type></time>"


def extracted(time: bytes) -> etree._Element:
    data = score("Viola", "4/4", "D5/4").replace(TIME, time)
    return etree.fromstring(part_for_engraving(read_document(data, "x.xml"), "P1"))


@pytest.mark.parametrize("kind", ["0", "-4", "NaN", "", "x", "9" * 30, "1.5"])
def test_a_time_signature_that_counts_no_note_value_is_left_out(kind: str) -> None:
    assert extracted(TIME.replace(b"<beat-type>4", f"<beat-type>{kind}".encode())).find(".//time") is None


def test_a_time_signature_without_a_note_value_is_left_out() -> None:
    assert extracted(b"<time><beats>4</beats></time>").find(".//time") is None


@pytest.mark.parametrize(
    "time",
    [
        TIME,
        b"<time><senza-misura/></time>",
        b"<time><beats>3+2</beats><beat-type>8</beat-type><beats>1</beats><beat-type>4</beat-type></time>",
        b"<time><beats>2.5</beats><beat-type>4</beat-type></time>",
    ],
)
def test_other_time_signatures_stay(time: bytes) -> None:
    assert extracted(time).find(".//time") is not None


def test_it_stays_in_the_document() -> None:
    document = read_document(score("Viola", "4/4", "D5/4").replace(TIME, b"<time><beats>4</beats></time>"), "x.xml")
    part_for_engraving(document, "P1")
    assert document.tree.find(".//time") is not None
