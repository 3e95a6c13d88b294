"""The watch-list measured: its time beside music21's parse of the same part, its growth, and how much it says.

Run from the project's root: ``python -m tests.benchmarks.watch_list``. Times are ratios of medians of runs taken in
turn. The part is the first violin of Mozart's K. 458 i (about 1,200 notes) in its quartet, under ``two-homes``.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import music21

from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import guess_instrument
from analysis.music import Part, Score
from analysis.watch.kinds import KINDS
from analysis.watch.study import Study
from analysis.watch.watchlist import watch_list
from engraving.document import open_document
from engraving.extract import part_for_engraving
from engraving.reading import read_score
from tests.benchmarks.timing import ratio, seconds, times

CORPUS = Path(music21.__file__).parent / "corpus"
PIECE = "mozart/k458/movement1.mxl"
RULES = "two-homes"
# What a teacher reads through: movements of unlike length and difficulty.
SAMPLE = ("haydn/opus1no1/movement1.mxl", "mozart/k155/movement1.mxl", PIECE)


def main() -> None:
    document = open_document(CORPUS / PIECE)
    score = read_score(document)
    part = score.parts[0]
    text = part_for_engraving(document, part.id)
    plan = fingered(part)
    print(f"{part.name} of {PIECE}, {len(part.notes)} notes, {RULES}")

    def parse() -> None:
        music21.converter.parseData(text, format="musicxml")

    print(f"{ratio(lambda: watch_list(score, part, plan), parse):10.3f}  watch / music21's parse of the part")
    both = ratio(lambda: watch_list(score, part, fingered(part)), parse)
    print(f"{both:10.3f}  finger and watch / music21's parse of the part")
    four = Score("", tuple(times(one, 4) for one in score.parts))
    fingered_four = fingered(four.parts[0])
    growth = ratio(
        lambda: watch_list(four, four.parts[0], fingered_four), lambda: watch_list(score, part, plan), runs=3
    )
    print(f"{growth:10.3f}  watch four times the notes of every part / watch the part")
    shares(score, part, plan)
    for name in SAMPLE:
        told(name)


def fingered(part: Part) -> Plan:
    instrument = guess_instrument(part.name)
    if instrument is None:
        raise ValueError(f"{part.name} is no string part")
    return make_plan(part, instrument, preset(RULES))


def shares(score: Score, part: Part, plan: Plan) -> None:
    """What each kind takes of the whole, in the order of the table: the first to need something pays for it."""
    study = Study(score, part, plan)
    taken = {kind.name: seconds(lambda kind=kind: list(kind.watch(study))) for kind in KINDS}
    whole = sum(taken.values())
    print("share of the time: " + ", ".join(f"{name} {share / whole:.2f}" for name, share in taken.items()))


def told(name: str) -> None:
    """How many findings a movement's parts have."""
    score = read_score(open_document(CORPUS / name))
    for part in score.parts:
        found = watch_list(score, part, fingered(part))
        counted = Counter(finding.kind for finding in found)
        print(f"{len(found):4} {name} {part.name}: " + ", ".join(f"{kind} {n}" for kind, n in sorted(counted.items())))


if __name__ == "__main__":
    main()
