"""Mini scores for tests, written in one line each.

``score("Violin", "4/4", "D5/1 E5 (F#5/2 G5) | [D4 A4]/4")`` gives MusicXML 4.0 bytes that are valid by its schema.
More parts: ``full_score(part("Violin I", "4/4", "..."), part("Viola", "4/4", "..."), title="...")``.

The music is a row of words:

====================  ==================================================================================
``D5/1``              a note and its length in quarter notes (``/0.5``, ``/1/3``); without a length, the last one
``F#5`` ``Bb3``       accidentals; ``F##5``, ``Ebb4`` too; quarter tones as ``C+0.5,5``
``r/1``               a rest
``x/2``               silence without a rest (a forward)
``[D4 A4]/2``         a chord
``D5/2~``             tied on to the next D5 of its voice; in a chord, ``[D4~ A4]/2``
``*E5``               a grace note before the next note
``(D5 E5 F#5)``       a slur; slurs may be nested, and ``(D5 (E5) F#5)`` are two, one after the other
``D5^3`` ``D5_2``     printed finger, printed string: ``D5/1^3_2``, and ``D5/1^o`` for the open-string sign
``D5@n7``             the note's id
``|``                 the next measure
``A5/4 & D4/2 E4``    two voices of one measure; voices after the first begin at its start again
``{3/4}`` ``{2#}``    a new time signature, a new key (``{3b}``, ``{0}``), at the start of a measure
``!mf`` ``!=96``      a dynamic, a tempo in quarter notes a minute
``!<`` ``!>`` ``!.``   a wedge of a crescendo begins, one of a diminuendo; a wedge ends
``D5%tr`` ``D5%turn`` an ornament, see ``_ORNAMENTS``: ``%tr%b`` a trill with a flat, ``%w1`` and ``%w0`` a wavy line
``D5%up`` ``D5%down`` a bow; see ``_SIGNS`` for it and for ``%breath``, ``%caesura``, ``%fermata``
``F#5%=#`` ``F#5%?#`` a printed accidental, ``%=n``, ``%=b``, ``%=##``, ``%=bb`` too; after ``?`` a reminder in brackets
``:``                 first or last in a measure: a section to be repeated begins or ends here
``{1,2.}`` ``{.}``    first in a measure: an ending begins; last in a measure: it ends
``"dolce"``           words above the staff (``"a b"`` with blanks)
====================  ==================================================================================

A mark after a note follows its length: ``D5/1~^3_2@n7)``. After a chord's ``]`` only ``~`` may stand; other marks go
inside, ``[D4^0 A4^1@n7]/2``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm
from xml.sax.saxutils import escape, quoteattr

_WORD = re.compile(r'"[^"]*"|\{[^}]*\}|\(*\*?\[[^\]]*\][^\s]*|\S+')
_NOTE = re.compile(
    r"(?P<opens>\(*)(?P<grace>\*?)(?:\[(?P<chord>[^\]]+)\]|(?P<single>r|x|[A-G][^/~^_@%)\s]*))"
    r"(?:/(?P<length>[\d./]+))?(?P<rest>[^)]*)(?P<closes>\)*)"
)
_MARKS = re.compile(
    r"(?P<tie>~)|\^(?P<finger>[^~^_@%]+)|_(?P<string>[^~^_@%]+)|@(?P<id>[^~^_@%]+)|(?P<signs>(?:%[^~^_@%]+)+)"
)
_ORNAMENTS = {
    "tr": "<trill-mark/>",
    "#": "<accidental-mark>sharp</accidental-mark>",
    "b": "<accidental-mark>flat</accidental-mark>",
    "n": "<accidental-mark>natural</accidental-mark>",
    "w1": '<wavy-line type="start" number="1"/>',
    "wc": '<wavy-line type="continue" number="1"/>',
    "w0": '<wavy-line type="stop" number="1"/>',
    "turn": "<turn/>",
    "mordent": "<mordent/>",
    "trem": '<tremolo type="single">3</tremolo>',
    "trem1": '<tremolo type="start">3</tremolo>',
    "trem0": '<tremolo type="stop">3</tremolo>',
}
# Other signs: the holder they stand in among the notations, and what they are.
_SIGNS = {
    "down": ("technical", "<down-bow/>"),
    "up": ("technical", "<up-bow/>"),
    "breath": ("articulations", "<breath-mark/>"),
    "caesura": ("articulations", "<caesura/>"),
    "fermata": ("", "<fermata/>"),
}
_ACCIDENTALS = {"#": "sharp", "b": "flat", "n": "natural", "##": "double-sharp", "bb": "flat-flat"}
_WEDGES = {"<": "crescendo", ">": "diminuendo", ".": "stop"}
_PITCH = re.compile(r"(?P<step>[A-G])(?P<accidentals>#+|b+|)(?:(?P<alter>[+-][\d.]+),)?(?P<octave>-?\d)")
_TYPES = (("breve", 8), ("whole", 4), ("half", 2), ("quarter", 1), ("eighth", Fraction(1, 2)),
          ("16th", Fraction(1, 4)), ("32nd", Fraction(1, 8)), ("64th", Fraction(1, 16)))  # fmt: skip
_CLEFS = (("violin", "G", 2), ("viola", "C", 3), ("cello", "F", 4), ("bass", "F", 4))


@dataclass(frozen=True, slots=True)
class PartText:
    """One part of a mini score, as written by the caller of ``part``."""

    name: str
    time: str
    music: str
    key: int
    pickup: bool


def score(name: str, time: str, music: str, *, key: int = 0, pickup: bool = False, title: str = "") -> bytes:
    """A score of one part as MusicXML bytes; see the module for the notation."""
    return full_score(part(name, time, music, key=key, pickup=pickup), title=title)


def part(name: str, time: str, music: str, *, key: int = 0, pickup: bool = False) -> PartText:
    """A part for ``full_score``; ``key`` counts sharps, less than 0 flats. A pickup measure has the number 0."""
    return PartText(name, time, music, key, pickup)


def full_score(*parts: PartText, title: str = "") -> bytes:
    """A score of several parts as MusicXML bytes."""
    listed = "".join(
        f'<score-part id="P{i}"><part-name>{escape(text.name)}</part-name></score-part>' for i, text in numbered(parts)
    )
    written = "".join(f'<part id="P{i}">{_measures(text)}</part>' for i, text in numbered(parts))
    work = f"<work><work-title>{escape(title)}</work-title></work>" if title else ""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<score-partwise version="4.0">{work}<part-list>{listed}</part-list>{written}</score-partwise>'
    ).encode()


def numbered(parts: tuple[PartText, ...]) -> Iterator[tuple[int, PartText]]:
    """The parts counted from 1, as their ids count them."""
    return iter(enumerate(parts, start=1))


@dataclass
class _Writer:
    """What lasts from word to word while a part is written."""

    divisions: int
    length: Fraction = Fraction(1)
    slurs: list[int] = field(default_factory=list)
    tied: dict[tuple[int, str], bool] = field(default_factory=dict)


def _measures(text: PartText) -> str:
    lengths = [Fraction(1), *map(_length, re.findall(r"(?<=[\w\]])/([\d./]+)", re.sub(r"\{[^}]*\}", "", text.music)))]
    writer = _Writer(divisions=lcm(*(length.denominator for length in lengths)))
    xml = []
    for index, music in enumerate(text.music.split("|")):
        first = index == 0
        opening = _opening(text, writer.divisions) if first else ""
        implicit = ' implicit="yes"' if first and text.pickup else ""
        number = index if text.pickup else index + 1
        xml.append(f'<measure number="{number}"{implicit}>{opening}{_measure(music, writer)}</measure>')
    return "".join(xml)


def _length(text: str) -> Fraction:
    top, _, bottom = text.partition("/")
    return Fraction(top) / Fraction(bottom or 1)


def _opening(text: PartText, divisions: int) -> str:
    sign, line = next(((s, n) for word, s, n in reversed(_CLEFS) if word in text.name.lower()), ("G", 2))
    bass = "bass" in text.name.lower()
    transpose = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>" if bass else ""
    return (
        f"<attributes><divisions>{divisions}</divisions><key><fifths>{text.key}</fifths></key>{_time(text.time)}"
        f"<clef><sign>{sign}</sign><line>{line}</line></clef>{transpose}</attributes>"
    )


def _time(text: str) -> str:
    beats, _, beat_type = text.partition("/")
    return f"<time><beats>{beats}</beats><beat-type>{beat_type}</beat-type></time>"


def _measure(music: str, writer: _Writer) -> str:
    xml = []
    words_of_all = music.split()
    if words_of_all[:1] == [":"]:
        xml.append(_barline("left", '<repeat direction="forward"/>'))
    for voice, words in enumerate(music.split("&"), start=1):
        filled = Fraction(0)
        for word in _WORD.findall(words):
            written, length = _word(word, voice, writer)
            xml.append(written)
            filled += length
        if voice <= music.count("&"):
            xml.append(f"<backup><duration>{filled * writer.divisions}</duration></backup>")
    if words_of_all[1:][-1:] == [":"]:
        xml.append(_barline("right", '<repeat direction="backward"/>'))
    return "".join(xml)


def _barline(location: str, content: str) -> str:
    return f'<barline location="{location}">{content}</barline>'


def _word(word: str, voice: int, writer: _Writer) -> tuple[str, Fraction]:
    """The MusicXML of one word and the time it takes."""
    match word[0]:
        case ":":
            return "", Fraction(0)
        case "{":
            return _attributes(word[1:-1]), Fraction(0)
        case "!":
            return _direction(word[1:]), Fraction(0)
        case '"':
            return f"<direction>{_direction_type('words', escape(word[1:-1]))}</direction>", Fraction(0)
    found = _NOTE.fullmatch(word)
    if found is None:
        raise ValueError(f"'{word}' is no word of the mini score notation")
    if found["length"]:
        writer.length = _length(found["length"])
    grace = bool(found["grace"])
    length = Fraction(0) if grace else writer.length
    if found["single"] == "x":
        return f"<forward><duration>{length * writer.divisions}</duration></forward>", length
    return _notes(found, voice, grace, writer), length


def _attributes(text: str) -> str:
    if text == ".":
        return _barline("right", '<ending number="1" type="stop"/>')
    if text.endswith("."):
        return _barline("left", f'<ending number="{text[:-1]}" type="start"/>')
    if "/" in text:
        return f"<attributes>{_time(text)}</attributes>"
    fifths = int(text.rstrip("#b")) * (-1 if text.endswith("b") else 1)
    return f"<attributes><key><fifths>{fifths}</fifths></key></attributes>"


def _direction(text: str) -> str:
    if text.startswith("="):
        mark = f"<beat-unit>quarter</beat-unit><per-minute>{text[1:]}</per-minute>"
        return f'<direction>{_direction_type("metronome", mark)}<sound tempo="{text[1:]}"/></direction>'
    if text in _WEDGES:
        return f'<direction><direction-type><wedge type="{_WEDGES[text]}"/></direction-type></direction>'
    return f"<direction>{_direction_type('dynamics', f'<{text}/>')}</direction>"


def _direction_type(tag: str, content: str) -> str:
    return f"<direction-type><{tag}>{content}</{tag}></direction-type>"


def _notes(found: re.Match[str], voice: int, grace: bool, writer: _Writer) -> str:
    members = (found["chord"] or found["single"]).split()
    if found["chord"] and found["rest"] not in ("", "~"):
        raise ValueError(f"'{found['rest']}' after a chord belongs inside its brackets")
    stops = _close(found["closes"], writer)
    starts = _open(found["opens"], writer)
    slurs = "".join(f'<slur type="stop" number="{n}"/>' for n in stops)
    slurs += "".join(f'<slur type="start" number="{n}"/>' for n in starts)
    xml = []
    for place, member in enumerate(members):
        marks = _marks(member[_pitch_end(member) :] + found["rest"])
        name = member[: _pitch_end(member)]
        xml.append(_note(name, voice, grace, place, marks, slurs if place == 0 else "", writer))
    return "".join(xml)


def _open(brackets: str, writer: _Writer) -> list[int]:
    opened = []
    for _ in brackets:
        number = next(n for n in range(1, 17) if n not in writer.slurs)
        writer.slurs.append(number)
        opened.append(number)
    return opened


def _close(brackets: str, writer: _Writer) -> list[int]:
    if len(brackets) > len(writer.slurs):
        raise ValueError("a slur ends in the mini score that never began")
    return [writer.slurs.pop() for _ in brackets]


def _pitch_end(member: str) -> int:
    found = _PITCH.match(member)
    return found.end() if found else 1


def _marks(text: str) -> dict[str, str]:
    marks: dict[str, str] = {}
    for found in _MARKS.finditer(text):
        marks.update({kind: value for kind, value in found.groupdict().items() if value})
    return marks


def _note(name: str, voice: int, grace: bool, place: int, marks: dict[str, str], slurs: str, writer: _Writer) -> str:
    tied_from = writer.tied.pop((voice, name), False)
    if "tie" in marks:
        writer.tied[voice, name] = True
    ties = [kind for kind, there in (("stop", tied_from), ("start", "tie" in marks)) if there]
    note_id = f" id={quoteattr(marks['id'])}" if "id" in marks else ""
    kind, timing = _type("eighth" if grace else "", writer.length)
    duration = "" if grace else f"<duration>{writer.length * writer.divisions}</duration>"
    return (
        f"<note{note_id}>{'<grace/>' if grace else ''}{'<chord/>' if place else ''}{_sound(name)}{duration}"
        f"{_each('tie', ties)}<voice>{voice}</voice>{kind}{_accidental(marks)}{timing}"
        f"{_notations(ties, slurs, marks)}</note>"
    )


def _accidental(marks: dict[str, str]) -> str:
    for name in _named(marks):
        if name[0] in "=?":
            brackets = ' cautionary="yes" parentheses="yes"' if name[0] == "?" else ""
            return f"<accidental{brackets}>{_ACCIDENTALS[name[1:]]}</accidental>"
    return ""


def _named(marks: dict[str, str]) -> list[str]:
    """What stands after each ``%`` of a note."""
    return marks.get("signs", "").split("%")[1:]


def _each(tag: str, kinds: list[str]) -> str:
    return "".join(f'<{tag} type="{kind}"/>' for kind in kinds)


def _sound(name: str) -> str:
    if name == "r":
        return "<rest/>"
    found = _PITCH.fullmatch(name)
    if found is None:
        raise ValueError(f"'{name}' is no pitch of the mini score notation")
    alter = found["alter"] or str(found["accidentals"].count("#") - found["accidentals"].count("b"))
    altered = "" if alter == "0" else f"<alter>{float(alter):g}</alter>"
    return f"<pitch><step>{found['step']}</step>{altered}<octave>{found['octave']}</octave></pitch>"


def _type(fixed: str, length: Fraction) -> tuple[str, str]:
    """The written type with dots, and the tuplet ratio; nothing for a length that no single note has."""
    if fixed:
        return f"<type>{fixed}</type>", ""
    for actual, normal in ((1, 1), (3, 2), (5, 4)):
        for name, value in _TYPES:
            for dots in range(3):
                if length * actual / normal == value * (2 - Fraction(1, 2**dots)):
                    ratio = f"<actual-notes>{actual}</actual-notes><normal-notes>{normal}</normal-notes>"
                    timing = "" if actual == 1 else f"<time-modification>{ratio}</time-modification>"
                    return f"<type>{name}</type>{'<dot/>' * dots}", timing
    return "", ""


def _notations(ties: list[str], slurs: str, marks: dict[str, str]) -> str:
    content = _each("tied", ties) + slurs
    holders = {"ornaments": "", "technical": "", "articulations": "", "": ""}
    for name in _named(marks):
        if name[0] not in "=?":
            holder, sign = _SIGNS.get(name) or ("ornaments", _ORNAMENTS[name])
            holders[holder] += sign
    ornaments, technical, articulations = holders["ornaments"], holders["technical"], holders["articulations"]
    content += f"<ornaments>{ornaments}</ornaments>" if ornaments else ""
    if marks.get("finger") == "o":
        technical += "<open-string/>"
    elif "finger" in marks:
        technical += f"<fingering>{escape(marks['finger'])}</fingering>"
    if "string" in marks:
        technical += f"<string>{marks['string']}</string>"
    content += f"<technical>{technical}</technical>" if technical else ""
    content += f"<articulations>{articulations}</articulations>" if articulations else ""
    content += holders[""]
    return f"<notations>{content}</notations>" if content else ""
