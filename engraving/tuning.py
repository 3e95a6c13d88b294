"""Strings tuned otherwise: what a part says of its tuning, beside the strings of the instrument it is for."""

from __future__ import annotations

from lxml import etree

from analysis.instruments import guess_instrument
from engraving.elements import number_in

_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def is_tuned_otherwise(part: etree._Element, name: str) -> bool:
    """Whether a part asks for other strings than usual, in a ``<scordatura>`` or in the tuning of its staff lines.

    Notes that the tuning of a tablature's staff names count in any octave; of other instruments than ours nothing is
    known to compare with.
    """
    if next(part.iter("scordatura"), None) is not None:
        return True
    instrument = guess_instrument(name)
    tunings = list(part.iter("staff-tuning"))
    if instrument is None or not tunings:
        return False
    usual = {int(string.pitch.midi) % 12 for string in instrument.strings}
    return any(_note(tuning) not in usual for tuning in tunings)


def _note(tuning: etree._Element) -> int | None:
    step = _SEMITONES.get((tuning.findtext("tuning-step") or "").strip())
    return None if step is None else int(step + (number_in(tuning.findtext("tuning-alter")) or 0)) % 12
