"""Every kind of finding: its name, what a teacher calls it, where its rule of thumb comes from, who looks for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from analysis.watch.finding import Finding
from analysis.watch.study import Study

Watcher = Callable[[Study], Iterator[Finding]]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of finding.

    ``title`` heads it in a list. ``says``: what it points at, in one sentence. ``source``: where the rule of thumb is
    published, or "common practice, no source". ``watch`` yields the findings of this kind.
    """

    name: str
    title: str
    says: str
    source: str
    watch: Watcher


KINDS: tuple[Kind, ...] = ()
