"""The bridge to numpy, continued: the stages with the rules in force at each as arrays."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.fingering.hands import Moments
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import Stage

_FAVOUR = {"open": 1.0, "fourth": -1.0, "either": 0.0}


def moments(stages: Sequence[Stage], rules: Sequence[HouseRules]) -> Moments:
    """``stages`` with the rules in force at each as arrays of shape [stages]."""
    return Moments(
        quarters=np.array([float(stage.quarters) for stage in stages]),
        since=np.array([stage.seconds_since for stage in stages]),
        rest=np.array([stage.seconds_rest for stage in stages]),
        slurred=np.array([stage.slurred for stage in stages], dtype=bool),
        plucked=np.array([stage.plucked for stage in stages], dtype=bool),
        loud=np.array([float(stage.loudness) for stage in stages]),
        alternates=np.array([stage.alternates for stage in stages], dtype=bool),
        trilled=np.array([stage.trilled for stage in stages], dtype=bool),
        after_trill=np.array([stage.after_trill for stage in stages], dtype=bool),
        home=np.array([float(rule.home) for rule in rules]),
        longest_open=np.array([float(rule.longest_open) for rule in rules]),
        spare_shrill=np.array([rule.avoid_shrill_open for rule in rules], dtype=bool),
        spare_single=np.array([rule.fourth_saves_crossing for rule in rules], dtype=bool),
        favour_open=np.array([_FAVOUR[rule.open_or_fourth] for rule in rules]),
    )
