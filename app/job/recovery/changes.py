"""What is different between two values of plain JSON, and one made into the other again.

A change is a list: the path of keys to what changes, then what becomes of it: ``"set"`` and the value, ``"drop"``, or
``"splice"``, where it begins in a list, how many items go, and the items that come in their place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

Change = list[Any]


def differences(old: dict[str, Any], new: dict[str, Any]) -> list[Change]:
    """The changes that make ``new`` of ``old``; numbers that are equal count as the same, whole or not."""
    return list(_between([], old, new))


def apply(plain: dict[str, Any], changes: Sequence[Any]) -> None:
    """Make changes to ``plain`` itself; ValueError when they do not fit it."""
    for change in changes:
        try:
            _apply(plain, *change)
        except (TypeError, LookupError) as error:
            raise ValueError(f"the change {change!r} does not fit") from error


def _between(path: list[str], old: Any, new: Any) -> Iterator[Change]:
    if old is new:
        return
    if isinstance(old, dict) and isinstance(new, dict):
        yield from ([[*path, key], "drop"] for key in old if key not in new)
        for key, value in new.items():
            if key not in old:
                yield [[*path, key], "set", value]
            elif old[key] is not value and old[key] != value:
                yield from _between([*path, key], old[key], value)
    elif isinstance(old, list) and isinstance(new, list):
        first, last = _common(old, new)
        yield [path, "splice", first, len(old) - first - last, new[first : len(new) - last]]
    else:
        yield [path, "set", new]


def _common(old: Sequence[Any], new: Sequence[Any]) -> tuple[int, int]:
    """How many items are the same at the beginning of two lists, and how many of the others at their end."""
    most = min(len(old), len(new))
    first = next((index for index in range(most) if old[index] != new[index]), most)
    last = next((index for index in range(most - first) if old[-1 - index] != new[-1 - index]), most - first)
    return first, last


def _apply(plain: Any, path: Sequence[str], what: str, *values: Any) -> None:
    for key in path[:-1]:
        plain = plain[key]
    match what, values:
        case "set", (value,):
            plain[path[-1]] = value
        case "drop", ():
            del plain[path[-1]]
        case "splice", (int(first), int(count), list(items)):
            whole = plain[path[-1]]
            if not isinstance(whole, list) or not 0 <= first <= first + count <= len(whole):
                raise LookupError(path)
            whole[first : first + count] = items
        case _:
            raise TypeError(what)
