"""Words that say which players play: solo, one desk, half the section, tutti.

The words, in the languages that parts are printed in, are common practice, no source.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_SEVERAL = r"(?:[2-9]|[1-9]\d|two|three|four|due|tre|quattro|zwei|drei|vier|deux|trois|quatre)"
_COUNTED = (
    r"(?:\d+\s*(?:st|nd|rd|th|ère|ers?|e|re|[.°º])?|one|two|three|four|first|second|third|fourth|front|last|back"
    r"|outside|inside|un|due|tre|prim[oi]|second[oi]|ein|zwei|drei|erstes?|zweites?|deux|trois|premiers?|deuxième)"
)
_DESKS = r"(?:desks?|stands?|pult(?:e|en)?|pupitres?|legg[iì]o|leggii)"
_PLAYERS = rf"(?:players?|violins?|violas?|cell[io]s?|basses|{_DESKS})"
_OTHERS = (
    r"fl(?:auto|[uû]te)?|ob(?:oe)?|cl(?:ar)?(?:inet(?:to)?)?|fag(?:otto)?|bsn|bassoon|cor(?:no)?|horn|hn|timp(?:ani)?"
    r"|tr(?:omba|umpet|ombone)?|tpt|trb|tbn|sax|piano|pf|pno|harp|arpa|organ[o]?|org|voice|voce|canto|singstimme"
)
# Halves of a section and of the bow are said with the same word.
_OF_THE_BOW = r"(?!.*\b(?:arco|archet|bogens?)\b)"
# The branches in this order: what starts first in the words counts, and of two that start together the upper one.
_ASKED = re.compile(
    rf"""\b(?:{_OTHERS})\b\.?\s*(?:in\s+\w+\s*)?(?:\d|I+)?\.?\s*sol[oi]\b  # the name of a cue
    | \b(?:non|senza|quasi|come|wie|like)\s+(?:(?:un|una|ein|a)\s+)?sol[oi]\b
    | \bvolta\s+solo\b | \bsolo\b.*\bvolta\b                    # only one of two times
    | (?P<tutti>\btutt[ie]\b | (?:\b(?:con|col)\s+)?\bripien[oi]\b | \brip\.
        | (?:^|\()all(?:\s+(?:play|together|{_PLAYERS}))?(?=\)|$)
        | (?:^|\()alle(?=\)|$) | \balle\s+(?:pulte|spieler)\b | \btous\b
        | \b(?:full|whole)\s+section\b | \b(?:end|fine)\s+(?:(?:of|del)\s+)?solo\b
        | \bgli\s+altri\b | \bdie\s+übrigen\b | \bles\s+autres\b | \bthe\s+others\b)
    | (?P<few>\bsenza\s+rip(?:ien[oi])?\b | \b{_COUNTED}\s*{_DESKS}\b | \b{_DESKS}\s*\d
        | \b{_SEVERAL}\s+(?:sol[oi]|players|spieler|joueurs)\b | \b(?:outside|inside)\s+players?\b
        | \bhalf(?=\s*(?:$|[).,;])|\s+(?:(?:of\s+)?the\s+)?(?:section\b|{_PLAYERS}\b))
        | \b(?:metà|moitié|hälfte)\b{_OF_THE_BOW}
        | \ba\s+few(?=\s*(?:$|[).,;])|\s+{_PLAYERS}\b))
    | (?P<solo>\bsol[oi]\b | \b(?:1|one|single|ein)\s+(?:player|spieler)\b)
    """,
    re.IGNORECASE | re.VERBOSE,
)


@lru_cache(maxsize=1024)
def players_in(words: str) -> str:
    """Whom words ask for, as ``analysis.music.Note.players`` has it; "" when they say nothing of it.

    What they name first counts. "2 soli" are a few; the name of another instrument before "solo" is that of a cue.

    >>> players_in("1. Pult, con sord."), players_in("quasi solo")
    ('few', '')
    """
    asked = (found.lastgroup for found in _ASKED.finditer(unicodedata.normalize("NFC", words)))
    return next(filter(None, asked), "")
