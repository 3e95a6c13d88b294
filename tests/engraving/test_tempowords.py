"""Tempo words: which are known, what they count, and music21's table beside ours."""

from __future__ import annotations

from fractions import Fraction

import pytest

from engraving.reading.tempowords import BEATS_A_MINUTE, counted_beat, tempo_word


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("Allegro", "Allegro"),
        ("ALLEGRO", "ALLEGRO"),
        ("un poco  Allegretto", "un poco Allegretto"),
        ("Allegro ma non troppo", "Allegro ma non troppo"),
        ("Allegro, ma non troppo e cantabile", "Allegro, ma non troppo"),
        ("II. Andante con moto", "Andante con moto"),
        ("Molto adagio; sempre cantante", "Molto adagio"),
        ("Adagio - Allegro", "Adagio"),
        ("Prestissimo", "Prestissimo"),
        ("(presto)", "presto"),
    ],
)
def test_the_first_tempo_word_counts_with_its_companions(text: str, mark: str) -> None:
    found = tempo_word(text)
    assert found is not None
    assert found.text == mark


@pytest.mark.parametrize(
    "text", ["", "dolce", "allegrox", "superpresto", "prestidigitation", "largamente", "lentamente", "a tempo"]
)
def test_other_words_are_no_tempo(text: str) -> None:
    assert tempo_word(text) is None


def beats(text: str) -> float:
    found = tempo_word(text)
    assert found is not None
    return found.beats_a_minute


@pytest.mark.parametrize(
    ("slower", "quicker"),
    [
        ("Allegro ma non troppo", "Allegro"),
        ("Allegro moderato", "Allegro"),
        ("Allegro", "Allegro molto"),
        ("Allegro", "Molto allegro"),
        ("Allegro", "Allegro con brio"),
        ("Allegro molto", "Molto allegro assai"),
        ("Andante", "Andante con moto"),
        ("Andante", "Andante moderato"),
        ("Adagio molto", "Adagio"),
        ("Adagio", "Adagio ma non troppo"),
        ("Adagio", "Poco adagio"),
        ("Allegretto", "Allegretto vivace"),
        ("Andante sostenuto", "Andante"),
        ("Poco sostenuto presto", "Presto assai"),
    ],
)
def test_a_companion_makes_a_tempo_slower_or_quicker(slower: str, quicker: str) -> None:
    assert beats(slower) < beats(quicker)


def test_the_words_stand_in_their_usual_order() -> None:
    order = ("grave", "largo", "lento", "adagio", "larghetto", "andante", "andantino", "moderato", "allegretto",
             "allegro", "vivace", "presto", "prestissimo")  # fmt: skip
    assert tuple(BEATS_A_MINUTE) == order
    assert sorted(BEATS_A_MINUTE.values()) == [BEATS_A_MINUTE[word] for word in order]


@pytest.mark.parametrize(
    ("time", "beat"),
    [
        ((4, 4), 1), ((3, 4), 1), ((2, 4), 1), ((6, 4), 1), ((2, 2), 2), ((3, 2), 2), ((4, 2), 2),
        ((6, 8), Fraction(3, 2)), ((9, 8), Fraction(3, 2)), ((12, 8), Fraction(3, 2)), ((6, 16), Fraction(3, 4)),
        ((3, 8), Fraction(1, 2)), ((5, 8), Fraction(1, 2)), ((4, 8), Fraction(1, 2)),
    ],
)  # fmt: skip
def test_the_beat_that_a_word_counts(time: tuple[int, int], beat: Fraction) -> None:
    assert counted_beat(time) == beat


# Metronomes print 60-66 for Larghetto, 76-108 for Andante and 200-208 for Prestissimo (from memory). music21's values
# lie at the lower edge, under it, and at the upper edge; Andantino stays as far from Andante as there. Its "allegro
# moderato" stays nearly at Allegro and its "molto adagio" goes down to Grave; here a companion counts a tenth.
OURS_DIFFER = {
    "larghetto": (63, 60),
    "andante": (76, 72),
    "andantino": (84, 80),
    "prestissimo": (204, 208),
    "molto adagio": (51, 40),
    "andante moderato": (84, 83),
    "allegro moderato": (120, 128),
    "molto allegro": (145, 144),
}


def test_music21_has_the_same_table_but_for_what_is_listed() -> None:
    """Outside source: ``music21.tempo.defaultTempoValues``."""
    from music21.tempo import defaultTempoValues

    known = {words: value for words, value in defaultTempoValues.items() if tempo_word(words)}
    assert known.keys() >= BEATS_A_MINUTE.keys()
    assert {words: (beats(words), value) for words, value in known.items() if beats(words) != value} == OURS_DIFFER
