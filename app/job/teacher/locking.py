"""Locks in a teacher's words: ``12-16: 3rd position``, ``20: on the A string``, ``7: finger 2``, ``4: open``.

What is fixed may be said in any order and joined: ``12-16: finger 2 on the A string in 3rd position``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType

from analysis.fingering.locks import Lock
from analysis.fingering.placements import THUMB, finger_in, hand_places
from analysis.instruments import Instrument
from analysis.language import _, later
from analysis.music import Part
from app.errors import AppError
from app.job.words.finding import find_measures
from app.job.words.names import position_key

_Reader = Callable[[str, Instrument], Lock]


def with_ranges_locked(
    part: Part, instrument: Instrument, locks: Mapping[str, Lock], asked: Iterable[str]
) -> dict[str, Lock]:
    """The ``locks`` of a part by note id, with those that each text of ``asked`` puts on a range of measures.

    Where two ask for unlike things of a note, the later one counts. AppError says what cannot be read.
    """
    found = dict(locks)
    for text in asked:
        measures, colon, what = text.partition(":")
        if not colon:
            raise AppError(
                _(
                    "the lock '{text}' lacks a colon; say measures and what is fixed, as in '12-16: 3rd position'"
                ).format(text=text)
            )
        range_ = find_measures(part, measures.strip())
        found = with_measures_locked(part, found, range_, read_lock(what, instrument))
    return found


def with_measures_locked(
    part: Part, locks: Mapping[str, Lock], measures: tuple[int, int], lock: Lock
) -> dict[str, Lock]:
    """The ``locks`` of a part by note id, with one more on every note struck in ``measures`` (indices, both included).

    Where a note's lock asks for another thing, the new one counts.
    """
    found = dict(locks)
    for note in part.notes:
        # A note tied from before the range is struck before it.
        if measures[0] <= note.measure <= measures[1] and not note.tied_from:
            found[note.id] = found.get(note.id, Lock()).joined_with(lock)
    return found


def read_lock(text: str, instrument: Instrument) -> Lock:
    """The lock that words such as ``finger 2 on the A string`` mean on an instrument; AppError where they mean none.

    >>> from analysis.instruments import CELLO
    >>> read_lock("thumb on the A string", CELLO), read_lock("in upper 2nd position", CELLO)
    (Lock(string=1, position=None, finger=5, hand=None), Lock(string=None, position=2, finger=None, hand=4.0))
    """
    rest, lock = " ".join(text.split()), Lock()
    while rest:
        new, length = _phrase(rest, instrument)
        if not length:
            raise _unreadable(text)
        for name, twice in _TWICE.items():
            if None not in (getattr(lock, name), getattr(new, name)):
                raise AppError(_(twice).format(text=text.strip()))
        lock, rest = lock.joined_with(new), rest[length:]
    if lock == Lock():
        raise _unreadable(text)
    return lock


def _phrase(text: str, instrument: Instrument) -> tuple[Lock, int]:
    """The lock that the beginning of a text means, and how long that beginning is; 0 where it means none."""
    for pattern, read in _PHRASES:
        said = re.match(rf"{pattern}(?=[\s,]|$)[\s,]*", text, re.IGNORECASE)
        if said is not None:
            return read(said[1], instrument), said.end()
    return Lock(), 0


def _unreadable(text: str) -> AppError:
    return AppError(
        _(
            "'{text}' is nothing to fix a note to; say a position ('3rd position'), a string ('on the A "
            "string'), a finger ('finger 2', 'thumb') or 'open'"
        ).format(text=text.strip())
    )


def _finger(said: str, instrument: Instrument) -> Lock:
    finger = finger_in(said.upper())
    if finger is None:
        raise AppError(_("there is no finger {said}; fingers are 1 to 4, and T for the thumb").format(said=said))
    if finger == THUMB and instrument.letter_frame:
        raise AppError(_("the {instrument} is not played with the thumb").format(instrument=instrument.words))
    return Lock(finger=finger)


def _string(said: str, instrument: Instrument) -> Lock:
    for string in instrument.strings:
        if said.upper() in (string.letter, str(string.number)):
            return Lock(string=string.number)
    letters = ", ".join(string.letter for string in instrument.strings)
    said_no = _("the {instrument} has no {string} string; its strings are {letters}")
    if said.isdigit():
        said_no = _("the {instrument} has no string {string}; its strings are {letters}")
    raise AppError(said_no.format(instrument=instrument.words, string=said.upper(), letters=letters))


def _position(said: str, instrument: Instrument) -> Lock:
    """A position by the name the program says it with, by another name for it, or by its number."""
    every = hand_places(instrument)
    named = [place for place in every if place.name.casefold() == said.casefold()]
    numbered = [
        place for place in every if said.casefold() in (str(place.number), position_key(place.number, instrument))
    ]
    called = [place for place in every if said.casefold() in map(str.casefold, place.aliases)]
    found = named or numbered or called
    if not found:
        names = ", ".join(dict.fromkeys(place.name for place in every))
        raise AppError(
            _("the {instrument} has no {said} position; it has {names}").format(
                instrument=instrument.words, said=said, names=names
            )
        )
    number = found[0].number
    shared = len(found) == 1 and sum(place.number == number for place in every) > 1
    return Lock(position=number, hand=found[0].place if shared else None)


_PHRASES: tuple[tuple[str, _Reader], ...] = (
    (r"(open)", lambda said, instrument: Lock(finger=0)),
    (r"(?:with )?(?:the )?(thumb)(?! position)", lambda said, instrument: _finger("T", instrument)),
    (r"finger (\w+)", _finger),
    (r"(?:on )?(?:the )?([a-z]) string", _string),
    (r"(?:on )?string (\d+)", _string),
    (r"(?:in )?(?:the )?position ([\w-]+)", _position),
    (r"(?:in )?(?:the )?((?:lower |upper |1 |3 )?[\w/-]+) position", _position),
)
_TWICE = MappingProxyType(
    {
        "string": later("'{text}' asks for two strings at once"),
        "position": later("'{text}' asks for two positions at once"),
        "finger": later("'{text}' asks for two fingers at once"),
    }
)
