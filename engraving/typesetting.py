"""The only module that speaks to the engraving library (verovio)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from analysis.language import _
from engraving.errors import EngravingError

if TYPE_CHECKING:
    import verovio

Option = bool | int | float | str


def typeset(
    musicxml: str, options: Mapping[str, Option], measures: tuple[int, int] | None, most_pages: int | None = None
) -> list[str]:
    """The pages as SVG, the first ``most_pages`` of them if given.

    ``measures`` picks the first and last measure element, counted from 1.

    EngravingError when the engraver refuses the score. Nothing is written on the standard streams.
    """
    toolkit = _loaded(musicxml, options)
    if measures is not None:
        _pick(toolkit, measures)
    return _pages(toolkit, most_pages)


def typeset_each(
    musicxml: str, options: Mapping[str, Option], passages: Iterable[tuple[int, int]]
) -> Iterator[list[str]]:
    """The pages of each of several passages of one score, which is read only once; otherwise as :func:`typeset`."""
    toolkit = _loaded(musicxml, options)
    for measures in passages:
        _pick(toolkit, measures)
        yield _pages(toolkit)


def typeset_under(musicxml: str, settings: Iterable[Mapping[str, Option]]) -> Iterator[list[str]]:
    """The pages of one score, which is read only once, under each of several sets of options in turn.

    What one set leaves out stays as the sets before it had it. Otherwise as :func:`typeset`.
    """
    toolkit: verovio.toolkit | None = None
    for options in settings:
        if toolkit is None:
            toolkit = _loaded(musicxml, options)
        else:
            toolkit.setOptions(dict(options))
            toolkit.redoLayout()
        yield _pages(toolkit)


def _new_toolkit() -> verovio.toolkit:
    import verovio  # here, since the window, which engraves in another process, does not wait for it

    verovio.enableLog(verovio.LOG_OFF)
    return verovio.toolkit()


def _loaded(musicxml: str, options: Mapping[str, Option]) -> verovio.toolkit:
    toolkit = _new_toolkit()
    toolkit.setOptions(dict(options))
    if not toolkit.loadData(musicxml):
        raise EngravingError(_("the part cannot be engraved: the engraver does not read its MusicXML"))
    return toolkit


def _pick(toolkit: verovio.toolkit, measures: tuple[int, int]) -> None:
    if not toolkit.select({"measureRange": f"{measures[0]}-{measures[1]}"}):
        raise EngravingError(
            _("measures {first} to {last} cannot be picked out of the part").format(first=measures[0], last=measures[1])
        )
    toolkit.redoLayout()


def _pages(toolkit: verovio.toolkit, most: int | None = None) -> list[str]:
    count = toolkit.getPageCount()
    return [toolkit.renderToSVG(number) for number in range(1, (count if most is None else min(most, count)) + 1)]


def encoded(musicxml: str, measures: tuple[str, str] | None = None) -> str:
    """The score as MEI text; ``measures`` picks the first and last ``<measure>`` by their ids.

    EngravingError when the engraver refuses the score. Nothing is written on the standard streams.
    """
    toolkit = _new_toolkit()
    toolkit.setOptions({"xmlIdChecksum": True})
    if not toolkit.loadData(musicxml):
        raise EngravingError(_("the score cannot be encoded: the engraver does not read its MusicXML"))
    picked = {} if measures is None else {"firstMeasure": measures[0], "lastMeasure": measures[1]}
    return str(toolkit.getMEI(picked))
