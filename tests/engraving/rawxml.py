"""Scores from bare MusicXML, for what the mini score notation of ``tests.scores`` has no word for."""

from __future__ import annotations

QUARTER = "<duration>1</duration>"


def raw(*measures: str, attributes: str = "<divisions>1</divisions>") -> bytes:
    """A part from bare MusicXML measures, for what the mini score notation has no word for."""
    opening = f"<attributes>{attributes}</attributes>" if attributes else ""
    written = "".join(
        f'<measure number="{number}">{opening if number == 1 else ""}{music}</measure>'
        for number, music in enumerate(measures, start=1)
    )
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Viola</part-name></score-part>'
        f'</part-list><part id="P1">{written}</part></score-partwise>'
    ).encode()


def raw_note(name: str, inside: str = QUARTER, before: str = "", attributes: str = "") -> str:
    """A note, ``D5``, without an accidental; ``before`` and ``inside`` stand before and after its pitch."""
    pitch = f"<pitch><step>{name[0]}</step><octave>{name[1]}</octave></pitch>"
    return f"<note{attributes}>{before}{pitch}{inside}</note>"
