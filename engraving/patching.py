"""Elements put into the tree with the blanks of their surroundings, so that a neatly indented file stays neat."""

from __future__ import annotations

from lxml import etree


def put_in(parent: etree._Element, index: int, child: etree._Element) -> None:
    """Insert ``child`` so that it stands at ``index``, on a line of its own where its neighbours do.

    Taking the child out again, with the blanks before it, gives back the text as it was.
    """
    if index == 0:
        child.tail = parent.text if len(parent) else None
    else:
        before = parent[index - 1]
        child.tail = before.tail
        if index == len(parent):
            before.tail = parent.text
    parent.insert(index, child)


def take_out(child: etree._Element) -> None:
    """Remove ``child`` and the blanks before it: the undoing of ``put_in``."""
    parent = child.getparent()
    if parent is None:
        return
    before = child.getprevious()
    tail = child.tail
    parent.remove(child)
    if before is None:
        parent.text = tail if len(parent) else parent.text
    else:
        before.tail = tail


def indent_new(element: etree._Element) -> None:
    """Lay out the children of an element that was just put in as the lines around it are laid out."""
    parent = element.getparent()
    if parent is None or "\n" not in (parent.text or ""):
        return
    inside = parent.text or ""
    grandparent = parent.getparent()
    outside = (grandparent.text or "") if grandparent is not None else ""
    step = inside.removeprefix(outside) if inside.startswith(outside) else ""
    _indent_children(element, inside, step)


def _indent_children(element: etree._Element, inside: str, step: str) -> None:
    children = list(element)
    if not children:
        return
    element.text = inside + step
    for child in children:
        _indent_children(child, inside + step, step)
        child.tail = inside + step
    children[-1].tail = inside
