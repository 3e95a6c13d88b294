"""Any tables with seams between any stages are solved exactly, and only what matters is remembered."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from analysis.fingering.costs import Costs, Link
from analysis.fingering.memories import remembered
from analysis.fingering.solver import best_path, solve, solve_again
from tests.amounts import cases
from tests.analysis.exactness import (
    every_sequence,
    examples,
    same_tables,
)


@st.composite
def table_sets(draw):
    """Effort tables of a few stages with seams between any two of them, and tables that differ in a stretch."""
    sizes = draw(st.lists(st.integers(1, 4), min_size=1, max_size=7))
    random = np.random.default_rng(draw(st.integers(0, 10**9)))
    most = draw(st.sampled_from((2, 5, 3000)))
    ends = draw(st.lists(st.tuples(*[st.integers(0, len(sizes) - 1)] * 2), max_size=5))
    # Several endings lead on from one stage.
    ends += [(0, last) for last in draw(st.sets(st.integers(0, len(sizes) - 1), max_size=3))]
    costs = random_costs(random, sizes, [(min(pair), max(pair)) for pair in ends], most)
    first = draw(st.integers(0, len(sizes) - 1))
    last = draw(st.integers(first, len(sizes) - 1))
    return costs, changed_costs(random, costs, first, last, most), first, last


def random_costs(random, sizes, ends, most) -> Costs:
    tables = [
        tuple(random.integers(0, most, sizes[k : k + span], dtype=np.int32) for k in range(len(sizes) - span + 1))
        for span in (1, 2, 3)
    ]
    links = [Link(a, b, random.integers(0, most, (sizes[a], sizes[b]), dtype=np.int32)) for a, b in sorted(ends)]
    return Costs(*tables, tuple(links))


def changed_costs(random, costs: Costs, first: int, last: int, most: int) -> Costs:
    """Other numbers and now and then one grip more at the stages ``first`` to ``last``."""
    sizes = [len(table) + (first <= k <= last and random.integers(0, 3) == 0) for k, table in enumerate(costs.single)]
    other = random_costs(random, sizes, [(link.first, link.last) for link in costs.links], most)

    def mixed(old, new, span):
        return tuple(
            b if first <= k + span - 1 and k <= last else a for k, (a, b) in enumerate(zip(old, new, strict=True))
        )

    links = tuple(
        b if {b.first, b.last} & set(range(first, last + 1)) else a
        for a, b in zip(costs.links, other.links, strict=True)
    )
    single, pair, triple = (mixed(getattr(costs, name), getattr(other, name), span)
                            for span, name in ((1, "single"), (2, "pair"), (3, "triple")))  # fmt: skip
    return Costs(single, pair, triple, links)


def test_any_tables_with_seams_between_any_stages_are_solved_exactly():
    """Nested, crossing, short and one-stage seams; of equal paths the first in the order of grips is taken."""

    @examples(cases(400, 4000))
    @given(table_sets())
    def holds(tables) -> None:
        costs, changed, first, last = tables
        solution = solve(costs)
        total = every_sequence(costs, costs.single)
        assert solution.effort == total.min()
        assert solution.path == tuple(int(i) for i in np.unravel_index(int(np.argmin(total)), total.shape))
        assert best_path(costs) == solution.path
        for index in range(total.ndim):
            others = tuple(axis for axis in range(total.ndim) if axis != index)
            least = total.min(axis=others)
            assert np.array_equal(solution.extra(costs, index), least - total.min())
            for grip in range(len(least)):
                through = solution.through(costs, index, grip)
                assert through[index] == grip
                assert total[through] == least[grip]
        again, afresh = solve_again(changed, solution, first, last), solve(changed)
        assert (again.path, again.effort) == (afresh.path, afresh.effort)
        assert same_tables(again, afresh)

    holds()


def test_only_long_seams_are_remembered_and_only_as_long_as_they_matter():
    random = np.random.default_rng(1)
    costs = random_costs(random, [2] * 7, [(0, 0), (1, 2), (2, 4), (1, 5), (1, 4)], 9)
    (memory,) = remembered(costs).memories
    assert (memory.first, memory.last, sorted(memory.ends)) == (1, 5, [4, 5])
    held = [len(remembered(costs).held_at(k)) for k in range(6)]
    assert held == [0, 0, 1, 1, 0, 0]


def test_grips_that_cost_the_same_towards_every_end_are_remembered_as_one():
    random = np.random.default_rng(2)
    costs = random_costs(random, [3, 2, 2, 2], [(0, 3)], 9)
    effort = np.array([[1, 2], [5, 2], [1, 2]], dtype=np.int32)
    (memory,) = remembered(replace(costs, links=(Link(0, 3, effort),))).memories
    assert memory.kinds == 2
    assert memory.kind_of[0] == memory.kind_of[2] != memory.kind_of[1]
    assert np.array_equal(memory.ends[3][memory.kind_of], effort)


def test_grips_that_differ_towards_any_of_several_ends_are_kept_apart():
    costs = random_costs(np.random.default_rng(3), [3, 2, 2, 2, 2], [(0, 3), (0, 4)], 9)
    alike = np.array([[1, 2], [1, 2], [1, 2]], dtype=np.int32)
    unlike = np.array([[1, 2], [1, 2], [7, 2]], dtype=np.int32)
    for links in ((Link(0, 3, alike), Link(0, 4, unlike)), (Link(0, 3, unlike), Link(0, 4, alike))):
        (memory,) = remembered(replace(costs, links=links)).memories
        assert memory.kinds == 2
        assert memory.kind_of[0] == memory.kind_of[1] != memory.kind_of[2]
