"""The only module that speaks to the engraving library (verovio)."""

from __future__ import annotations

from collections.abc import Mapping

import verovio

from engraving.errors import EngravingError

Option = bool | int | float | str


def typeset(
    musicxml: str, options: Mapping[str, Option], measures: tuple[int, int] | None, most_pages: int | None = None
) -> list[str]:
    """The pages as SVG, the first ``most_pages`` of them if given.

    ``measures`` picks the first and last measure element, counted from 1.

    EngravingError when the engraver refuses the score. Nothing is written on the standard streams.
    """
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(dict(options))
    if not toolkit.loadData(musicxml):
        raise EngravingError("the part cannot be engraved: the engraver does not read its MusicXML")
    if measures is not None:
        if not toolkit.select({"measureRange": f"{measures[0]}-{measures[1]}"}):
            raise EngravingError(f"measures {measures[0]} to {measures[1]} cannot be picked out of the part")
        toolkit.redoLayout()
    pages = toolkit.getPageCount() if most_pages is None else min(most_pages, toolkit.getPageCount())
    return [toolkit.renderToSVG(number) for number in range(1, pages + 1)]
