"""The event loop on a long part: nothing that a person does keeps it busy for long."""

from __future__ import annotations

import json
import subprocess
import sys

from tests.app.event_loop import LONGEST_S


def test_no_handler_takes_longer_than_a_twentieth_of_a_second():
    ran = subprocess.run([sys.executable, "-m", "tests.app.event_loop"], capture_output=True, check=True, timeout=600)
    longest = json.loads(ran.stdout)
    assert len(longest) == 7
    assert {name: seconds for name, seconds in longest.items() if seconds > LONGEST_S} == {}
