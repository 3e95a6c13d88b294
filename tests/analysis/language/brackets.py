"""A language for tests, in which everything that is looked up can be told from what is not."""

from __future__ import annotations

import gettext


class Bracketed(gettext.NullTranslations):
    """A language that is English in brackets."""

    def gettext(self, message: str) -> str:
        return f"«{message}»"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"«{msgid1 if n == 1 else msgid2}»"

    def pgettext(self, context: str, message: str) -> str:
        return f"«{message}»"
