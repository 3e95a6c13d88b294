"""Mini scores in the formats that are converted: D4 E4 F#4 G4 as quarter notes in each."""

from __future__ import annotations

ABC = "X:1\nT:First tune\nM:4/4\nL:1/4\nK:G\nD E ^F G|\n"
TWO_TUNES = ABC + "\nX:2\nT:Second tune\nM:3/4\nL:1/4\nK:D\nA B c|\n"
KERN = "**kern\n*M4/4\n=1\n4d\n4e\n4f#\n4g\n==\n*-\n"
MEI = """<?xml version="1.0" encoding="UTF-8"?>
<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>
<scoreDef meter.count="4" meter.unit="4"><staffGrp><staffDef n="1" lines="5" clef.shape="G" clef.line="2"/></staffGrp>
</scoreDef><section><measure n="1"><staff n="1"><layer n="1">
<note pname="d" oct="4" dur="4"/><note pname="e" oct="4" dur="4"/><note pname="f" oct="4" dur="4" accid="s"/>
<note pname="g" oct="4" dur="4"/></layer></staff></measure></section></score></mdiv></body></music></mei>
"""


def midi(*keys: int) -> bytes:
    """A MIDI file of quarter notes: format 0, one track, 96 ticks a quarter (MIDI 1.0, standard files)."""
    events = b"".join(bytes([0, 0x90, key, 64, 96, 0x80, key, 0]) for key in keys) + bytes([0, 0xFF, 0x2F, 0])
    header = b"MThd" + (6).to_bytes(4, "big") + bytes([0, 0, 0, 1, 0, 96])
    return header + b"MTrk" + len(events).to_bytes(4, "big") + events
