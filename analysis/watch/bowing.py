"""Where the bow comes out wrong: first beats on up-bows, repeats, bows that last too long, long bows beside short ones.

What is printed is followed bow by bow; the nearest cure is that of the least change. That a first beat wants a down-bow
say Leopold Mozart, "Violinschule" (1756), chapter IV, and Muffat, "Florilegium secundum" (1698), both from memory. The
louder, the faster the bow, and the shorter it lasts: Galamian, "Principles of Violin Playing and Teaching" (1962), on
the division of the bow (from memory). How many seconds: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from analysis.bowing.bows import DOWN, Bowing
from analysis.bowing.cures import Astray, Course, astray, least
from analysis.bowing.strokes import RETAKE_SECONDS, Return, Stroke, Weight, ends_freely, weight
from analysis.bowing.words import cure_words
from analysis.language import _
from analysis.music import Part
from analysis.watch.finding import Finding, found
from analysis.watch.study import Study

_CERTAINTY = 0.6
# After a bow of so many seconds there is time to lift it before going back.
_TIME_TO_LIFT = 1.0
# How many seconds a bow lasts at most, by the loudness of a stage; without a dynamic as in mezzo forte.
_LONGEST: Mapping[int, float] = MappingProxyType(
    {-4: 15.0, -3: 13.0, -2: 11.0, -1: 9.5, 0: 8.0, 2: 5.0, 3: 4.0, 4: 3.5}
)
# A long bow beside a short one: from so many seconds on, so many times as long, so many times in a row.
_LONG_SECONDS, _TIMES, _IN_A_ROW = 1.2, 3, 4


def watch_bowing(study: Study) -> Iterator[Finding]:
    """What goes wrong with the bow; what two voices share is said once."""
    told: set[tuple[str, str, str] | str] = set()
    for bowing in study.bows:
        for finding in _of_voice(study.part, bowing):
            if told.isdisjoint((finding.key, finding.text)):
                told |= {finding.key, finding.text}
                yield finding


def _of_voice(part: Part, bowing: Bowing) -> Iterator[Finding]:
    course = least(bowing)
    yield from _wrong(part, bowing, course)
    yield from _returns(part, bowing, course)
    # How long a bow lasts nobody knows without a tempo.
    if part.tempi:
        yield from _long(part, bowing)
        yield from _uneven(part, bowing)


def _found(shown: Iterable[Stroke], text: str) -> Finding:
    return found("bowing", (stroke.note for stroke in shown), text, _CERTAINTY)


def _label(part: Part, stroke: Stroke) -> str:
    return part.measures[stroke.measure].label


# The first beats


def _wrong(part: Part, bowing: Bowing, course: Course) -> Iterator[Finding]:
    for one in astray(bowing, course):
        shown = [bowing.strokes[number] for number in one.wrong]
        yield _found(shown, _wrong_words(part, bowing, course, one))


def _wrong_words(part: Part, bowing: Bowing, course: Course, one: Astray) -> str:
    first, last = (_label(part, bowing.strokes[number]) for number in (one.wrong[0], one.wrong[-1]))
    cures = cure_words(part, bowing.strokes, course.directions, one.cure)
    if one.back is not None:
        back = cure_words(part, bowing.strokes, course.directions, one.back)
        cures = _("{cure}, then {back}").format(cure=cures, back=back)
    elif one.instead is not None:
        other = cure_words(part, bowing.strokes, course.directions, one.instead)
        cures = _("{cure}, or {other}").format(cure=cures, other=other)
    words = _("From measure {first} to {last} the first beats fall on an up-bow: {cures}.")
    return words.format(first=first, last=last, cures=cures)


# Repeats


def _returns(part: Part, bowing: Bowing, course: Course) -> Iterator[Finding]:
    """Repeats that begin with the bow that has just ended, as printed and after the cures."""
    for one in bowing.returns:
        last, first = bowing.strokes[one.last], bowing.strokes[one.first]
        ways = (bowing.printed, course.directions)
        if not _has_time(one, last) and not first.mark and all(way[one.first] == way[one.last] for way in ways):
            yield _found((last,), _return_words(bowing.printed[one.first]).format(measure=_label(part, last)))


def _return_words(bow: str) -> str:
    if bow == DOWN:
        return _(
            "After measure {measure} the repeat begins with a down-bow right after a down-bow: "
            "lift the bow before going back."
        )
    return _(
        "After measure {measure} the repeat begins with an up-bow right after an up-bow: "
        "lift the bow before going back."
    )


def _has_time(one: Return, last: Stroke) -> bool:
    return one.silence >= RETAKE_SECONDS or ends_freely(last) or last.seconds >= _TIME_TO_LIFT


# Bows that last too long


def _long(part: Part, bowing: Bowing) -> Iterator[Finding]:
    run: list[Stroke] = []
    for stroke in bowing.strokes:
        if _lasts_too_long(stroke):
            run.append(stroke)
        elif run:
            yield _long_finding(part, run)
            run = []
    if run:
        yield _long_finding(part, run)


def _lasts_too_long(stroke: Stroke) -> bool:
    loudest = max(stage.loudness for stage in stroke.stages)
    return stroke.seconds > _LONGEST[loudest] and not stroke.trembles and not stroke.last.fermata


def _long_finding(part: Part, run: Sequence[Stroke]) -> Finding:
    seconds = f"{max(stroke.seconds for stroke in run):.0f}"
    if len(run) > 1:
        words = _(
            "From measure {first} to {last} single bows last up to {seconds} seconds: save bow from the beginning."
        )
        return _found(run, words.format(first=_label(part, run[0]), last=_label(part, run[-1]), seconds=seconds))
    (stroke,) = run
    measure = _label(part, stroke)
    if not stroke.is_single:
        return _found(run, _long_slur_words(part, stroke).format(measure=measure, seconds=seconds))
    words = _(
        "The long {pitch} in measure {measure} lasts about {seconds} seconds: save bow, "
        "or change it at another time than your stand partner."
    )
    return _found(run, words.format(pitch=stroke.note.pitch.words, measure=measure, seconds=seconds))


def _long_slur_words(part: Part, stroke: Stroke) -> str:
    """What to say of a long slur, with ``{measure}`` and ``{seconds}`` still to be put in.

    It is best parted at the first beat that is nearest to its half, or else at the note that is.
    """
    begun = [stage for stage in stroke.stages if stage is not stroke.main and not stage.heads[0].grace]
    half = stroke.onset + stroke.quarters / 2
    heavy = [stage for stage in begun if weight(part.measures[stage.measure], stage.onset) is Weight.FIRST]
    best = min(heavy or begun, key=lambda stage: abs(stage.onset - half))
    if heavy:
        at = part.measures[best.measure].label
        words = _(
            "The slur that begins in measure {measure} lasts about {seconds} seconds: "
            "save bow, or change it at measure {at}."
        )
    else:
        at = part.place(best.heads[0])
        words = _(
            "The slur that begins in measure {measure} lasts about {seconds} seconds: save bow, or change it in {at}."
        )
    return words.format(measure="{measure}", seconds="{seconds}", at=at)


# Long bows beside short ones


def _uneven(part: Part, bowing: Bowing) -> Iterator[Finding]:
    count = len(bowing.strokes)
    at = 0
    while at + 1 < count:
        end = at
        while end + 1 < count and _is_uneven(bowing, end) and (end == at or _turns(bowing, end)):
            end += 2
        if end - at >= 2 * _IN_A_ROW:
            yield _uneven_finding(part, bowing, at, end)
        at = max(end, at + 1)


def _is_uneven(bowing: Bowing, number: int) -> bool:
    """Whether a long bow is followed by a short one."""
    long, short = bowing.strokes[number : number + 2]
    is_long = long.seconds >= _LONG_SECONDS and long.quarters >= _TIMES * short.quarters
    return is_long and _turns(bowing, number + 1)


def _turns(bowing: Bowing, number: int) -> bool:
    """Whether the bow turns at a stroke without a rest."""
    stroke, printed = bowing.strokes[number], bowing.printed
    is_next = stroke.before == number - 1 and not stroke.loose and not stroke.silence
    return is_next and printed[number] != printed[number - 1]


def _uneven_finding(part: Part, bowing: Bowing, start: int, end: int) -> Finding:
    shown = bowing.strokes[start:end]
    first, last = _label(part, shown[0]), _label(part, shown[-1])
    if bowing.printed[start] == DOWN:
        words = _(
            "From measure {first} to {last} long down-bows alternate with short up-bows: "
            "save bow on the long ones and bring it back lightly."
        )
    else:
        words = _(
            "From measure {first} to {last} long up-bows alternate with short down-bows: "
            "save bow on the long ones and bring it back lightly."
        )
    return _found(shown, words.format(first=first, last=last))
