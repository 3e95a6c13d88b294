"""Find parts and measures by what people call them."""

from __future__ import annotations

import difflib
import re

from analysis.language import _
from analysis.music import Part, Score
from app.errors import AppError


def find_part(score: Score, asked: str) -> Part:
    """The part of that number (from 1), name or the beginning of a name; AppError names the parts there are."""
    if asked.isdigit() and 1 <= int(asked) <= len(score.parts):
        return score.parts[int(asked) - 1]
    wanted = _plain(asked)
    exact = [part for part in score.parts if _plain(part.name) == wanted or part.id == asked]
    begun = [part for part in score.parts if wanted and _plain(part.name).startswith(wanted)]
    found = exact or begun
    if len(found) == 1:
        return found[0]
    names = [part.name for part in score.parts]
    if found:
        raise AppError(
            _("'{asked}' could be {parts}; say which").format(
                asked=asked, parts=_(" or ").join(part.name for part in found)
            )
        )
    near = difflib.get_close_matches(asked, names, n=1)
    said = _("no part '{asked}'; the file has {names}")
    if near:
        said = _("no part '{asked}'; the file has {names}; did you mean {near}?")
    raise AppError(said.format(asked=asked, names=", ".join(names), near="".join(near)))


def _plain(name: str) -> str:
    return re.sub(r"[^\w]+", " ", name.casefold()).strip()


def find_measures(part: Part, asked: str) -> tuple[int, int]:
    """First and last index of measures asked for as ``17-22`` or ``17``, by the numbers printed in the part."""
    match = re.fullmatch(r"\s*([\w.]+)\s*(?:[-–]\s*([\w.]+)\s*)?", asked)
    if match is None:
        raise AppError(_("'{asked}' is no range of measures such as 17-22").format(asked=asked))
    first, last = match.group(1), match.group(2) or match.group(1)
    low, high = _measure_index(part, first), _measure_index(part, last)
    if high < low:
        raise AppError(_("measure {last} does not come after measure {first}").format(last=last, first=first))
    return low, high


def _measure_index(part: Part, label: str) -> int:
    for measure in part.measures:
        if measure.label == label:
            return measure.index
    if not part.measures:
        raise AppError(_("no measure {label} in {part}; its measures are none").format(label=label, part=part.name))
    first, last = part.measures[0].label, part.measures[-1].label
    raise AppError(
        _("no measure {label} in {part}; its measures are {first} to {last}").format(
            label=label, part=part.name, first=first, last=last
        )
    )
