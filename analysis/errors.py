"""The errors this package raises: always about what the caller handed in, in one plain sentence."""


class AnalysisError(Exception):
    """Something asked of the analysis cannot be done; the message says what and where, ready to be shown."""


class UnknownNameError(AnalysisError):
    """A name that stands for nothing here; the message lists the names that do."""

    def __init__(self, kind: str, name: str, known: list[str]) -> None:
        super().__init__(f"no {kind} '{name}'; there is {', '.join(known)}")
        self.known = known


class HouseRuleError(AnalysisError):
    """House rules that do not read: the message names the rule and what it may hold."""
