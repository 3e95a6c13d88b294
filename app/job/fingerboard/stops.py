"""Where a note and its neighbours are stopped on the fingerboard, and where else the note could be."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.fingering.placements import Placement
from analysis.fingering.plan import Plan, Way
from analysis.language import _
from analysis.wording import decimal
from app.job.words.notes import placement_words

NEAR = 3
# To the fifth position of a violin, to where its third octave begins, and on.
_STEPS = (14, 19, 24, 31)


@dataclass(frozen=True, slots=True)
class Near:
    """A note as it is played so many ``steps`` after another; below 0 before it, 0 struck together with it."""

    steps: int
    placement: Placement
    name: str


@dataclass(frozen=True, slots=True)
class Place:
    """One stop, or the open string, where a note can be had.

    ``ways``: those that the house rules allow there, the least effort first. ``outside``: those that they do not, the
    lowest position first.
    """

    ways: tuple[Way, ...]
    outside: tuple[Placement, ...] = ()

    @property
    def where(self) -> tuple[int, int]:
        """String and stop in semitones above the open string."""
        return self.shown.string, self.shown.place

    @property
    def is_chosen(self) -> bool:
        """Whether the note is played here."""
        return any(way.chosen for way in self.ways)

    @property
    def shown(self) -> Placement:
        """What stands for the place: the way chosen, else the one that :attr:`offered` is."""
        return next((way.placement for way in self.ways if way.chosen), self.offered)

    @property
    def offered(self) -> Placement:
        """What the place is chosen for: the least effort; where the note is played here, the next way round."""
        if not self.ways:
            return self.outside[0]
        chosen = next((number for number, way in enumerate(self.ways) if way.chosen), -1)
        return self.ways[(chosen + 1) % len(self.ways)].placement


def near(plan: Plan, note_id: str, each_side: int = NEAR) -> tuple[Near, ...]:
    """The notes of the same voice around one, in the order they are played, with those struck together with it."""
    for chain in plan.chains:
        path = chain.chosen_path()
        for number, stage in enumerate(chain.stages):
            if any(note_id in ids for ids in stage.ids):
                first = max(number - each_side, 0)
                around = list(zip(chain.stages, path, strict=True))[first : number + each_side + 1]
                return tuple(
                    Near(other - number, placement, head.pitch.words)
                    for other, (there, grip) in enumerate(around, start=first)
                    for head, ids, placement in zip(there.heads, there.ids, grip, strict=True)
                    if note_id not in ids
                )
    return ()


def shown_up_to(plan: Plan, note_id: str | None) -> int:
    """How far the board is shown for a note, in semitones above the open strings.

    As far as the part goes, and in few steps, so that it lies still from note to note.
    """
    played = [placement.place for _, placement in plan.choices()]
    allowed = [placement.place for placement in plan.placements(note_id)] if note_id else []
    furthest = max([*played, *allowed], default=0)
    return next((step for step in _STEPS if step >= furthest), furthest)


def places(plan: Plan, note_id: str) -> tuple[Place, ...]:
    """Every place where the note can be stopped or is open, from the highest string down and from the nut up.

    Those that the house rules do not allow are left out beyond where the board is shown to, unless there are no others.
    """
    ways: dict[tuple[int, int], list[Way]] = {}
    for way in plan.ways(note_id):
        ways.setdefault((way.placement.string, way.placement.place), []).append(way)
    outside: dict[tuple[int, int], list[Placement]] = {}
    furthest = shown_up_to(plan, note_id)
    for placement in sorted(plan.other_placements(note_id), key=lambda one: (one.position, one)):
        if placement.place <= furthest or not ways:
            outside.setdefault((placement.string, placement.place), []).append(placement)
    return tuple(
        Place(tuple(ways.get(where, ())), tuple(outside.get(where, ()))) for where in sorted({*ways, *outside})
    )


def place_words(plan: Plan, place: Place) -> str:
    """Every way to play a note at a place with its extra effort, a line each."""
    return "\n".join(_lines(plan, place))


def offer_words(plan: Plan, place: Place) -> str:
    """How the note is played at a place, or would be when it is chosen; and what choosing it again leads to."""
    lines = _lines(plan, place)
    if not place.is_chosen or len(place.ways) == 1:
        return lines[0]
    here, offered = (
        next(number for number, way in enumerate(place.ways) if way.placement == placement)
        for placement in (place.shown, place.offered)
    )
    return f"{lines[here]}\n" + _("Click again for {way}").format(way=lines[offered])


def _lines(plan: Plan, place: Place) -> list[str]:
    instrument = plan.setting.instrument
    if not place.ways:
        return [_("{way}: outside the house rules").format(way=placement_words(place.outside[0], instrument))]
    chosen = _("chosen")
    return [
        f"{placement_words(way.placement, instrument)}: {chosen if way.chosen else decimal(f'{way.extra:+.1f}')}"
        for way in place.ways
    ]
