"""The errors this package raises: always about what the caller handed in, in one plain sentence."""

from __future__ import annotations

from analysis.language import _
from analysis.wording import comma_listed

_LONGEST = 1_000


def one_line(message: str) -> str:
    """A message as one line of bearable length, whatever a file puts into its names."""
    line = " ".join(message.splitlines())
    return line if len(line) <= _LONGEST else f"{line[:_LONGEST]} …"


class AnalysisError(Exception):
    """Something asked of the analysis cannot be done; the message says what and where, ready to be shown."""

    def __init__(self, message: str) -> None:
        super().__init__(one_line(message))


class UnknownNameError(AnalysisError):
    """A name that stands for nothing here; the message lists the names that do. ``kind`` in the user's language."""

    def __init__(self, kind: str, name: str, known: list[str]) -> None:
        words = _("no {kind} '{name}'; there is {known}")
        super().__init__(words.format(kind=kind, name=name, known=comma_listed(known)))
        self.known = known


class HouseRuleError(AnalysisError):
    """House rules that do not read: the message names the rule and what it may hold."""
