"""Two trees compared: the canonical text of a tree, and a tree with its fingering marks taken out again."""

from __future__ import annotations

import copy

from lxml import etree

from engraving.patching import take_out


def canonical(tree: etree._ElementTree) -> bytes:
    """The canonical XML of the tree (W3C, Canonical XML 1.0): equal exactly where two trees say the same in order."""
    return etree.tostring(tree, method="c14n")


def without_marks(tree: etree._ElementTree) -> etree._ElementTree:
    """The tree without its fingerings and strings and what is empty after that: for files that held none before."""
    bare = copy.deepcopy(tree)
    for mark in list(bare.iter("fingering", "string")):
        take_out(mark)
    for tag in ("technical", "notations"):
        for element in list(bare.iter(tag)):
            if not len(element):
                take_out(element)
    return bare
