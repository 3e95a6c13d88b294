"""``handframe compare``: weigh house rules against each other on a passage."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from analysis.fingering.rules.files import find_rules
from analysis.language import _
from analysis.wording import decimal
from app.cli.asked import Passage, asked_passage
from app.cli.engraver import engraver_apart
from app.cli.headless import use_offscreen
from app.cli.tables import plan_object
from app.errors import AppError
from app.job.comparing.strips import comparison_sheet
from app.job.comparing.ways import Weighed, comparison_rows, weigh
from app.job.words.names import rules_title
from engraving.atomic import write_atomically

_FIRST_COLUMN = 32  # as wide as it is at least, in letters


@dataclass(frozen=True, slots=True)
class Compared:
    """A passage of a part, played under each of several rules."""

    passage: Passage
    ways: tuple[Weighed, ...]


def run_compare(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    writers = [(path, _writer(path)) for path in arguments.output]
    compared = _compare(arguments)
    for path, write in writers:
        write(compared, path)
    if not writers:
        sys.stdout.writelines(f"{line}\n" for line in _table(compared))


def _compare(arguments: argparse.Namespace) -> Compared:
    every_rules = [find_rules(name) for name in arguments.rules]
    if len(every_rules) < 2:
        raise AppError(_("to compare, say --rules at least twice"))
    passage = asked_passage(arguments, None)
    return Compared(passage, weigh(passage.part, passage.work, passage.measures, every_rules))


def _table(compared: Compared) -> Iterator[str]:
    yield compared.passage.title
    titles = [rules_title(way.rules) for way in compared.ways]
    width = max(12, *map(len, titles))
    rows = comparison_rows(compared.ways)
    first = max(_FIRST_COLUMN, *(len(name) for name, _values in rows))
    yield " " * first + "".join(f"{title:>{width + 2}}" for title in titles)
    for name, values in rows:
        yield f"{name:<{first}}" + "".join(f"{decimal(value):>{width + 2}}" for value in values)


def _writer(path: Path) -> Callable[[Compared, Path], None]:
    writers: dict[str, Callable[[Compared, Path], None]] = {".pdf": _write_pdf, ".json": _write_json}
    writer = writers.get(path.suffix.casefold())
    if writer is None:
        raise AppError(
            _("{file}: the file to write ends in {suffixes}").format(file=path.name, suffixes=_(" or ").join(writers))
        )
    return writer


def _write_json(compared: Compared, path: Path) -> None:
    ways = [{**plan_object(way.plan), "counts": asdict(way.counts)} for way in compared.ways]
    text = json.dumps({"passage": compared.passage.title, "ways": ways}, indent=1, ensure_ascii=False)
    write_atomically(path, f"{text}\n".encode())


def _write_pdf(compared: Compared, path: Path) -> None:
    passage = compared.passage
    document = passage.opened.document
    with use_offscreen(), engraver_apart(document.name) as call:
        comparison_sheet(path, document, passage.title, passage.measures, compared.ways, call)
