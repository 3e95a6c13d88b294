"""Why one way costs more than another: the effort terms in which two paths differ, in a teacher's words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from analysis.fingering.chain import Chain
from analysis.fingering.costs import UNIT, held_effort, seam_term_efforts, term_efforts
from analysis.fingering.terms import TERMS


@dataclass(frozen=True, slots=True)
class Difference:
    """How much more (or less, below 0) of one effort term the other way costs, in thousandths of a unit."""

    term: str
    says: str
    thousandths: int

    @property
    def effort(self) -> float:
        """The difference in effort units."""
        return self.thousandths / UNIT


def compare_paths(chain: Chain, path: Sequence[int]) -> tuple[Difference, ...]:
    """What ``path`` costs more than the chosen one, term by term, weightiest first; the terms add up to the whole."""
    chosen = chain.solution.path
    differing = [index for index, (here, there) in enumerate(zip(chosen, path, strict=True)) if here != there]
    if not differing:
        return ()
    # Terms reach two stages to either side of the last difference.
    start, stop = max(differing[0] - 2, 0), differing[-1] + 3
    line, our_path, their_path = chain.line.stretch(start, stop), chain.on_path(chosen), chain.on_path(path)
    our_grips, their_grips = our_path[start:stop], their_path[start:stop]
    ours, theirs = term_efforts(line, our_grips), term_efforts(line, their_grips)
    our_seams, their_seams = seam_term_efforts(chain.line, our_path), seam_term_efforts(chain.line, their_path)
    held = held_effort(line.stages, their_grips) - held_effort(line.stages, our_grips)
    found = [Difference("held_note", "moving a note that is held", held)] if held else []
    for term in TERMS:
        thousandths = their_seams.get(term.name, 0) - our_seams.get(term.name, 0)
        if term.name in ours:
            thousandths += int(theirs[term.name].sum()) - int(ours[term.name].sum())
        if thousandths:
            found.append(Difference(term.name, term.says, thousandths))
    return tuple(sorted(found, key=lambda item: (-abs(item.thousandths), item.term)))


def against(differences: Sequence[Difference]) -> str:
    """Why the other way loses, as a plain sentence: what it costs, and what it would save."""
    costs = [item.says for item in differences if item.thousandths > 0][:2]
    saves = [item.says for item in differences if item.thousandths < 0][:1]
    if not costs and not saves:
        return "As easy as the choice made."
    words = f"Costs {' and '.join(costs)}" if costs else "Saves"
    if saves:
        words += f", though it saves {saves[0]}" if costs else f" {saves[0]}"
    return words + "."


def why_chosen(differences: Sequence[Difference]) -> str:
    """Why the choice wins against its next best rival, whose ``differences`` to it these are."""
    saved = [item.says for item in differences if item.thousandths > 0][:2]
    return f"Spares {' and '.join(saved)}." if saved else "As easy as the next best way."
