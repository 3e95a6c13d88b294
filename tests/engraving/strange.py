"""Strange but legal music, and music that only looks legal: mini files, what opens of them and what is said of them."""

from __future__ import annotations

from dataclasses import dataclass

from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import full_score, part, score


@dataclass(frozen=True, slots=True)
class Strange:
    """A mini file. ``notes``: the names read of its first part. ``says``: part of a remark, or of the refusal."""

    name: str
    data: bytes
    notes: str = ""
    says: str = ""
    refused: bool = False


def _note(inside: str, *, before: str = "", pitch: str = "D5", attributes: str = "") -> str:
    return raw_note(pitch, inside, before, attributes)


def _bare(content: str) -> str:
    return f"<note>{content}</note>"


def _several(one: bytes, old: str, new: str) -> bytes:
    data = one.replace(old.encode(), new.encode())
    if data == one:
        raise ValueError(f"'{old}' is not in the score")
    return data


def _listed_as(name: str, data: bytes) -> bytes:
    return _several(data, "<part-name>Viola</part-name>", f"<part-name>{name}</part-name>")


def _tuned(element: str) -> bytes:
    return raw(element + raw_note("D5"))


_TWO_STAVES = raw(
    _note(QUARTER + "<voice>1</voice><staff>1</staff>")
    + f"<backup>{QUARTER}</backup>"
    + _note(QUARTER + "<voice>5</voice><staff>2</staff>", pitch="D3"),
    attributes="<divisions>1</divisions><staves>2</staves><clef number='1'><sign>G</sign><line>2</line></clef>"
    "<clef number='2'><sign>F</sign><line>4</line></clef>",
)
_UNPITCHED = "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
_SCORDATURA = (
    "<direction><direction-type><scordatura><accord string='4'><tuning-step>A</tuning-step>"
    "<tuning-octave>3</tuning-octave></accord></scordatura></direction-type></direction>"
)
_TAB = (
    "<attributes><clef><sign>TAB</sign><line>5</line></clef><staff-details><staff-lines>4</staff-lines>{}"
    "</staff-details></attributes>"
)
_TIME_MODIFICATION = (
    "<time-modification><actual-notes>{}</actual-notes><normal-notes>{}</normal-notes></time-modification>"
)
_TUPLETS = "<notations><tuplet type='{0}' number='1'/><tuplet type='{0}' number='2'/></notations>"


def _tuning(line: int, step: str, octave: int) -> str:
    return (
        f"<staff-tuning line='{line}'><tuning-step>{step}</tuning-step>"
        f"<tuning-octave>{octave}</tuning-octave></staff-tuning>"
    )


_USUAL_VIOLA = "".join(_tuning(line, step, octave) for line, (step, octave) in enumerate(
    (("C", 3), ("G", 3), ("D", 4), ("A", 4)), start=1))  # fmt: skip
_NESTED = raw(
    "".join(
        _note(f"<duration>4</duration><type>eighth</type>{_TIME_MODIFICATION.format(9, 4)}{marks}")
        for marks in (_TUPLETS.format("start"), "", _TUPLETS.format("stop"))
    ),
    attributes="<divisions>18</divisions>",
)
_TIMEWISE = (
    b'<score-timewise version="4.0"><part-list><score-part id="P1"><part-name>Violin</part-name></score-part>'
    b'<score-part id="P2"><part-name>Viola</part-name></score-part></part-list>'
    b'<measure number="1"><part id="P1"><attributes><divisions>1</divisions></attributes><note><pitch><step>D</step>'
    b'<octave>5</octave></pitch><duration>4</duration></note></part><part id="P2"><attributes><divisions>1</divisions>'
    b"</attributes><note><rest/><duration>4</duration></note></part></measure>"
    b'<measure number="2"><part id="P1"><note><pitch><step>E</step><octave>5</octave></pitch><duration>4</duration>'
    b"</note></part></measure></score-timewise>"
)
_NO_LIST = raw(raw_note("D5")).replace(
    b'<part-list><score-part id="P1"><part-name>Viola</part-name></score-part></part-list>', b""
)

_NO_DIVISIONS = "the divisions of the quarter note are not given"
_WRONG_DIVISIONS = "is no number of divisions of the quarter note"
_OTHERWISE = "Viola asks for strings tuned otherwise"
_BARE_GRACE = "<grace/><pitch><step>E</step><octave>5</octave></pitch><beam number='1'>begin</beam>"
_ATTRIBUTES = "<attributes>{}</attributes>"
_HIGHER = "<transpose><chromatic>0</chromatic><octave-change>99</octave-change></transpose>"
_IN_B_FLAT = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
_FOUR_FOUR = "<beats>4</beats><beat-type>4</beat-type>"
_FINGER_2, _FINGER_3 = "<fingering>2</fingering>", "<fingering>3</fingering>"
_TWO_STRINGS = "<string>1</string><string>2</string>"


def _marked(*notations: str) -> bytes:
    return raw(_note(QUARTER + "".join(f"<notations>{inside}</notations>" for inside in notations)))


def _technical(*inside: str) -> str:
    return f"<technical>{''.join(inside)}</technical>"


# Read as they stand.
_OPENED = (
    Strange("a part without notes", raw("<attributes/>")),
    Strange("a part without measures", raw()),
    Strange("a part with an empty measure", raw("", "")),
    Strange("a part of one note", raw(raw_note("D5")), "D5"),
    Strange("no part list", _NO_LIST, "D5"),
    Strange(
        "a part that the list does not name",
        _several(raw(raw_note("D5")), '<score-part id="P1">', '<score-part id="Q">'),
        "D5",
    ),
    Strange("a percussion part", _listed_as("Drums", raw(_bare(_UNPITCHED + QUARTER) + _bare(_UNPITCHED + QUARTER)))),
    Strange("unpitched notes among others", raw(_bare(_UNPITCHED + QUARTER) + raw_note("D5")), "D5"),
    Strange("a piano part", _listed_as("Piano", _TWO_STAVES), "D5 D3"),
    Strange("a grand staff for a string player", _TWO_STAVES, "D5 D3"),
    Strange("crossing voices", score("Viola", "4/4", "D4/1 A5/3 & A5/1 D4/3"), "D4 A5 A5 D4"),
    Strange("a measure longer than its metre", score("Viola", "2/4", "D5/1 E5 F5 G5 A5 | B5/2"), "D5 E5 F5 G5 A5 B5"),
    Strange("a pickup", score("Viola", "3/4", "D5/1 | E5/3", pickup=True), "D5 E5"),
    Strange(
        "a measure of a number that none has",
        _several(raw(raw_note("D5")), ' number="1"', f' number="{"0" * 5000}"'),
        "D5",
    ),
    Strange("a note that is a rest too", raw(raw_note("D5", before="<rest/>") + raw_note("E5")), "E5"),
    Strange("a measure without a number", _several(raw(raw_note("D5")), ' number="1"', ""), "D5"),
    Strange("tuplets in tuplets", _NESTED, "D5 D5 D5"),
    Strange("grace notes at the end", score("Viola", "4/4", "D5/4 | *E5 *F5"), "D5 E5 F5"),
    Strange("a part of grace notes only", score("Viola", "4/4", "*E5 *F5"), "E5 F5"),
    Strange("a grace note without a type in a beam", raw(_bare(_BARE_GRACE) + raw_note("D5")), "E5 D5"),
    Strange(
        "notes without a type",
        raw(raw_note("D5", "<duration>7</duration>") + raw_note("E5", "<duration>1</duration>")),
        "D5 E5",
    ),
    Strange("quarter tones", score("Viola", "4/4", "C+0.5,5/2 D-1.5,5"), "C5 +1/4 tone D5 -3/4 tone"),
    Strange("cue notes", raw(_note(QUARTER, before="<cue/>") + raw_note("E5")), "E5"),
    Strange("invisible notes", raw(_note(QUARTER, attributes=" print-object='no'") + raw_note("E5")), "E5"),
    Strange("several notations", _marked("<fermata/>", _technical(_FINGER_2)), "D5"),
    Strange("several technicals", _marked(_technical("<up-bow/>") + _technical(_FINGER_2)), "D5"),
    Strange("one fingering upon another", _marked(_technical(_FINGER_2, _FINGER_3, _TWO_STRINGS)), "D5"),
    Strange("scordatura", _tuned(_SCORDATURA), "D5", _OTHERWISE),
    Strange("a tablature tuned as usual", _tuned(_TAB.format(_USUAL_VIOLA)), "D5"),
    Strange("a tablature tuned otherwise", _tuned(_TAB.format(_tuning(1, "B", 2))), "D5", _OTHERWISE),
    Strange("a guitar's tablature", _listed_as("Guitar", _tuned(_TAB.format(_tuning(1, "E", 2)))), "D5"),
    Strange("a transposing part", raw(_ATTRIBUTES.format(_IN_B_FLAT) + raw_note("D5")), "D5"),
    Strange(
        "a backup to before the start",
        raw(raw_note("D5") + "<backup><duration>999</duration></backup>" + raw_note("E5")),
        "D5 E5",
    ),
    Strange("a forward past the end", raw(raw_note("D5") + "<forward><duration>999</duration></forward>"), "D5"),
    Strange(
        "a slur that never ends",
        raw(_note(QUARTER + "<notations><slur type='start'/></notations>") + raw_note("E5")),
        "D5 E5",
    ),
    Strange("a tie to nothing", raw(_note(QUARTER + "<tie type='start'/>")), "D5"),
    Strange(
        "a chord of twelve",
        score("Viola", "4/4", "[C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4]/4"),
        "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4",
    ),
    Strange("a chord without a beginning", raw(_note(QUARTER, before="<chord/>")), "D5"),
    Strange("notes that no viola has", score("Viola", "4/4", "C0/2 B9"), "C0 B9"),
    Strange(
        "music without measure", _several(score("Viola", "4/4", "D5/1 E5"), _FOUR_FOUR, "<senza-misura/>"), "D5 E5"
    ),
    Strange(
        "a metre of a thousand digits",
        _several(score("Viola", "4/4", "D5/1"), "<beats>4<", f"<beats>{'9' * 1000}<"),
        "D5",
    ),
    Strange("an octave of transposition too many", raw(_ATTRIBUTES.format(_HIGHER) + raw_note("D5")), "D5"),
    Strange("a tempo of nothing", _several(score("Viola", "4/4", "!=96 D5/1"), 'tempo="96"', 'tempo="0.0001"'), "D5"),
    Strange("a repeat of everything back to nowhere", score("Viola", "4/4", "D5/4 : | E5/4 :"), "D5 E5"),
    Strange("a score ordered by measures", _TIMEWISE, "D5 E5", "was ordered by measures (score-timewise)"),
    Strange(
        "parts of unequal length",
        full_score(part("Violin", "4/4", "D5/4 | E5 | F5"), part("Viola", "4/4", "D4/4")),
        "D5 E5 F5",
    ),
    Strange("blanks before the declaration", b"\r\n \t" + score("Viola", "4/4", "D5/1"), "D5"),
    Strange(
        "comments everywhere",
        _several(score("Viola", "4/4", "D5/1^2 E5"), "<technical>", "<!-- a --><technical><?b c?><!-- d -->"),
        "D5 E5",
    ),
)

# Refused, since nobody can say what they mean.
_REFUSED = (
    Strange("no divisions", raw(raw_note("D5"), attributes=""), says=_NO_DIVISIONS, refused=True),
    Strange(
        "divisions of 0",
        raw(raw_note("D5"), attributes="<divisions>0</divisions>"),
        says=_WRONG_DIVISIONS,
        refused=True,
    ),
    Strange(
        "divisions below 0",
        raw(raw_note("D5"), attributes="<divisions>-4</divisions>"),
        says=_WRONG_DIVISIONS,
        refused=True,
    ),
    Strange(
        "a negative duration", raw(raw_note("D5", "<duration>-1</duration>")), says="'-1' is no duration", refused=True
    ),
    Strange(
        "a duration in words",
        raw(raw_note("D5", "<duration>long</duration>")),
        says="'long' is no duration",
        refused=True,
    ),
    Strange(
        "a duration of a thousand digits",
        raw(raw_note("D5", f"<duration>{'9' * 1000}</duration>")),
        says="is no duration",
        refused=True,
    ),
    Strange(
        "a note longer than any music",
        raw(raw_note("D5", "<duration>999999999</duration>")),
        says="a note lasts longer than any music",
        refused=True,
    ),
    Strange("no duration", raw(raw_note("D5", "")), says="a note has no duration", refused=True),
    Strange(
        "an octave too high",
        raw(raw_note("D5").replace("<octave>5", "<octave>99999999")),
        says="a note's pitch is unknown (D99999999)",
        refused=True,
    ),
    Strange(
        "a million sharps",
        raw(raw_note("D5").replace("<octave>", "<alter>1000000</alter><octave>")),
        says="a note's pitch is unknown",
        refused=True,
    ),
    Strange(
        "durations of no common measure",
        raw(
            *(
                f"<attributes><divisions>{divisions}</divisions></attributes>" + raw_note("D5")
                for divisions in (1009, 1013, 1019, 1021, 1031, 1033, 1039)
            )
        ),
        says="the durations have no common measure",
        refused=True,
    ),
    Strange("an unknown step", raw(raw_note("H5")), says="a note's pitch is unknown (H5)", refused=True),
    Strange(
        "a namespace of its own",
        _several(raw(raw_note("D5")), "<score-partwise", "<score-partwise xmlns='urn:own'"),
        says="namespace urn:own",
        refused=True,
    ),
)

STRANGE = (*_OPENED, *_REFUSED)
