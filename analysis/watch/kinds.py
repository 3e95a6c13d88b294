"""Every kind of finding: its name, what a teacher calls it, where its rule of thumb comes from, who looks for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from analysis.language import later
from analysis.watch.across_strings import watch_fifths_across, watch_single_crossings, watch_string_skips
from analysis.watch.bar_lines import watch_bar_lines
from analysis.watch.bowing import watch_bowing
from analysis.watch.dynamics import watch_dynamics
from analysis.watch.finding import Finding
from analysis.watch.finger_patterns import watch_finger_patterns
from analysis.watch.hand import watch_extensions, watch_high_fingers, watch_shifts, watch_stretches
from analysis.watch.hard_spots import watch_hard_spots
from analysis.watch.key_regions import watch_key_regions
from analysis.watch.leading_notes import watch_leading_notes
from analysis.watch.look_alikes import watch_look_alikes
from analysis.watch.open_strings import watch_open_strings
from analysis.watch.out_of_reach import watch_range
from analysis.watch.study import Study
from analysis.watch.who_plays import watch_who_plays

Watcher = Callable[[Study], Iterator[Finding]]


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of finding.

    ``title`` heads it in a list. ``says``: what it points at, in one sentence. Both go through ``_()`` where they are
    shown. ``source``: where the rule of thumb is published, or "common practice, no source". ``watch`` yields the
    findings of this kind.
    """

    name: str
    title: str
    says: str
    source: str
    watch: Watcher


KINDS: tuple[Kind, ...] = (
    Kind(
        "finger-pattern",
        later("High and low fingers"),
        later("How a key sets the hand, and where a finger lies higher or lower than that, for a note or for a while."),
        "Low and high: stringskills.com on finger patterns; danger on both edges: common practice, no source",
        watch_finger_patterns,
    ),
    Kind(
        "bar-line",
        later("Accidentals that have ended"),
        later(
            "A note without a sign that players may go on altering: after a bar line, in another octave or after a tie."
        ),
        "Gardner Read, Music Notation, and Elaine Gould, Behind Bars, on accidentals (from memory)",
        watch_bar_lines,
    ),
    Kind(
        "key-region",
        later("The key the music is really in"),
        later("Measures whose accidentals amount to another key than the printed one, and where they change back."),
        "Where a key costs least: Aarden, Dynamic Melodic Expectancy (2003); danger on both edges: "
        "common practice, no source",
        watch_key_regions,
    ),
    Kind(
        "leading-note",
        later("Leading notes"),
        later("Raised notes that lead to the home note of the key, a half step above and close to the next finger."),
        "Common practice, no source",
        watch_leading_notes,
    ),
    Kind(
        "fifth-across",
        later("One finger across two strings"),
        later("Perfect fifths on neighbouring strings, fourths on the bass, that one finger stops on both."),
        "Flesch, Violin Fingering, cited in Strings (September 2021); rocking figures: common practice, no source",
        watch_fifths_across,
    ),
    Kind(
        "single-crossing",
        later("Another string for one note"),
        later("Quick notes that lie alone on another string, and two strings in turn."),
        "aywren.com (2019); common practice, no source",
        watch_single_crossings,
    ),
    Kind(
        "string-skip",
        later("Strings skipped"),
        later("Notes that follow at once on a string that is not the next one."),
        "UNCW orchestration page: only neighbouring strings join without a gap",
        watch_string_skips,
    ),
    Kind(
        "open-string",
        later("Open strings that will be heard"),
        later("Open strings that are long, exposed, shrill or end a slur, though a finger could stop the note."),
        "UNCW orchestration page: no vibrato; the rest: common practice, no source",
        watch_open_strings,
    ),
    Kind(
        "shift",
        later("Shifts in little time"),
        later("Where the hand has to move with little time to spare, and on what it moves."),
        "cellofun.eu, julianrossviolin.com and idoublebass.com on shifting; how much time: common practice, no source",
        watch_shifts,
    ),
    Kind(
        "extension",
        later("Extensions"),
        later("Fingers that reach out of the hand frame, or the extended hand of the cello."),
        "violin-works.com on widening the hand; thecellocompanion.info, Three finger positions",
        watch_extensions,
    ),
    Kind(
        "stretch",
        later("Wide stretches"),
        later("Reaches that are far for the size of the instrument, in millimetres, with an easier way."),
        "violin-works.com; The Instrumentalist (August 2010) on the size of the instrument",
        watch_stretches,
    ),
    Kind(
        "high-finger",
        later("High third finger"),
        later("Half steps between a high third finger and the fourth, which stand close together."),
        "Common practice, no source",
        watch_high_fingers,
    ),
    Kind(
        "look-alike",
        later("The same music again"),
        later(
            "A passage that has been played before, whole or with changes, as it was or moved: one practice for both."
        ),
        "Common practice, no source",
        watch_look_alikes,
    ),
    Kind(
        "texture",
        later("Who plays"),
        later("Where a player is alone or one of two, where others have a solo, and where parts play the same notes."),
        "Common practice, no source",
        watch_who_plays,
    ),
    Kind(
        "dynamics",
        later("The dynamic in force"),
        later(
            "Where a dynamic is missing or printed long ago, where few are left at everyone's level, "
            "and ways back to all."
        ),
        "Common practice, no source",
        watch_dynamics,
    ),
    Kind(
        "range",
        later("Out of reach"),
        later("Notes and chords that the instrument does not have, or that the house rules leave no way to play."),
        "The tunings and compass of the instruments as the fingering has them",
        watch_range,
    ),
    Kind(
        "hard-spot",
        later("Hardest spots"),
        later("The measures in which hand and bow have most to do for the time there is, by rank."),
        "The effort terms of the fingering, each with its source; how many spots: common practice, no source",
        watch_hard_spots,
    ),
    Kind(
        "bowing",
        later("Down-bow on the wrong beat"),
        later("First beats that fall on up-bows for a while, and bows that last too long; with the nearest cure."),
        "Leopold Mozart, Violinschule (1756), chapter IV; Muffat, Florilegium secundum (1698) (both from memory)",
        watch_bowing,
    ),
)
