"""The language in which everything is said.

Sentences stand in English in the code, inside ``_()``, and are looked up in the catalogue of the user's language, after
the GNU gettext conventions: ``LANGUAGE``, ``LC_ALL``, ``LC_MESSAGES`` and ``LANG`` decide in this order, once for all.
What has no translation is said in English. Catalogues lie beside this file, ``<language>/LC_MESSAGES/handframe.po``,
with the compiled ``.mo`` that is read.

Values go in by name afterwards: ``_("measure {label}").format(label=label)``, so that a translator can move them.
"""

from __future__ import annotations

import gettext
from functools import cache
from pathlib import Path

DOMAIN = "handframe"
CATALOGUES = Path(__file__).parent


@cache
def catalogue() -> gettext.NullTranslations:
    """The sentences of the user's language; those of the code where there is no catalogue for it."""
    return gettext.translation(DOMAIN, CATALOGUES, fallback=True)


def _(text: str) -> str:
    """``text`` in the user's language; an empty one stays empty, which in a catalogue means its heading."""
    return catalogue().gettext(text) if text else ""


def n_(one: str, many: str, count: int) -> str:
    """``one`` or ``many`` as ``count`` asks for, in the user's language; the count is put in by the caller."""
    return catalogue().ngettext(one, many, count)


def p_(context: str, text: str) -> str:
    """``text`` in the user's language, where it means what ``context`` says; for short words with several meanings."""
    return catalogue().pgettext(context, text)


def later(text: str) -> str:
    """``text`` itself: marks a sentence in a table, which is given to :func:`_` where it is shown."""
    return text
