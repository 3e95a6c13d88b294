"""The scores with string parts in the corpus that music21 carries: 51 quartet movements and 15 more files."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

_QUARTETS = (
    "beethoven",
    "haydn",
    "mozart/k80",
    "mozart/k155",
    "mozart/k156",
    "mozart/k458",
    "schumann_robert/opus41no1",
)
_OTHERS = (
    *(f"bach/bwv{number}.mxl" for number in ("136.6", "171.6", "172.6", "185.6", "190.7-inst", "248.42-4", "248.64-6")),
    *(f"bach/bwv{number}.mxl" for number in ("31.9", "41.6", "59.3", "70.11", "95.7", "97.9")),
    "corelli/opus3no1/1grave.xml",
    "schumann_clara/opus17/movement3.xml",
)


def corpus_folder() -> Path:
    """Where the corpus lies, found without importing music21, which takes over a second."""
    spec = find_spec("music21")
    if spec is None or not spec.submodule_search_locations:
        raise LookupError("music21 is not installed")
    return Path(spec.submodule_search_locations[0]) / "corpus"


def quartet_names() -> list[str]:
    """The string quartets, as paths in the corpus."""
    folder = corpus_folder()
    found = (path for name in _QUARTETS for path in (folder / name).rglob("*.mxl"))
    return sorted(path.relative_to(folder).as_posix() for path in found)


def string_score_names() -> list[str]:
    """All MusicXML files in the corpus with a part for a bowed string instrument, as paths in the corpus."""
    return sorted((*quartet_names(), *_OTHERS))
