"""A tune with marks of the teacher's written into it, and what stands at its notes then."""

from __future__ import annotations

from lxml import etree

from engraving.document import read_document
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.marks.writing import marked_tree
from tests.scores import score

TUNE = score("Violin", "4/4", "D5/1@a E5@b F#5@c G5@d | *C5@grace [D4@low A4@high]/2 B4@e | A5/4@up & D4/2@v D4@w")
TEXTS = {"dynamic": "mf", "text": "listen", "margin-text": "theme", "position": "3rd pos.", "string": "III",
         "held-position": "3rd pos."}  # fmt: skip


def mark(kind: str, first: str, last: str = "", text: str = "", dx: float = 0.0, dy: float = 0.0) -> TeacherMark:
    return TeacherMark(kind, first, last, text or TEXTS.get(kind, ""), dx, dy)


def one_of_each() -> list[TeacherMark]:
    """A mark of every kind, alone."""
    return [mark(name, "a", "d" if kind.scope == "range" else "") for name, kind in MARK_KINDS.items()]


def pencilled(*marks: TeacherMark, data: bytes = TUNE, colour: str | None = None) -> etree._Element:
    return marked_tree(read_document(data, "tune.xml"), [], marks, colour=colour).getroot()


def texts(elements: list[etree._Element]) -> list[str]:
    return [etree.tostring(element, with_tail=False).decode() for element in elements]


def technical(content: str) -> str:
    return f"<technical>{content}</technical>"


def articulations(content: str) -> str:
    return f"<articulations>{content}</articulations>"


def notations(root: etree._Element, note_id: str) -> str:
    """What stands in the notations of a note, as text."""
    return "".join(text for found in root.xpath(f"//note[@id='{note_id}']/notations") for text in texts(list(found)))


def measure(root: etree._Element, number: int) -> list[str]:
    """The notes of a measure by their ids, and the signs of its directions, in order."""
    row = []
    for child in root.iterfind(f"part/measure[{number}]/*"):
        if child.tag == "note":
            row.append(str(child.get("id")))
        elif child.tag == "direction":
            signs = child.findall("direction-type/*")
            row.append(" ".join(" ".join((str(sign.tag), sign.get("type", ""))).strip() for sign in signs))
        elif child.tag == "backup":
            row.append("backup")
    return row
