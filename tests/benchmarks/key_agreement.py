"""How far the keys that we read agree with annotations, with printed keys, and with keys planted in composed lines.

``python -m tests.benchmarks.key_agreement`` prints shares from 0 to 1. ``key``: tonic and mode agree; ``signature``:
at least the signature agrees; ``weighted``: as MIREX weighs keys (a fifth above half, relative 0.3, parallel 0.2).

*Annotated scores*: 18 chorales and 48 madrigals whose local keys musicians have written into the corpus that music21
carries; quarter by quarter, part by part where the part plays, as the mean over the scores. The constants of
``analysis.keys`` were fitted on every other score; "held out" are the rest. Beside them, music21's key analysis of
some measures around each one, and of the whole. *Tunes*: single lines in their printed key, which is kept from both
readers; the key of most measures counts. *Movements*: the key of most measures beside that which music21 finds in the
whole, and beside the printed signature. *Planted*: lines composed in one key, then in another, then in the first. All
of it takes some seven minutes, nearly all of them music21's.
"""

from __future__ import annotations

import time
import warnings
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor

import numpy as np
from music21 import converter

from analysis.keys.regions import Region, key_regions
from analysis.keys.signatures import Key
from analysis.music import Part, Score
from analysis.watch.key_regions import watch_key_regions
from analysis.watch.study import Study
from engraving.document import open_document
from engraving.reading import read_score
from tests.analysis.key_walks import found_again, planted, signatures_of
from tests.benchmarks.key_data import MOVEMENTS, Annotated, Tune, annotated_scores, key_of, tunes
from tests.engraving.corpus import corpus_folder

# Other lines than those that helped to fit what a line alone counts for.
_PLANTED = range(1000, 1400)
_WINDOWS = (4, 8)
Reader = Callable[[Annotated, Part], Sequence[Key]]


def main() -> None:
    warnings.simplefilter("ignore")
    _show_annotated(annotated_scores())
    _show_tunes(tunes())
    _show_movements()
    _show_planted()
    _show_time()


def agreement(read: Key, known: Key) -> np.ndarray:
    """1 or 0 for the key and for the signature, and the weighted share."""
    if read == known:
        return np.ones(3)
    weighted = 0.0
    if read.mode == known.mode and read.tonic == known.tonic + 1:
        weighted = 0.5
    elif read.fifths == known.fifths:
        weighted = 0.3
    elif read.tonic == known.tonic:
        weighted = 0.2
    return np.array([0.0, float(read.fifths == known.fifths), weighted])


def by_measure(regions: Iterable[Region]) -> list[Key]:
    """The key of every measure."""
    return [region.key for region in regions for _ in range(region.first_measure, region.last_measure + 1)]


def main_key(keys: Sequence[Key]) -> Key:
    """The key of most measures, the first of equals."""
    return Counter(keys).most_common(1)[0][0]


def score_agreement(piece: Annotated, read: Reader) -> np.ndarray:
    """The mean over the parts of a score, each over the quarters in whose measures it plays."""
    shares = []
    for part in piece.score.parts:
        keys, played = read(piece, part), {note.measure for note in part.notes}
        shares.append(np.mean([agreement(keys[at], known) for at, known in piece.quarters if at in played], axis=0))
    return np.asarray(np.mean(shares, axis=0))


def _alone(piece: Annotated, part: Part) -> Sequence[Key]:
    return by_measure(key_regions(part))


def _together(piece: Annotated, part: Part) -> Sequence[Key]:
    return by_measure(key_regions(part, [other for other in piece.score.parts if other is not part]))


def _references(piece: Annotated) -> dict[str, list[Key]]:
    """The keys of every measure as music21 finds them, by the name of the way."""
    measures = piece.score.parts[0].measures
    stream = converter.parse(piece.path)
    found = {"music21, whole score": [key_of(stream.analyze("key"))] * len(measures)}
    notes = stream.flatten().notes.stream()
    for window in _WINDOWS:
        keys: list[Key] = []
        for measure in measures:
            middle, half = measure.onset + measure.length / 2, window * measure.length / 2
            near = notes.getElementsByOffset(
                float(middle - half), float(middle + half), includeEndBoundary=False, mustBeginInSpan=False
            ).stream()
            keys.append(key_of(near.analyze("key")) if near else keys[-1] if keys else Key(0, "major"))
        found[f"music21, {window} measures around"] = keys
    return found


def _show_annotated(pieces: Sequence[Annotated]) -> None:
    ours: dict[str, Reader] = {"the notes of the part alone": _alone, "with all parts": _together}
    rows = {name: [score_agreement(piece, read) for piece in pieces] for name, read in ours.items()}
    with ProcessPoolExecutor() as pool:
        references = list(pool.map(_references, pieces))
    for piece, reference in zip(pieces, references, strict=True):
        for name, keys in reference.items():
            rows.setdefault(name, []).append(score_agreement(piece, lambda _, __, keys=keys: keys))
    for title, start in (("fitted on", 0), ("held out", 1)):
        print(f"Annotated scores, {title:20}{'key':>8}{'signature':>11}{'weighted':>10}{'scores':>8}")
        for name, shares in rows.items():
            _row(name, np.mean(shares[start::2], axis=0), len(shares[start::2]))


def _row(name: str, share: np.ndarray, count: int) -> None:
    print(f"  {name:36}{share[0]:8.3f}{share[1]:11.3f}{share[2]:10.3f}{count:8}")


def _show_tunes(every: Sequence[Tune]) -> None:
    print(f"Tunes{'':33}{'key':>8}{'signature':>11}{'weighted':>10}{'tunes':>8}")
    ours = [agreement(main_key(by_measure(key_regions(tune.part))), tune.key) for tune in every]
    theirs = [agreement(key_of(tune.stream.analyze("key")), tune.key) for tune in every]
    _row("the notes alone", np.mean(ours, axis=0), len(every))
    _row("music21, whole tune", np.mean(theirs, axis=0), len(every))


def _show_movements() -> None:
    beside, printed, theirs = [], [], []
    for name in MOVEMENTS:
        path = corpus_folder() / name
        score = read_score(open_document(path))
        first, *others = score.parts
        key = main_key(by_measure(key_regions(first, others)))
        reference = key_of(converter.parse(path).analyze("key"))
        beside.append(agreement(key, reference))
        signature = first.keys[0].fifths if first.keys else 0
        printed.append(key.fifths == signature)
        theirs.append(reference.fifths == signature)
    print(f"Movements{'':29}{'key':>8}{'signature':>11}{'weighted':>10}{'count':>8}")
    _row("we and music21 agree", np.mean(beside, axis=0), len(beside))
    print(f"  {'we have the printed signature':36}{'':8}{np.mean(printed):11.3f}")
    print(f"  {'music21 has the printed signature':36}{'':8}{np.mean(theirs):11.3f}")


def planted_figures(seeds: Sequence[int]) -> dict[str, float]:
    """Recall and precision of planted regions, both edges to the measure or the next, and how often the key is named.

    ``findings``: the share of lines in which the planted passage is told; ``false``: how many findings a line has
    when the new signatures are printed.
    """
    cases = [planted(seed) for seed in seeds]
    hits, others, named, told = 0, 0, 0, 0
    for case in cases:
        regions = key_regions(case.part)
        spans = signatures_of(case, regions)
        again = list(found_again(case, spans))
        hits += bool(again)
        others += len(spans) - len(again)
        named += main_key(by_measure(regions)[case.first : case.last + 1]) == case.key
        told += any(True for _ in watch_key_regions(_study(case.part)))
    signed = [planted(seed, sign=True).part for seed in seeds]
    false = sum(1 for part in signed for _ in watch_key_regions(_study(part)))
    count = len(cases)
    return {
        "recall": hits / count,
        "precision": hits / max(1, hits + others),
        "key named": named / count,
        "findings": told / count,
        "false": false / count,
    }


def _study(part: Part) -> Study:
    return Study(Score("", (part,)), part, None)


def _show_planted() -> None:
    print(f"Planted regions, {len(_PLANTED)} lines")
    for name, share in planted_figures(_PLANTED).items():
        print(f"  {name:36}{share:8.3f}")


def _show_time() -> None:
    first, *others = read_score(open_document(corpus_folder() / "mozart/k458/movement1.mxl")).parts
    spans = []
    for _ in range(25):
        begin = time.process_time()
        key_regions(first, others)
        spans.append(time.process_time() - begin)
    print(f"Time for {len(first.notes)} notes with all parts: {1000 * min(spans):.1f} ms")


if __name__ == "__main__":
    main()
