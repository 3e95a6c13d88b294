"""The effort terms: what each thing asked of the hand, the bow or the ear costs, one small function a thing.

Unit: 1.0 = crossing to the neighbouring string between two quarter notes at 60. A term looks at one, two or three
stages next to each other (its *span*) and returns an array that broadcasts to [stages, grips of the first, of the
second, ...]. Each has the words a teacher would use, and its source: the publication that a rule of thumb is from, or
common practice. Sizes of the numbers are our own.
"""

from analysis.fingering.terms.registry import TERM_NAMES, TERMS
from analysis.fingering.terms.window import Counted, Spreads, Term, Window, effort_of, spreads

__all__ = ["TERMS", "TERM_NAMES", "Counted", "Spreads", "Term", "Window", "effort_of", "spreads"]
