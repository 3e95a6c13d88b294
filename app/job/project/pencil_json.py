"""The teacher's marks, passages and choices for paper as plain values for JSON, and read back.

What a newer program wrote is kept: unknown fields of what is still there, and marks of kinds not known here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, fields
from typing import Any, TypeVar

from app.job.teacher.passages import Passage
from app.job.teacher.printing import Copies, Printing
from engraving.marks.teacher import MARK_KINDS, TeacherMark

_V = TypeVar("_V", TeacherMark, Passage)
Plain = Mapping[str, Any]


def marks_to_json(marks: Iterable[TeacherMark], held: Sequence[Plain]) -> list[dict[str, Any]]:
    """The marks, each over what the file ``held`` of it, then those that are not known here."""
    unknown = [dict(plain) for plain in held if plain["kind"] not in MARK_KINDS]
    return _listed(marks, held, ("kind", "first", "last", "text")) + unknown


def marks_from_json(plain: Iterable[Plain]) -> tuple[TeacherMark, ...]:
    """The marks of known kinds; TypeError, ValueError or EngravingError for values that make no mark."""
    return tuple(_value(TeacherMark, one) for one in plain if one["kind"] in MARK_KINDS)


def passages_to_json(passages: Iterable[Passage], held: Sequence[Plain]) -> list[dict[str, Any]]:
    """The passages, each over what the file ``held`` of it."""
    return _listed(passages, held, ("name", "first", "last"))


def passages_from_json(plain: Iterable[Plain]) -> tuple[Passage, ...]:
    """The passages read back."""
    return tuple(_value(Passage, one) for one in plain)


def copies_to_json(copies: Copies) -> dict[str, Any]:
    """Who gets a copy."""
    return {"number": copies.number, "names": list(copies.names)}


def copies_from_json(plain: Plain) -> Copies:
    """Who gets a copy, read back."""
    names = plain.get("names", [])
    if not all(isinstance(name, str) for name in names):
        raise TypeError("the names on copies are text")
    return Copies(_checked(int, plain.get("number", 1)), tuple(names))


def printing_to_json(printing: Printing) -> dict[str, Any]:
    """How parts are printed."""
    return asdict(printing)


def printing_from_json(plain: Plain) -> Printing:
    """How parts are printed, read back."""
    if not isinstance(plain, Mapping):
        raise TypeError("how parts are printed is said by name")
    return _value(Printing, plain)


def on_paper_from_json(plain: Mapping[str, Any]) -> dict[str, bool]:
    """Which digits the teacher wants on paper, read back."""
    return {note_id: _checked(bool, wanted) for note_id, wanted in plain.items()}


def _listed(values: Iterable[_V], held: Sequence[Plain], key: tuple[str, ...]) -> list[dict[str, Any]]:
    kept = {tuple(plain.get(name, "") for name in key): plain for plain in held}
    return [{**kept.get(tuple(getattr(value, name) for name in key), {}), **asdict(value)} for value in values]


_Made = TypeVar("_Made", TeacherMark, Passage, Printing)


def _value(make: type[_Made], plain: Plain) -> _Made:
    """The value of the fields that are there, each of the type its default or name asks for."""
    if not isinstance(plain, Mapping):
        raise TypeError(f"'{plain}' is no table")
    known = {field.name: str(field.type) for field in fields(make)}
    types = {"str": str, "int": int, "float": float, "bool": bool}
    return make(**{name: _checked(types[known[name]], plain[name]) for name in known if name in plain})


def _checked(wanted: type, value: Any) -> Any:
    """The value, if it is of that type; a whole number does for a float."""
    if wanted is float and type(value) is int:
        return float(value)
    if type(value) is not wanted:
        raise TypeError(f"'{value}' is not of the kind {wanted.__name__}")
    return value
