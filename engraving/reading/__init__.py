"""From the tree of a document to the parts that the analysis works on."""

from engraving.reading.score import read_score

__all__ = ["read_score"]
