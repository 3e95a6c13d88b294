"""What is done to a sound file: elements dropped, doubled, swapped and misnamed, bytes corrupted, archives spoilt."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable
from copy import deepcopy
from random import Random

from lxml import etree

from engraving.archive import archive_of

_NUMBERS = (
    "0",
    "-1",
    "-0",
    "1e9",
    "NaN",
    "inf",
    "1/0",
    "1_0",
    "3.7",
    "٣",
    "½",
    "99",
    "2147483648",
    "9" * 23,
    "9" * 5000,
)
_WORDS = ("", " ", "x" * 5000, "yes", "no", "start", "stop", "\u202e", "\n\n", "T", "-", "none", "\U0001d11e")
_VALUES = (*_NUMBERS, *_WORDS)
_TAGS = (
    "note", "chord", "grace", "cue", "rest", "pitch", "unpitched", "duration", "backup", "forward", "measure", "part",
    "attributes", "divisions", "time", "key", "clef", "transpose", "direction", "sound", "barline", "notations",
    "technical", "fingering", "slur", "tied", "tuplet", "staff-details", "harmony", "print", "measure-style",
)  # fmt: skip
Elements = list[etree._Element]


def of_tree(random: Random, data: bytes) -> bytes:
    """The XML with one to four changes to its elements."""
    root = etree.fromstring(data.lstrip())
    for _ in range(random.choice((1, 1, 1, 2, 4))):
        elements = [element for element in root.iter(etree.Element) if element is not root]
        if elements:
            random.choice(_CHANGES)(random, elements)
    text: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8")
    return text


def _drop(random: Random, elements: Elements) -> None:
    element = random.choice(elements)
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)


def _double(random: Random, elements: Elements) -> None:
    element = random.choice(elements)
    for _ in range(random.choice((1, 1, 3, 40))):
        element.addnext(deepcopy(element))


def _move(random: Random, elements: Elements) -> None:
    """A copy of an element into any other."""
    twin, home = deepcopy(random.choice(elements)), random.choice(elements)
    home.insert(random.randint(0, len(home)), twin)


def _swap(random: Random, elements: Elements) -> None:
    first, second = random.choice(elements), random.choice(elements)
    one, other = deepcopy(first), deepcopy(second)
    for old, new in ((first, other), (second, one)):
        parent = old.getparent()
        if parent is not None:
            parent.replace(old, new)


def _say(random: Random, elements: Elements) -> None:
    texts = [element for element in elements if (element.text or "").strip()] or elements
    value = random.choice(_VALUES)
    chosen = random.choice(texts)
    every = random.random() < 0.2
    for element in elements if every else (chosen,):
        if element.tag == chosen.tag:
            element.text = value


def _attribute(random: Random, elements: Elements) -> None:
    element = random.choice([element for element in elements if element.attrib] or elements)
    name = random.choice([*map(str, element.attrib), "number", "type", "id", "print-object", "location"])
    element.set(name, random.choice(_VALUES))


def _without_attributes(random: Random, elements: Elements) -> None:
    random.choice(elements).attrib.clear()


def _rename(random: Random, elements: Elements) -> None:
    random.choice(elements).tag = random.choice(_TAGS)


def _wrap(random: Random, elements: Elements) -> None:
    element = random.choice(elements)
    parent = element.getparent()
    if parent is not None:
        holder = etree.Element(random.choice(_TAGS))
        parent.replace(element, holder)
        holder.append(element)


def _shuffle(random: Random, elements: Elements) -> None:
    element = random.choice([element for element in elements if len(element) > 1] or elements)
    children = list(element)
    random.shuffle(children)
    element[:] = children


_CHANGES: tuple[Callable[[Random, Elements], None], ...] = (
    _drop, _double, _move, _swap, _say, _say, _say, _attribute, _attribute, _without_attributes,
    _rename, _wrap, _shuffle,
)  # fmt: skip


def of_bytes(random: Random, data: bytes) -> bytes:
    """The bytes with one to four changes, whatever they mean."""
    for _ in range(random.choice((1, 1, 1, 2, 4))):
        data = random.choice(_CORRUPTIONS)(random, data)
    return data


def _place(random: Random, data: bytes) -> tuple[int, int]:
    start = random.randint(0, len(data))
    return start, min(len(data), start + random.choice((1, 4, 40, 400)))


def _truncate(random: Random, data: bytes) -> bytes:
    return data[: random.randint(0, len(data))]


def _flip(random: Random, data: bytes) -> bytes:
    changed = bytearray(data)
    for _ in range(random.choice((1, 3, 30))):
        if changed:
            changed[random.randrange(len(changed))] ^= 1 << random.randrange(8)
    return bytes(changed)


def _cut(random: Random, data: bytes) -> bytes:
    start, stop = _place(random, data)
    return data[:start] + data[stop:]


def _repeat(random: Random, data: bytes) -> bytes:
    start, stop = _place(random, data)
    return data[:stop] + data[start:stop] * random.choice((1, 2, 50)) + data[stop:]


def _insert(random: Random, data: bytes) -> bytes:
    start, _ = _place(random, data)
    return data[:start] + random.randbytes(random.choice((1, 4, 64))) + data[start:]


def _digits(random: Random, data: bytes) -> bytes:
    """A digit somewhere becomes another number."""
    start, _ = _place(random, data)
    found = next((at for at in range(start, len(data)) if data[at : at + 1].isdigit()), None)
    return data if found is None else data[:found] + random.choice(_NUMBERS).encode() + data[found + 1 :]


def _recode(random: Random, data: bytes) -> bytes:
    text = data.decode("utf-8", "replace")
    return random.choice(
        (
            text.encode("utf-16"),
            text.encode("utf-16-le"),
            text.encode("utf-16-be"),
            text.encode("utf-8-sig"),
            text.encode("latin-1", "replace"),
            text.replace("UTF-8", "UTF-16").encode(),
            text.replace("UTF-8", "ISO-8859-1").encode(),
            b"\0" + data,
        )
    )


_CORRUPTIONS: tuple[Callable[[Random, bytes], bytes], ...] = (
    _truncate, _flip, _cut, _repeat, _insert, _digits, _digits, _recode,
)  # fmt: skip


def of_archive(random: Random, data: bytes) -> bytes:
    """The score packed, with something wrong about the archive, or corrupted once it is packed."""
    if random.random() < 0.5:
        return of_bytes(random, archive_of(data, "score.musicxml"))
    container = b'<container><rootfiles><rootfile full-path="score.musicxml"/></rootfiles></container>'
    members = {"META-INF/container.xml": container, "score.musicxml": data}
    odd = random.choice(("../up.xml", "/root.xml", "a\\b.xml", "C:/x.xml", "score.musicxml/", "é.xml", "", "b.xml"))
    members[odd] = random.choice((b"", data, b"\0" * 3_000_000, archive_of(data, "inner.xml")))
    for name in list(members):
        match random.randrange(8):
            case 0:
                del members[name]
            case 1:
                members[name] = of_bytes(random, members[name])
            case 2:
                members[name] = random.choice(list(members.values()))
    return _zipped(random, members)


def _zipped(random: Random, members: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    packing = random.choice((zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA))
    with zipfile.ZipFile(buffer, "w", packing) as archive:
        for name, content in members.items():
            info = zipfile.ZipInfo(name)
            info.compress_type = packing
            info.external_attr = random.choice((0, 0o100644 << 16, 0o120777 << 16 if random.random() < 0.2 else 0))
            archive.writestr(info, content)
    return buffer.getvalue()
