"""The engraver as the commands call it: should it hang or crash over a score, one sentence says so."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from analysis.language import _
from app.errors import AppError
from engraving.apart import BrokenOffError, Call, OverdueError, Worker
from engraving.limits import LIMITS

_V = TypeVar("_V")


@contextmanager
def engraver_apart(name: str, seconds: float = LIMITS.engrave_seconds) -> Iterator[Call]:
    """What calls the engraver in a process of its own; AppError names the score when no answer comes in ``seconds``."""
    worker = Worker(LIMITS.engrave_bytes)

    def call(work: Callable[..., _V], /, *arguments: Any) -> _V:
        try:
            return worker.call(work, *arguments, seconds=seconds)
        except OverdueError as error:
            words = _("{file} is not engraved in {minutes:g} minutes: it is too long, or damaged")
            raise AppError(words.format(file=name, minutes=seconds / 60)) from error
        except MemoryError as error:
            words = _("{file} needs too much memory to be engraved: it is too long, or damaged")
            raise AppError(words.format(file=name)) from error
        except BrokenOffError as error:
            raise AppError(_("{file}: the engraver broke down over it").format(file=name)) from error

    try:
        yield call
    finally:
        worker.end()
