"""What is printed holds no signs that a terminal obeys: they may come from names of files, parts and members."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from typing import Any

# The control codes of ISO/IEC 6429, C0 and C1, but for the tab, the end of a line, and the return to its beginning
# at either end of what is printed, which shows progress; and what stands for bytes of a name that is no text.
_OBEYED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]|(?!\A)\r(?!\Z)")


def harmless(text: str) -> str:
    """The text with every sign that a terminal obeys shown by its number.

    >>> harmless("red\\x1b[31m")
    'red\\\\x1b[31m'
    """
    return _OBEYED.sub(lambda sign: sign[0].encode("unicode_escape").decode("ascii"), text)


@contextmanager
def harmless_output() -> Iterator[None]:
    """Have all that is printed meanwhile be harmless."""
    out: Any = sys.stdout and _Harmless(sys.stdout)
    told: Any = sys.stderr and _Harmless(sys.stderr)
    with redirect_stdout(out), redirect_stderr(told):
        yield


class _Harmless:
    """A stream of text that passes everything on to another one, and what is written harmless."""

    def __init__(self, stream: Any) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write a text."""
        self._stream.write(harmless(text))
        return len(text)

    def writelines(self, lines: Iterable[str]) -> None:
        """Write several texts."""
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)
