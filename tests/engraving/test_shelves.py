"""The room beside a system: ink is taken many boxes at once as it is box by box."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from engraving.placing.shelves import Shelf

edge = st.floats(-20.0, 200.0, allow_nan=False)
boxes = st.lists(st.tuples(edge, edge, st.floats(0.0, 30.0), st.floats(0.0, 5.0)), max_size=25)


@given(boxes)
def test_many_boxes_at_once_are_taken_as_one_after_the_other(sizes):
    ink = np.array([(x, y, x + wide, y + high) for x, y, wide, high in sizes]).reshape(-1, 4)
    at_once, one_by_one = Shelf(1.75, 0.0, 100.0), Shelf(1.75, 0.0, 100.0)
    at_once.add_ink(ink)
    for x0, y0, x1, y1 in ink.tolist():
        one_by_one.add((x0, y0, x1, y1))
    assert {cell: sorted(found) for cell, found in at_once.cells.items() if found} == {
        cell: sorted(found) for cell, found in one_by_one.cells.items()
    }
