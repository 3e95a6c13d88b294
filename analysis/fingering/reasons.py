"""Why one way costs more than another, in a teacher's words: from the effort terms in which two paths differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.fingering.chain import Chain
from analysis.fingering.costs import UNIT, held_effort, seam_term_efforts, term_efforts
from analysis.fingering.placements import Placement, finger_text, hand_words
from analysis.fingering.terms import TERMS
from analysis.instruments import Instrument

_BECAUSE = {term.name: term.because for term in TERMS} | {"held_note": "{it} would move a note that is held"}
# What an open string can be blamed for; where the hand waits meanwhile is not heard.
_OPEN_CAN = frozenset(
    ("open_string", "ringing_open", "long_open", "shrill_open", "same_again", "crossing", "crossing_down",
     "quick_crossing", "skipped_string", "slurred_crossing", "single_crossing", "other_way_at_once", "broken_tremolo")
)  # fmt: skip
_RINGING = "{it} would let an open string ring"
_FIFTH = 7
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")
# A second reason is told where it weighs at least this share of the first.
_ALSO = 0.6


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
    ends = set(differing)
    seams = [seam for seam in chain.line.seams if {seam.first, seam.last} & ends]
    our_seams, their_seams = (seam_term_efforts(chain.line, path, seams) for path in (our_path, their_path))
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


def because(
    choice: Placement, rival: Placement, differences: Sequence[Difference], beats: Fraction, instrument: Instrument
) -> str:
    """The choice in one sentence: ``4, because an open E would ring for three beats.``

    ``differences``: what the ``rival``, the way a player would expect here, costs more. "" when it costs nothing more.
    """
    heard = [item for item in differences if not rival.is_open or item.term in _OPEN_CAN]
    costs = _told(heard) or _told(differences)
    if not costs:
        return ""
    clauses = _clauses(costs, _words(rival, choice, instrument), beats)
    return f"{_words(choice, rival, instrument)}, because {clauses}."


def why_moved(chain: Chain, stage: int, choice: Placement, instrument: Instrument) -> str:
    """Why the hand moves for ``stage``, in one sentence; compared with staying while it now plays elsewhere.

    "" where the note could not be played without moving.
    """
    path, stayed = chain.chosen_path(), chain.chosen(stage - 1)[0]
    stays = [any(grip[0].hand == stayed.hand for grip in grips) for grips in chain.grips]
    stop = next((k for k in range(stage, len(path)) if path[k][0].hand != choice.hand or not stays[k]), len(path))
    rival = chain.kept_to(stage, stop, lambda placement: placement.hand == stayed.hand) if stop > stage else None
    if rival is None:
        return ""
    costs, staying = _told(compare_paths(chain, rival.solution.path)), hand_words(stayed, instrument)
    words = f"{finger_text(choice.finger)} in {hand_words(choice, instrument)}"
    if stop < len(path) and not stays[stop]:
        beyond = chain.stages[stop].heads[0].pitch.name
        return f"{words}, because {beyond}, which comes, is out of reach from {staying}."
    return f"{words}, because {_clauses(costs, f'staying in {staying}', None)}." if costs else ""


def across_strings(choice: Placement, instrument: Instrument) -> str:
    """Why two notes of a chord have one finger: it lies across both strings."""
    high, low = (string.pitch.midi for string in instrument.strings[:2])
    interval = "fifth" if high - low == _FIFTH else "fourth"
    return f"{finger_text(choice.finger)} lies across both strings, for the perfect {interval}."


def _told(differences: Sequence[Difference]) -> list[Difference]:
    """The one or two efforts that decide."""
    costs = [item for item in differences if item.thousandths > 0]
    return costs[:1] + [item for item in costs[1:2] if item.thousandths >= _ALSO * costs[0].thousandths]


def _clauses(told: Sequence[Difference], it: str, beats: Fraction | None) -> str:
    """The efforts as what ``it`` would ask, joined into one clause; without ``beats`` ``it`` is more than one note."""
    texts = [_BECAUSE[item.term] for item in told]
    if beats is None:
        texts = [_RINGING if "{time}" in text else text for text in texts]
    clauses = [text.format(it=it, time="" if beats is None else _beats(beats)) for text in texts]
    return " and ".join(dict.fromkeys((clauses[0], *(clause.removeprefix(f"{it} would ") for clause in clauses[1:]))))


def _words(way: Placement, other: Placement, instrument: Instrument) -> str:
    """A way in as many words as tell it from the other: ``2``, ``3 on the D string``, ``an open E``."""
    letter = instrument.string(way.string).letter
    if way.is_open:
        return f"an open {letter}"
    words = [finger_text(way.finger)]
    if way.string != other.string:
        words.append(f"on the {letter} string")
    if way.hand != other.hand and not (other.is_open or way.is_open):
        words.append(f"in {hand_words(way, instrument)}")
    return " ".join(words)


def _beats(beats: Fraction) -> str:
    """A length in beats, in words: ``three beats``, ``a beat and a half``."""
    whole, rest = divmod(beats, 1)
    if rest == 0:
        number = _NUMBERS[int(whole)] if whole < len(_NUMBERS) else str(whole)
        return f"{number} beat" + ("" if whole == 1 else "s")
    if beats == Fraction(1, 2):
        return "half a beat"
    if beats == Fraction(3, 2):
        return "a beat and a half"
    return f"{float(beats):.3g} beats"
