"""The teacher's marks put into a tree: checked against the score and each other, then written one by one."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping

from lxml import etree

from analysis.language import _
from engraving.errors import EngravingError
from engraving.marks.at_notes import AT_NOTES
from engraving.marks.directions import belongs_to
from engraving.marks.lines import PartLines
from engraving.marks.over_notes import OVER_NOTES, Reach
from engraving.marks.sites import PartSites, Site, find_sites
from engraving.marks.teacher import MARK_KINDS, OF_CHORD, ONE_OF, TeacherMark

_TENTHS = 10  # in a staff space (MusicXML 4.0, type tenths)
_COLOUR = re.compile(r"#[0-9A-F]{6}")
_SWELLS = ("crescendo", "diminuendo")


def write_teacher_marks(
    tree: etree._ElementTree,
    name: str,
    marks: Collection[TeacherMark],
    colour_of: Callable[[TeacherMark], str | None] = lambda mark: None,
) -> None:
    """Write marks into the tree, but for those that stand there already.

    ``colour_of`` gives the colour of a mark as ``#RRGGBB``, ``None`` for black.

    EngravingError, beginning with the file's ``name``, for a note that is not there or is a rest, for marks that
    contradict each other and for a range that ends before it begins.
    """
    wanted = dict.fromkeys(note_id for mark in marks for note_id in (mark.first, mark.last) if note_id)
    try:
        sites = find_sites(tree, wanted)
        _check_notes(sites, wanted)
        _check_single(sites, marks)
        _Pencil(sites, marks, colour_of).write()
    except EngravingError as error:
        raise EngravingError(f"{name}: {error}") from error


def look_of(mark: TeacherMark | None, colour: str | None) -> dict[str, str]:
    """The attributes for where a mark was moved to by hand and for its colour; EngravingError for a bad colour."""
    moved = {} if mark is None else {"relative-x": mark.dx, "relative-y": mark.dy}
    tenths = {attribute: round(_TENTHS * way, 2) for attribute, way in moved.items()}
    look = {attribute: f"{way:.7g}" for attribute, way in tenths.items() if way}
    if colour is not None:
        look["color"] = colour.upper()
        if not _COLOUR.fullmatch(look["color"]):
            raise EngravingError(_("'{colour}' is no colour such as #C03020").format(colour=colour))
    return look


class _Pencil:
    """Writes marks at their sites."""

    def __init__(
        self,
        sites: Mapping[str, Site],
        marks: Collection[TeacherMark],
        colour_of: Callable[[TeacherMark], str | None],
    ) -> None:
        self._sites, self._marks, self._colour_of = sites, marks, colour_of
        self._lines: dict[PartSites, PartLines] = {}
        self._swelling = {sites[mark.first].head for mark in marks if mark.kind in _SWELLS}

    def write(self) -> None:
        """Write all marks."""
        for mark in sorted(self._marks, key=lambda mark: mark.kind in OVER_NOTES):
            look = look_of(mark, self._colour_of(mark))
            site = self._sites[mark.first]
            if mark.kind in AT_NOTES:
                AT_NOTES[mark.kind](site, mark, look)
            else:
                OVER_NOTES[mark.kind](self._reach(mark, site, look))

    def _reach(self, mark: TeacherMark, first: Site, look: Mapping[str, str]) -> Reach:
        last = self._sites[mark.last]
        _check_order(mark, first, last)
        if first.part not in self._lines:
            self._lines[first.part] = PartLines(first.part)
        yields = mark.kind in _SWELLS and first.head is not last.head and self._is_taken_over(first, last)
        return Reach(mark, first, last, self._lines[first.part], look, yields)

    def _is_taken_over(self, first: Site, last: Site) -> bool:
        """Whether a dynamic or another hairpin begins at the last note."""
        if last.head in self._swelling:
            return True
        # From a grace note to its main note a hairpin begins and ends at one onset: it is not its own successor.
        own = set(first.before())
        signs = (
            sign
            for direction in last.before()
            if direction not in own and belongs_to(direction, last)
            for sign in direction.iterfind("direction-type/*")
        )
        return any(sign.tag == "dynamics" or sign.get("type") in _SWELLS for sign in signs)


def _check_notes(sites: Mapping[str, Site], wanted: Collection[str]) -> None:
    for note_id in wanted:
        if note_id not in sites:
            raise EngravingError(_("there is no note with the id {note_id}").format(note_id=note_id))
        if sites[note_id].note.find("rest") is not None:
            raise EngravingError(_("a rest takes no mark, and {note_id} is one").format(note_id=note_id))


def _check_single(sites: Mapping[str, Site], marks: Collection[TeacherMark]) -> None:
    said: dict[tuple[etree._Element, str], tuple[str, str]] = {}
    for mark in marks:
        group = ONE_OF.get(mark.kind)
        if group is None:
            continue
        site = sites[mark.first]
        note = site.head if group in OF_CHORD else site.note
        says = (mark.kind, mark.text)
        if said.setdefault((note, group), says) != says:
            raise EngravingError(
                _("two different {group} for the note {note_id}").format(group=_(group), note_id=mark.first)
            )


def _check_order(mark: TeacherMark, first: Site, last: Site) -> None:
    title = _(MARK_KINDS[mark.kind].title)
    if first.part is not last.part:
        raise EngravingError(
            _("{title}: the notes {first} and {last} stand in two parts").format(
                title=title, first=mark.first, last=mark.last
            )
        )
    if MARK_KINDS[mark.kind].element == "slur" and first.head is last.head:
        raise EngravingError(
            _("{title}: the notes {first} and {last} belong to one chord").format(
                title=title, first=mark.first, last=mark.last
            )
        )
    later = last.measure > first.measure
    if last.measure < first.measure or (not later and first.voice == last.voice and last.begins < first.begins):
        raise EngravingError(
            _("{title}: the mark ends at {last}, before it begins at {first}").format(
                title=title, last=mark.last, first=mark.first
            )
        )
