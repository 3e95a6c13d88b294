"""What a ``<direction>`` or a ``<sound>`` says to the player: tempo, loudness, pizzicato, who plays."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from functools import lru_cache

from lxml import etree

from engraving.elements import metronome_tempo, number_in, sound_tempo
from engraving.reading.playerwords import players_in
from engraving.reading.swellwords import names_level, swell_in
from engraving.reading.tempowords import TempoWord, tempo_word

_LEVELS = frozenset(
    ("pppppp", "ppppp", "pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff", "fffff", "ffffff")
)
# Marks of an attack that say how to go on. A bare sf, sfz, fz or rf holds for its note alone; n ends a hairpin.
_LEFT_IN_FORCE = {"fp": "p", "ffp": "p", "sfp": "p", "sfpp": "pp", "sfzp": "p", "pf": "f"}
_LINES = ("wedge", "dashes")
_SPEAKING = frozenset(("sound", "metronome", "dynamics", "words", *_LINES))
_PLUCKED = re.compile(r"\b(?P<yes>pizz|pizzicato|pizzicati)\b|\barco\b", re.IGNORECASE)
_DIVIDED = re.compile(
    r"\bnon\s+div(?:isi)?(?!\w)"
    r"|\b(?P<yes>div|divis|divisi|divisés|divisées)\b"
    r"|\b(?:unis|unisono|unisoni|unisson|uniti|unite|tutti|[aà] ?2)(?!\w)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Line:
    """One end of a "wedge" or of "dashes", as its ``sign`` says; ``kind`` is its type, ``number`` tells two apart."""

    sign: str
    kind: str
    number: str


@dataclass(frozen=True, slots=True)
class Said:
    """What one direction says; ``None`` and "" where it says nothing of the kind.

    ``tempo`` in quarter notes a minute. ``players`` as ``analysis.music.Note`` has it. ``swell``: its words ask for a
    crescendo, ``False`` for a diminuendo. ``names_level``: they name a dynamic. ``voice`` and ``staff`` as
    named.
    """

    tempo: float | None = None
    word: TempoWord | None = None
    dynamic: str = ""
    pizzicato: bool | None = None
    divisi: bool | None = None
    players: str = ""
    swell: bool | None = None
    names_level: bool = False
    lines: tuple[Line, ...] = ()
    voice: str = ""
    staff: int | None = None

    @property
    def is_tempo(self) -> bool:
        """Whether it sets a tempo, by number or by word."""
        return self.tempo is not None or self.word is not None

    @property
    def is_playing(self) -> bool:
        """Whether it says how to play from here on, beside the tempo."""
        return bool(self.dynamic or self.players) or self.pizzicato is not None or self.divisi is not None

    @property
    def is_swelling(self) -> bool:
        """Whether it begins or ends a gradual change of loudness, in words or drawn."""
        return bool(self.lines) or self.swell is not None or self.names_level


_NOTHING = Said()


def said_in(element: etree._Element) -> Said:
    """What a ``<direction>``, or a ``<sound>`` that stands free in the measure, says.

    A sound goes before the printed sign of the same direction, for tempo and for pizzicato.
    """
    if element.tag == "sound":
        return Said(tempo=sound_tempo(element), pizzicato=_yes_or_no(element.get("pizzicato")))
    signs: dict[str, list[etree._Element]] = defaultdict(list)
    for child in element:
        for sign in child if child.tag == "direction-type" else (child,):
            signs[str(sign.tag)].append(sign)
    if signs.keys().isdisjoint(_SPEAKING):
        return _NOTHING
    tempi = (*map(sound_tempo, signs["sound"]), *map(metronome_tempo, signs["metronome"]))
    levels = map(dynamic_in, reversed(signs["dynamics"]))
    text = " ".join(" ".join(words.text or "" for words in signs["words"]).split())
    sounding = (_yes_or_no(sound.get("pizzicato")) for sound in signs["sound"])
    return Said(
        tempo=next(filter(None, tempi), None),
        word=tempo_word(text) if text else None,
        dynamic=next(filter(None, levels), ""),
        pizzicato=next((says for says in sounding if says is not None), plucked_in(text)),
        divisi=divided_in(text) if text else None,
        players=players_in(text) if text else "",
        swell=swell_in(text) if text else None,
        names_level=bool(text) and names_level(text),
        lines=tuple(_line(line) for sign in _LINES for line in signs[sign]),
        voice=next(((voice.text or "").strip() for voice in signs["voice"]), ""),
        staff=next((staff_in(staff.text) for staff in signs["staff"]), None),
    )


def dynamic_in(element: etree._Element) -> str:
    """The dynamic that a ``<dynamics>`` element leaves in force, "" where it changes nothing.

    Of several the last counts. ``sf``, ``sfz``, ``fz``, ``rf`` and their like change nothing, ``fp`` leaves ``p``.
    """
    level = ""
    for child in element:
        names = (child.text or "").split() if child.tag == "other-dynamics" else [str(child.tag)]
        for name in names:
            level = _LEFT_IN_FORCE.get(name, name if name in _LEVELS else level)
    return level


@lru_cache(maxsize=1024)
def plucked_in(words: str) -> bool | None:
    """Whether words call for pizzicato, ``False`` for arco, ``None`` when they speak of neither; the first counts."""
    found = _PLUCKED.search(words)
    return None if found is None else found["yes"] is not None


@lru_cache(maxsize=1024)
def divided_in(words: str) -> bool | None:
    """Whether words divide the players (div.), ``False`` for unis., tutti, non div. and à 2, ``None`` for neither.

    "div. à 2" divides, and so does "tutti div.".
    """
    found = list(_DIVIDED.finditer(words))
    return any(one["yes"] for one in found) if found else None


def staff_in(text: str | None) -> int | None:
    """The staff a ``<staff>`` element names, counted from 1; ``None`` when it names none."""
    number = number_in(text)
    return int(number) if number is not None and number.denominator == 1 and number > 0 else None


def _line(element: etree._Element) -> Line:
    return Line(str(element.tag), element.get("type", ""), element.get("number", "1"))


def _yes_or_no(text: str | None) -> bool | None:
    return {"yes": True, "no": False}.get(text or "")
