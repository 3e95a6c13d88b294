"""Words for gradual changes of loudness, and words that name a dynamic.

Which words there are is common practice, no source; parts print them whole, cut short, or drawn out over the notes
("de - cre - scen - do").
"""

from __future__ import annotations

import re
from functools import lru_cache

# Between the syllables of a word that is drawn out.
_GAP = r"[\s_–—-]*"


def _drawn_out(word: str) -> str:
    return word.replace("-", _GAP)


_LESS = "|".join(
    map(
        _drawn_out,
        (
            "de-cre-scen(?:-do)?", "de-cresc?", "de-cre", "decr", "di-mi-nu-en-do", "di-mi-nu", "dimin", "dim",
            "ca-lan(?:-do)?", "smor-zan(?:-do)?", "smorz?", "mo-ren(?:-do)?", "man-can(?:-do)?", "per-den-do(?:-si)?",
            "estinguendo", "en diminuant", "diminuez", "abnehmend", "verklingend", "ersterbend", "dying away",
        ),
    )
)  # fmt: skip
_MORE = "|".join(
    map(_drawn_out, ("cre-scen(?:-do)?", "cresc?", "cre", "en augmentant", "augmentez", "anschwellend", "wachsend"))
)
_SWELL = re.compile(
    rf"\b(?:non|senza|sans|ohne|no)\s+(?:{_LESS}|{_MORE})\b|\b(?:(?P<less>{_LESS})|(?P<more>{_MORE}))\b", re.IGNORECASE
)
_LEVEL = re.compile(
    r"(?<![\w'’-])(?:p{1,6}|f{1,6}|m[pf]|pianissimo|fortissimo|piano|forte)(?![\w'’-])",
    re.IGNORECASE,
)


@lru_cache(maxsize=1024)
def swell_in(words: str) -> bool | None:
    """Whether words ask for a crescendo, ``False`` for a diminuendo, ``None`` for neither; the first counts.

    >>> swell_in("poco a poco cresc."), swell_in("dim. e rit."), swell_in("senza cresc.")
    (True, False, None)
    """
    found = next((one for one in _SWELL.finditer(words) if one.lastgroup), None)
    return None if found is None else found.lastgroup == "more"


@lru_cache(maxsize=1024)
def names_level(words: str) -> bool:
    """Whether words name a dynamic, as in "sempre pp" and "p dolce"."""
    return _LEVEL.search(words) is not None
