"""The sentences that the code marks for translation, once as Babel extracts them and once as Python parses them."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from babel.messages.extract import extract_from_dir

ROOT = Path(__file__).parents[3]
ROOMS = ("app", "engraving", "analysis")
# What each name of ``analysis.language`` marks, as Babel takes it: singular and plural, or context and text.
KEYWORDS = {"_": None, "n_": (1, 2), "p_": ((1, "c"), 2), "later": None}
_LITERALS = {"_": 1, "n_": 2, "p_": 2, "later": 1}

# A context, "" for none; the sentence; its plural, "" for none.
Message = tuple[str, str, str]


@cache
def extracted() -> Mapping[tuple[str, str], frozenset[str]]:
    """What Babel finds in all rooms: by context and sentence its plurals, "" where it is said without one."""
    found: dict[tuple[str, str], set[str]] = defaultdict(set)
    for room in ROOMS:
        for _file, _line, message, _comments, context in extract_from_dir(
            ROOT / room, [("**.py", "python")], {}, KEYWORDS
        ):
            one, many = message if isinstance(message, tuple) else (message, "")
            found[context or "", one].add(many)
    return MappingProxyType({said: frozenset(plurals) for said, plurals in found.items()})


def messages() -> set[Message]:
    """The same as a catalogue has it: a sentence that is said with and without its plural is one message."""
    return {(*said, max(plurals)) for said, plurals in extracted().items()}


@cache
def calls() -> tuple[tuple[str, ast.Call], ...]:
    """Every call that marks a sentence, and where it stands."""
    return tuple(
        (f"{path.relative_to(ROOT)}:{node.lineno}", node)
        for path in sorted(path for room in ROOMS for path in (ROOT / room).rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in KEYWORDS
    )


def literal_messages() -> Iterator[tuple[str, Message]]:
    """The messages that stand in these calls word for word, and where."""
    for where, call in calls():
        assert isinstance(call.func, ast.Name)
        texts = [str(one.value) for one in call.args[: _LITERALS[call.func.id]] if isinstance(one, ast.Constant)]
        if len(texts) == _LITERALS[call.func.id]:
            match call.func.id, texts:
                case "p_", (context, one):
                    yield where, (context, one, "")
                case "n_", (one, many):
                    yield where, ("", one, many)
                case _, (one,):
                    yield where, ("", one, "")
