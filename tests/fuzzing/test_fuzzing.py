"""A small sample of the damaged scores, the same in every run; ``python -m tests.fuzzing`` runs as many as you like."""

from __future__ import annotations

import os
import time

import pytest

from tests.fuzzing import campaign
from tests.fuzzing.campaign import Outcome, Worker, run
from tests.fuzzing.cases import case

pytestmark = pytest.mark.fuzz

SAMPLE = 200


def test_a_damaged_score_opens_or_is_refused_in_a_sentence() -> None:
    report = run(1, range(SAMPLE))
    assert [one.fault for one in report.faults] == []
    assert len(report.outcomes) == SAMPLE
    refused = sum(bool(one.refused) for one in report.outcomes)
    # Damage that always or never tells would try nothing.
    assert SAMPLE / 10 < refused < SAMPLE * 9 / 10


def test_a_damaged_score_that_opens_is_engraved_or_refused_in_a_sentence() -> None:
    report = run(2, range(25), engraving=True)
    assert [one.fault for one in report.faults] == []
    assert {said for said in report.engraved if said.startswith(campaign.ENGRAVER)} == set()
    assert report.engraved["engraved"]


def test_a_case_follows_from_its_number() -> None:
    assert case(1, 7) == case(1, 7)
    assert len({case(1, number).data for number in range(50)}) > 45


def sabotaged(number: int) -> Outcome:
    """Stumbles, devours memory, dies and hangs, each at its number."""
    match number:
        case 1:
            raise KeyError("a bug of ours")
        case 2:
            return Outcome(number, refused=f"{len(bytearray(b'x') * (campaign.MOST_BYTES + 2**20))} bytes")
        case 3:
            os._exit(3)
        case 4:
            time.sleep(600)
    return Outcome(number)


def test_what_goes_wrong_is_a_fault_and_the_next_case_is_tried() -> None:
    with Worker(sabotaged) as worker:
        faults = [worker.ask(number, number, 1.0 if number == 4 else 60.0).fault for number in range(6)]
    said = [fault.strip().splitlines()[-1] if fault else "" for fault in faults]
    assert said[1] == "KeyError: 'a bug of ours'"
    assert said[2].startswith("took 1")
    assert said[3:5] == ["the process died", "no end within 1 s"]
    assert (said[0], said[5]) == ("", "")
