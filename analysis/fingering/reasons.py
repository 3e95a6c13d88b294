"""Why one way costs more than another, in a teacher's words: from the effort terms in which two paths differ."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from analysis.fingering.chain import Chain
from analysis.fingering.costs import UNIT, Index, held_effort, seam_term_efforts, term_efforts
from analysis.fingering.grips import Grip
from analysis.fingering.line import Line, end_to_end
from analysis.fingering.placements import Placement, finger_text, hand_words, in_hand_words
from analysis.fingering.terms import TERMS
from analysis.instruments import Instrument
from analysis.language import _, later, n_
from analysis.wording import decimal, listed, number_word

_BECAUSE = {term.name: term.because for term in TERMS} | {"held_note": later("move a note that is held")}
# What an open string can be blamed for; where the hand waits meanwhile is not heard.
_OPEN_CAN = frozenset(
    ("open_string", "ringing_open", "long_open", "shrill_open", "same_again", "crossing", "crossing_down",
     "quick_crossing", "skipped_string", "slurred_crossing", "single_crossing", "other_way_at_once", "broken_tremolo")
)  # fmt: skip
_RINGING = later("let an open string ring")
_FIFTH = 7
# Beats are counted in words up to so many.
_IN_WORDS = 8
# A second reason is told where it weighs at least this share of the first.
_ALSO = 0.6


@dataclass(frozen=True, slots=True)
class Difference:
    """How much more (or less, below 0) of one effort term the other way costs, in thousandths of a unit.

    ``says`` names the effort in the user's language.
    """

    term: str
    says: str
    thousandths: int

    @property
    def effort(self) -> float:
        """The difference in effort units."""
        return self.thousandths / UNIT


def compare_paths(chain: Chain, paths: Sequence[Sequence[int]]) -> list[tuple[Difference, ...]]:
    """What each of ``paths`` costs more than the chosen one, term by term, weightiest first.

    The terms of a path add up to the whole of what it costs more.
    """
    chosen = np.array(chain.solution.path)
    compared = [_Compared.along(chain, path, np.flatnonzero(chosen != np.array(path))) for path in paths]
    differing = [one for one in compared if one is not None]
    if not differing:
        return [()] * len(paths)
    # All at once: most of the time goes into looking at each term, not into how many stages it is looked at for.
    line = end_to_end([stretch for one in differing for stretch in (one.line, one.line)])
    efforts = term_efforts(line, [grip for one in differing for grip in (*one.ours, *one.theirs)])
    ends = np.cumsum([len(one.ours) for one in differing for _ in range(2)])
    sums = {name: [int(each.sum()) for each in np.split(effort, ends[:-1])] for name, effort in efforts.items()}
    found = iter(
        one.differences(chain, {name: each[2 * k + 1] - each[2 * k] for name, each in sums.items()})
        for k, one in enumerate(differing)
    )
    return [() if one is None else next(found) for one in compared]


@dataclass(frozen=True, slots=True)
class _Compared:
    """A path beside the chosen one, as far as terms tell them apart: the grips of both along ``line``."""

    line: Line
    ours: list[Grip]
    theirs: list[Grip]
    path: Sequence[int]
    where: frozenset[int]

    @classmethod
    def along(cls, chain: Chain, path: Sequence[int], where: Index) -> _Compared | None:
        """The stretch around the stages ``where`` the path is another; ``None`` where there are none."""
        if not len(where):
            return None
        # Terms reach two stages to either side of the last difference.
        start, stop = max(int(where[0]) - 2, 0), min(int(where[-1]) + 3, len(path))
        ours, theirs = ([chain.grips[k][way[k]] for k in range(start, stop)] for way in (chain.solution.path, path))
        return cls(chain.line.stretch(start, stop), ours, theirs, path, frozenset(map(int, where)))

    def differences(self, chain: Chain, more: Mapping[str, int]) -> tuple[Difference, ...]:
        """``more``: by term, what the path costs more along the line, in thousandths; the rest is added."""
        seams = [seam for seam in chain.line.seams if {seam.first, seam.last} & self.where]
        ours, theirs = (
            seam_term_efforts(chain.line, chain.on_path(way), seams) if seams else {}
            for way in (chain.solution.path, self.path)
        )
        held = held_effort(self.line, self.theirs) - held_effort(self.line, self.ours)
        found = [Difference("held_note", _("moving a note that is held"), held)] if held else []
        for term in TERMS:
            thousandths = theirs.get(term.name, 0) - ours.get(term.name, 0) + more.get(term.name, 0)
            if thousandths:
                found.append(Difference(term.name, _(term.says), thousandths))
        return tuple(sorted(found, key=lambda item: (-abs(item.thousandths), item.term)))


def against(differences: Sequence[Difference]) -> str:
    """What speaks against the other way, and what for it, as a plain sentence; first what weighs more."""
    costs = [item.says for item in differences if item.thousandths > 0]
    saves = [item.says for item in differences if item.thousandths < 0]
    if costs and saves and sum(item.thousandths for item in differences) < 0:
        return _("Saves {saves}, though it costs {costs}.").format(saves=listed(saves[:2]), costs=costs[0])
    costs, saves = costs[:2], saves[:1]
    if costs and saves:
        return _("Costs {costs}, though it saves {saves}.").format(costs=listed(costs), saves=saves[0])
    if costs:
        return _("Costs {costs}.").format(costs=listed(costs))
    return _("Saves {saves}.").format(saves=saves[0]) if saves else _("As easy as the choice made.")


def why_chosen(differences: Sequence[Difference]) -> str:
    """Why the choice wins against its next best rival, whose ``differences`` to it these are."""
    saved = [item.says for item in differences if item.thousandths > 0][:2]
    return _("Spares {efforts}.").format(efforts=listed(saved)) if saved else _("As easy as the next best way.")


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
    return _because(_words(choice, rival, instrument), _words(rival, choice, instrument), costs, beats)


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
    (differences,) = compare_paths(chain, [rival.solution.path])
    costs = _told(differences)
    way = _("{finger} {position}").format(finger=finger_text(choice.finger), position=in_hand_words(choice, instrument))
    if stop < len(path) and not stays[stop]:
        return _("{way}, because {pitch}, which comes, is out of reach from {position}.").format(
            way=way, pitch=chain.stages[stop].heads[0].pitch.said, position=hand_words(stayed, instrument)
        )
    staying = _("staying {position}").format(position=in_hand_words(stayed, instrument))
    return _because(way, staying, costs, None) if costs else ""


def across_strings(choice: Placement, instrument: Instrument) -> str:
    """Why two notes of a chord have one finger: it lies across both strings."""
    high, low = (string.pitch.midi for string in instrument.strings[:2])
    if high - low == _FIFTH:
        words = _("{finger} lies across both strings, for the perfect fifth.")
    else:
        words = _("{finger} lies across both strings, for the perfect fourth.")
    return words.format(finger=finger_text(choice.finger))


def _told(differences: Sequence[Difference]) -> list[Difference]:
    """The one or two efforts that decide."""
    costs = [item for item in differences if item.thousandths > 0]
    return costs[:1] + [item for item in costs[1:2] if item.thousandths >= _ALSO * costs[0].thousandths]


def _because(way: str, it: str, told: Sequence[Difference], beats: Fraction | None) -> str:
    """The sentence for ``way`` by what ``it`` would ask; without ``beats`` ``it`` is more than one note."""
    texts = [_BECAUSE[item.term] for item in told]
    if beats is None:
        texts = [_RINGING if "{time}" in text else text for text in texts]
    time = "" if beats is None else _beats(beats)
    first, *others = (_(text).format(time=time) for text in dict.fromkeys(texts))
    if not others:
        return _("{way}, because {it} would {effort}.").format(way=way, it=it, effort=first)
    words = _("{way}, because {it} would {effort} and {other_effort}.")
    return words.format(way=way, it=it, effort=first, other_effort=others[0])


def _words(way: Placement, other: Placement, instrument: Instrument) -> str:
    """A way in as many words as tell it from the other: ``2``, ``3 on the D string``, ``an open E``."""
    letter = instrument.string(way.string).letter
    if way.is_open:
        return _("an open {letter}").format(letter=letter)
    finger, position = finger_text(way.finger), in_hand_words(way, instrument)
    moved = way.hand != other.hand and not other.is_open
    if way.string == other.string:
        return _("{finger} {position}").format(finger=finger, position=position) if moved else finger
    if not moved:
        return _("{finger} on the {letter} string").format(finger=finger, letter=letter)
    words = _("{finger} on the {letter} string {position}")
    return words.format(finger=finger, letter=letter, position=position)


def _beats(beats: Fraction) -> str:
    """A length in beats, in words: ``three beats``, ``a beat and a half``."""
    whole, rest = divmod(beats, 1)
    if beats == 1:
        return _("one beat")
    if rest == 0:
        return n_("{number} beat", "{number} beats", whole).format(number=number_word(whole, _IN_WORDS))
    if beats == Fraction(1, 2):
        return _("half a beat")
    if beats == Fraction(3, 2):
        return _("a beat and a half")
    return n_("{number} beat", "{number} beats", 2).format(number=decimal(f"{float(beats):.3g}"))
