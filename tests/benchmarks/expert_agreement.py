"""How far the advanced preset agrees with professional violinists, and the fit of its weights.

``python -m tests.benchmarks.expert_agreement --data DIR`` reads the files that :mod:`tests.benchmarks.expert_data`
describes. It prints, for each piece, the mean agreement of the plan with the players on string, position, finger and
all three together: under the weights of the preset as they are, and under weights fitted on the other pieces only. An
open string has no position of its own; there string and finger count. ``--fit`` prints the weights fitted on all pieces
as TOML.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import VIOLIN
from tests.benchmarks.expert_data import Piece, read_pieces
from tests.benchmarks.weight_fit import KEPT, fit, lattice

ADVANCED = "whole-board"
_HEADER = f"{'':24}{'string':>9}{'position':>10}{'finger':>8}{'all':>7}{'notes':>8}"


def main() -> None:
    arguments = _arguments()
    try:
        pieces = read_pieces(arguments.data)
    except FileNotFoundError as error:
        sys.exit(str(error))
    rules = preset(ADVANCED)
    print(f"The weights of {ADVANCED} as they are\n{_HEADER}")
    show([(piece.name, agreement(piece, rules)) for piece in pieces])
    if len(pieces) > 1 and not arguments.preset_only:
        print(f"Weights fitted on the other pieces\n{_HEADER}")
        with ProcessPoolExecutor() as pool:
            found = list(pool.map(left_out, [pieces] * len(pieces), range(len(pieces))))
        show([(piece.name, counts) for piece, counts in zip(pieces, found, strict=True)])
    if arguments.fit:
        print("\n".join(["[weights]", *(f"{name} = {weight}" for name, weight in fitted(pieces).items())]))


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--data", type=Path, required=True, help="the folder with the files vioN_PIECE.csv")
    parser.add_argument("--preset-only", action="store_true", help="only the preset as it is, no fit")
    parser.add_argument("--fit", action="store_true", help="print the weights fitted on all pieces")
    return parser.parse_args()


def fitted(pieces: Sequence[Piece]) -> dict[str, float]:
    """The weights fitted on some pieces."""
    return fit([lattice(piece, unweighted()) for piece in pieces])


def left_out(pieces: Sequence[Piece], which: int) -> np.ndarray:
    """The agreement on one piece under weights fitted on the others."""
    weights = fitted([piece for number, piece in enumerate(pieces) if number != which])
    return agreement(pieces[which], weighted(unweighted(), weights))


def unweighted() -> HouseRules:
    """The advanced preset with every fitted term at its usual weight."""
    rules = preset(ADVANCED)
    return replace(rules, weights=tuple((name, weight) for name, weight in rules.weights if name in KEPT))


def weighted(rules: HouseRules, weights: Mapping[str, float]) -> HouseRules:
    """The rules with weights of their own."""
    return replace(rules, weights=tuple((dict(rules.weights) | dict(weights)).items()))


def agreement(piece: Piece, rules: HouseRules) -> np.ndarray:
    """How often string, position, finger and all three agree over all players, and how many notes were compared."""
    plan = make_plan(piece.part, VIOLIN, rules)
    counts = np.zeros(5, dtype=int)
    for player in piece.players:
        for note_id, (string, position, finger) in player.items():
            choice = plan.choice(note_id)
            if choice is None:
                counts[4] += 1
                continue
            same_string, same_finger = choice.string == string, choice.finger == finger
            same_position = choice.position == position or (choice.is_open and finger == 0)
            alike = (same_string, same_position, same_finger, same_string and same_position and same_finger)
            counts += np.array([*alike, True])
    return counts


def show(rows: Sequence[tuple[str, np.ndarray]]) -> None:
    """One line a piece, then the mean over pieces and over all notes."""
    shares = [counts[:4] / counts[4] for _, counts in rows]
    every = np.sum([counts for _, counts in rows], axis=0)
    for name, share, notes in [
        *((name, share, counts[4]) for (name, counts), share in zip(rows, shares, strict=True)),
        ("mean of the pieces", np.mean(shares, axis=0), every[4]),
        ("all notes together", every[:4] / every[4], every[4]),
    ]:
        print(f"  {name:22}{share[0]:9.3f}{share[1]:10.3f}{share[2]:8.3f}{share[3]:7.3f}{notes:8}")


if __name__ == "__main__":
    sys.exit(main())
