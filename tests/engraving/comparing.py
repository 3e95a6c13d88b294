"""Two trees compared: the canonical text of a tree, and a tree with its fingering marks taken out again."""

from __future__ import annotations

import copy

from lxml import etree

from engraving.patching import take_out


def canonical(tree: etree._ElementTree) -> bytes:
    """The canonical XML of the tree (W3C, Canonical XML 1.0): equal exactly where two trees say the same in order."""
    return etree.tostring(tree, method="c14n")


def without_marks(tree: etree._ElementTree, original: etree._ElementTree) -> etree._ElementTree:
    """A copy of the tree without fingerings and strings, and without holders for them that the original has not.

    For originals without any fingering or string of their own.
    """
    bare = copy.deepcopy(tree)
    for note, before in zip(bare.iter("note"), original.iter("note"), strict=True):
        for mark in list(note.iter("fingering", "string")):
            take_out(mark)
        for path in ("notations/technical", "notations"):
            empty = [element for element in note.iterfind(path) if not len(element)]
            for element in empty[: len(note.findall(path)) - len(before.findall(path))]:
                take_out(element)
    return bare
