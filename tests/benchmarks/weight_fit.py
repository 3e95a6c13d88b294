"""The weights of the effort terms fitted to fingerings by players.

The engine's least effort is the best path of a conditional random field whose potentials are the weighted terms
(Lafferty, McCallum and Pereira, ICML 2001). Its conditional likelihood is convex in the weights: forward and backward
sums over pairs of neighbouring grips give its gradient, and L-BFGS-B finds the optimum with no weight below zero, so
that every effort stays one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.optimize import minimize

from analysis.fingering.costs import arrivals
from analysis.fingering.grips import Grip
from analysis.fingering.hands import hands
from analysis.fingering.moments import moments
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.setting import Setting
from analysis.fingering.stages import Stage, stages
from analysis.fingering.terms import TERMS, Term, Window, effort_of, spreads
from analysis.instruments import VIOLIN
from tests.benchmarks.expert_data import Piece, Way

Array = npt.NDArray[np.float64]

# What the files do not tell (slurs, tremolo) or what a teacher wants for other reasons keeps its usual weight.
KEPT = frozenset(("slurred_crossing", "slurred_shift", "broken_tremolo", "stretch", "fifth_in_chord", "same_again"))
FITTED = tuple(term.name for term in sorted(TERMS, key=lambda term: term.span) if term.name not in KEPT)
LEAST_WEIGHT = 0.05
_RIDGE, _ROUNDS, _ROWS = 3e-4, 60, 48


@dataclass(frozen=True)
class Lattice:
    """A piece with all its grips: ``features[span]`` [combinations of grips, terms of that span], stage after stage.

    ``offsets[span]`` tells where each stage's combinations begin; ``usual`` the players' mean of every feature.
    """

    sizes: list[int]
    features: tuple[npt.NDArray[np.float32], ...]
    offsets: tuple[npt.NDArray[np.intp], ...]
    usual: Array


def lattice(piece: Piece, rules: HouseRules) -> Lattice:
    """The lattice of a piece under ``rules``, whose weights do not matter."""
    setting = Setting(piece.part, VIOLIN, rules)
    # What no hand holds is left out, as a plan leaves it out.
    every = [stage for stage in stages(piece.part, piece.part.notes, rules.tempo) if setting.allowed(stage)]
    grips = [setting.allowed(stage) for stage in every]
    sizes = [len(choices) for choices in grips]
    made = [_features(every, grips, rules, span) for span in (1, 2, 3)]
    features, offsets = tuple(rows for rows, _ in made), tuple(starts for _, starts in made)
    usual = np.zeros(len(FITTED))
    for player in piece.players:
        usual += _along(_labels(every, grips, player), sizes, features, offsets)
    return Lattice(sizes, features, offsets, usual / len(piece.players))


def fit(lattices: Sequence[Lattice]) -> dict[str, float]:
    """The weights under which the players' fingerings are likeliest, by term; a crossing weighs 1."""
    count = sum(len(one.sizes) for one in lattices)

    def loss(weights: Array) -> tuple[float, Array]:
        value, gradient = _RIDGE * float(weights @ weights) / 2, _RIDGE * weights
        for one in lattices:
            more, slope = _loss(one, weights)
            value, gradient = value + more / count, gradient + slope / count
        return value, gradient

    bounds = [(LEAST_WEIGHT, 20.0)] * len(FITTED)
    found = minimize(
        loss, np.full(len(FITTED), 0.5), jac=True, method="L-BFGS-B", bounds=bounds, options={"maxiter": _ROUNDS}
    )
    weights = dict(zip(FITTED, map(float, found.x), strict=True))
    return {name: round(weight / weights["crossing"], 2) for name, weight in weights.items()}


def _terms(span: int) -> list[Term]:
    return [term for term in TERMS if term.span == span and term.name not in KEPT]


def _features(
    every: Sequence[Stage], grips: Sequence[Sequence[Grip]], rules: HouseRules, span: int
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.intp]]:
    """Every term of one span, unweighted, for every combination of grips, and where each stage's begin."""
    what, when = hands(VIOLIN, grips), moments(every, [rules] * len(every))
    sizes = [len(choices) for choices in grips]
    rows: list[npt.NDArray[np.float32]] = []
    for start in range(0, len(every) - span + 1, _ROWS):
        stop = min(start + _ROWS, len(every) - span + 1)
        here = np.arange(start, stop)
        width = max(sizes[start : stop + span - 1])
        window = Window(
            tuple(what.at(here + axis, width, axis, span) for axis in range(span)),
            tuple(when.at(here + axis, span) for axis in arrivals(span)),
            spreads(VIOLIN.frame),
        )
        shape = (stop - start, *[width] * span)
        tables = [
            np.broadcast_to(np.asarray(effort_of(term.measure(window)), np.float32), shape) for term in _terms(span)
        ]
        for row in range(stop - start):
            cut = tuple(slice(sizes[start + row + axis]) for axis in range(span))
            rows.append(np.stack([table[row][cut].reshape(-1) for table in tables], axis=1))
    return np.concatenate(rows), np.cumsum([0, *map(len, rows)])


def _labels(every: Sequence[Stage], grips: Sequence[Sequence[Grip]], player: dict[str, Way]) -> list[int]:
    """The grip of each stage that is nearest to what a player does."""
    found = []
    for stage, choices in zip(every, grips, strict=True):
        found.append(max(range(len(choices)), key=lambda n, s=stage, c=choices: _likeness(s, c[n], player)))
    return found


def _likeness(stage: Stage, grip: Grip, player: dict[str, Way]) -> float:
    likeness = 0.0
    for ids, placement in zip(stage.ids, grip, strict=True):
        if ids[0] in player:
            string, position, finger = player[ids[0]]
            likeness += 4 * (placement.string == string) + 4 * (placement.finger == finger)
            likeness -= abs(placement.position - position)
    return likeness


def _along(
    labels: Sequence[int],
    sizes: Sequence[int],
    features: Sequence[npt.NDArray[np.float32]],
    offsets: Sequence[npt.NDArray[np.intp]],
) -> Array:
    """The summed features of one path."""
    sums = [np.zeros(table.shape[1]) for table in features]
    for k in range(len(labels)):
        at = 0
        for span in range(min(3, len(labels) - k)):
            at = at * sizes[k + span] + labels[k + span]
            sums[span] += features[span][offsets[span][k] + at]
    return np.concatenate(sums)


def _loss(one: Lattice, weights: Array) -> tuple[float, Array]:
    """Minus the mean log likelihood of the players' paths, and its gradient."""
    cuts = np.cumsum([table.shape[1] for table in one.features])
    parts = np.split(weights.astype(np.float32), cuts[:-1])
    alone, pairs, threes = (-(table @ part) for table, part in zip(one.features, parts, strict=True))
    count, sizes, starts = len(one.sizes), one.sizes, one.offsets
    pair, triple = [], []
    for k in range(count - 1):
        here = pairs[starts[1][k] : starts[1][k + 1]].reshape(sizes[k], sizes[k + 1]).astype(float)
        here = here + alone[starts[0][k + 1] : starts[0][k + 2]]
        pair.append(here + alone[: sizes[0], None] if k == 0 else here)
    for k in range(count - 2):
        here = threes[starts[2][k] : starts[2][k + 1]].reshape(sizes[k], sizes[k + 1], sizes[k + 2])
        triple.append(np.exp(here.astype(float)))
    peaks = [table.max() for table in pair]
    likely = [np.exp(table - peak) for table, peak in zip(pair, peaks, strict=True)]
    forward, scales = [likely[0] / likely[0].sum()], [likely[0].sum()]
    for k in range(1, count - 1):
        table = np.einsum("ij,ijl->jl", forward[-1], triple[k - 1]) * likely[k]
        scales.append(table.sum())
        forward.append(table / scales[-1])
    log_sum = float(np.sum(peaks) + np.sum(np.log(scales)))
    expected = _expected(one, forward, likely, triple, scales)
    return float(weights @ one.usual) + log_sum, one.usual - expected


def _expected(
    one: Lattice, forward: Sequence[Array], likely: Sequence[Array], triple: Sequence[Array], scales: Sequence[float]
) -> Array:
    """The features a random path has on average."""
    chances = [np.empty(len(table), np.float32) for table in one.features]
    starts = one.offsets
    backward = np.ones_like(forward[-1])
    for k in range(len(forward) - 1, -1, -1):
        both = forward[k] * backward
        both /= both.sum()
        chances[1][starts[1][k] : starts[1][k + 1]] = both.reshape(-1)
        chances[0][starts[0][k + 1] : starts[0][k + 2]] = both.sum(axis=0)
        if k == 0:
            chances[0][: one.sizes[0]] = both.sum(axis=1)
        else:
            onward = likely[k] * backward / scales[k]
            three = forward[k - 1][:, :, None] * triple[k - 1] * onward
            chances[2][starts[2][k - 1] : starts[2][k]] = (three / three.sum()).reshape(-1)
            backward = np.einsum("ijl,jl->ij", triple[k - 1], onward)
    return np.concatenate([chance @ table for chance, table in zip(chances, one.features, strict=True)])
