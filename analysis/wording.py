"""How sentences count, list and shorten words, in the user's language."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from analysis.language import _, p_


def listed(words: Iterable[str]) -> str:
    """Words in a row, as a sentence lists them.

    >>> listed(["3", "5", "8"]), listed(["3"])
    ('3, 5 and 8', '3')
    """
    *front, last = words
    return _("{front} and {last}").format(front=comma_listed(front), last=last) if front else last


def comma_listed(words: Iterable[str]) -> str:
    """Words in a row with nothing but commas between them."""
    return p_("between words in a row", ", ").join(words)


def numbers_listed(numbers: Iterable[str]) -> str:
    """Numbers in a row, with a sign between them that cannot be taken for that of their decimals.

    >>> numbers_listed(["35.8", "67.7", "82.3"])
    '35.8, 67.7 and 82.3'
    """
    *front, last = map(decimal, numbers)
    if not front:
        return last
    return _("{front} and {last}").format(front=p_("between numbers in a row", ", ").join(front), last=last)


def listed_once(names: Sequence[str], most: int | None = None) -> str:
    """Names in a row; words that all of them end with are said once. ``most``: no more words than so many.

    >>> listed_once(["C natural", "F natural"]), listed_once(["1st position", "thumb on A"])
    ('C and F natural', '1st position and thumb on A')
    """
    fronts, end = common_end(names, most)
    return listed(fronts) + end


def common_end(names: Sequence[str], most: int | None = None) -> tuple[list[str], str]:
    """The names without the words with which all of them end, and these words, with the space before them.

    At least one word of every name is left. ``most``: no more words than so many.

    >>> common_end(["lower 2nd position", "upper 2nd position"], 1)
    (['lower 2nd', 'upper 2nd'], ' position')
    """
    split = [name.split(" ") for name in names]
    room = min(len(words) - 1 for words in split)
    room = room if most is None else min(room, most)
    alike = 0
    while alike < room and len({words[-1 - alike] for words in split}) == 1:
        alike += 1
    if not alike:
        return list(names), ""
    return [" ".join(words[:-alike]) for words in split], " " + " ".join(split[0][-alike:])


def number_word(number: int, highest: int = 12) -> str:
    """A number as a sentence has it: in words up to ``highest``, at the most twelve.

    >>> number_word(2), number_word(40)
    ('two', '40')
    """
    words = (
        p_("number", "no"), p_("number", "one"), p_("number", "two"), p_("number", "three"), p_("number", "four"),
        p_("number", "five"), p_("number", "six"), p_("number", "seven"), p_("number", "eight"), p_("number", "nine"),
        p_("number", "ten"), p_("number", "eleven"), p_("number", "twelve"),
    )  # fmt: skip
    return words[number] if 0 <= number <= highest else str(number)


def times_word(number: int) -> str:
    """How often, in words: ``once``, ``twice``, ``three times``."""
    word = number_word(number)
    if number in (1, 2):
        return _("once") if number == 1 else _("twice")
    return _("{count} times").format(count=word) if word == str(number) else _("{number} times").format(number=word)


def decimal(text: str) -> str:
    """A number in figures with the user's sign before its decimals."""
    return text.replace(".", p_("before decimals", "."))
