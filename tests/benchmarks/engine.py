"""The fingering engine measured: time beside what libraries need, growth, memory, and how alike figures come out.

Run from the project's root: ``python -m tests.benchmarks.engine``. Times are ratios of medians of runs taken in turn.
The part is the first violin of Mozart's K. 458 i (about 1,200 notes), in any position.
"""

from __future__ import annotations

import itertools
import statistics
import sys
import tracemalloc
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import music21
import networkx

from analysis.fingering.chain import Chain
from analysis.fingering.costs import Costs
from analysis.fingering.grips import Grip
from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.solver import solve
from analysis.fingering.standing import line_figures
from analysis.instruments import VIOLIN, guess_instrument
from analysis.music import Part
from engraving.document import open_document
from engraving.extract import part_for_engraving
from engraving.reading import read_score
from tests.benchmarks.timing import RUNS, ratio, seconds, times

CORPUS = Path(music21.__file__).parent / "corpus"
PIECE = "mozart/k458/movement1.mxl"
QUARTETS = ("haydn/opus1no1", "haydn/opus74no1", "mozart/k155", "mozart/k156", "mozart/k458", "mozart/k80")
GRAPH_STAGES = 120
OVERRIDES = 25


def main() -> None:
    document = open_document(CORPUS / PIECE)
    part = read_score(document).parts[0]
    text = part_for_engraving(document, part.id)
    print(f"{part.name} of {PIECE}, {len(part.notes)} notes, whole-board")
    for name, value in measures(part, text):
        print(f"{value:10.3f}  {name}")
    print("figures that come again with the same fingers, six quartets, all parts")
    for name in ("home-ground", "two-homes", "whole-board"):
        rules = preset(name)
        alike, apart = consistency(rules), consistency(replace(rules, same_again=False))
        print(f"{alike:10.3f}  {name} ({apart:.3f} without the rule)")


def measures(part: Part, text: str) -> Iterator[tuple[str, float]]:
    plan = finger(part)
    chain = plan.chains[0]

    def parse() -> None:
        music21.converter.parseData(text, format="musicxml")

    yield "finger / music21's parse of the part", ratio(lambda: finger(part), parse)
    yield "finger, and every way of every note / music21's parse", ratio(lambda: marginals(finger(part)), parse)
    ten = times(part, 10)
    yield "finger ten times the notes / finger the part", ratio(lambda: finger(ten), lambda: finger(part), runs=3)
    yield "memory of ten times the notes / memory of the part", memory(ten) / memory(part)
    yield "memory of the part, MB", memory(part) / 1e6
    costs = stretch(chain, GRAPH_STAGES)
    graph = expanded(costs)
    assert networkx.dijkstra_path_length(graph, "start", "end") == solve(costs).effort
    yield (
        f"networkx's graph and shortest path / the solver, from the same tables of {GRAPH_STAGES} stages",
        ratio(lambda: networkx.dijkstra_path(expanded(costs), "start", "end"), lambda: solve(costs), runs=3),
    )
    yield (
        "networkx's shortest path alone, its graph made / the solver",
        ratio(lambda: networkx.dijkstra_path(graph, "start", "end"), lambda: solve(costs), runs=3),
    )
    overrides = list(every_override(plan))
    yield (
        f"an override solved again / finger the part, median of {len(overrides)}",
        statistics.median(seconds(lambda o=one: plan.with_locks(o)) for one in overrides)
        / statistics.median(seconds(lambda: finger(part)) for _ in range(RUNS)),
    )


def finger(part: Part) -> Plan:
    return make_plan(part, VIOLIN, preset("whole-board"))


def marginals(plan: Plan) -> None:
    for chain in plan.chains:
        for index in range(len(chain.stages)):
            chain.solution.extra(chain.costs, index)


def memory(part: Part) -> int:
    """The most bytes allocated while the part is fingered."""
    finger(part)
    tracemalloc.start()
    finger(part)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def stretch(chain: Chain, count: int) -> Costs:
    """The tables of the first stages of a chain, without seams."""
    costs = chain.costs
    return Costs(costs.single[:count], costs.pair[: count - 1], costs.triple[: count - 2])


def expanded(costs: Costs) -> networkx.DiGraph:
    """The same problem as a graph: a node for every pair of grips of neighbouring stages."""
    graph = networkx.DiGraph()
    single, pair, triple = ([table.tolist() for table in tables] for tables in (costs.single, costs.pair, costs.triple))
    last = len(single) - 1
    for i, j in itertools.product(range(len(single[0])), range(len(single[1]))):
        graph.add_edge("start", (0, i, j), weight=single[0][i] + single[1][j] + pair[0][i][j])
    for k, table in enumerate(triple):
        for i, rows in enumerate(table):
            for j, row in enumerate(rows):
                for n, effort in enumerate(row):
                    weight = single[k + 2][n] + pair[k + 1][j][n] + effort
                    graph.add_edge((k, i, j), (k + 1, j, n), weight=weight)
    for i, j in itertools.product(range(len(single[-2])), range(len(single[-1]))):
        graph.add_edge((last - 1, i, j), "end", weight=0)
    return graph


def every_override(plan: Plan) -> Iterator[dict[str, Lock]]:
    """For notes all over the part, the second way to play each as a lock."""
    ids = [note.id for note in plan.part.notes if note.id in plan]
    for note_id in ids[:: max(1, len(ids) // OVERRIDES)]:
        yield {note_id: Lock.on(plan.ways(note_id)[1].placement)}


def consistency(rules: HouseRules) -> float:
    """The share of returns of figures that have the fingers of the first time, one string over or as they were."""
    same = every = 0
    for folder in QUARTETS:
        for path in sorted((CORPUS / folder).glob("movement*.mxl")):
            for part in read_score(open_document(path)).parts:
                instrument = guess_instrument(part.name)
                if instrument is not None:
                    for chain in make_plan(part, instrument, rules).chains:
                        for alike in returns(chain):
                            same, every = same + alike, every + 1
    return same / every


def returns(chain: Chain) -> Iterator[bool]:
    """For each return of each figure whether it is fingered as the first time."""
    path = chain.chosen_path()
    for figure in line_figures(chain.line):
        (first, over), *others = figure.places
        shape = [moved(grip, over) for grip in path[first : first + figure.length]]
        for start, there in others:
            yield [moved(grip, there) for grip in path[start : start + figure.length]] == shape


def moved(grip: Grip, over: int) -> list[tuple[int, float | None, int]]:
    return [(string + over, hand, finger) for string, hand, finger in (placement.as_played for placement in grip)]


if __name__ == "__main__":
    sys.exit(main())
