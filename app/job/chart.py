"""The fingerboard chart of a fingered passage."""

from __future__ import annotations

from analysis.fingering.plan import Plan
from app.job.digits import struck_notes
from engraving.fingerboard import Dot, FingerboardChart, usual_tapes


def fingerboard_chart(plan: Plan, measures: tuple[int, int]) -> FingerboardChart:
    """Where the fingers fall in measures of these indices, both included, on the instrument in the size of the plan."""
    instrument = plan.setting.played_on
    dots = dict.fromkeys(Dot(placement, note.pitch.words) for note, placement in struck_notes(plan, measures))
    return FingerboardChart(instrument, tuple(dots), usual_tapes(instrument))
