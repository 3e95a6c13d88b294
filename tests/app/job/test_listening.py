"""What is written to a WAV or MIDI file, measured.

WAV files are read back by the standard library, spectra taken by numpy; MIDI files are read back by music21 and checked
byte by byte against the Standard MIDI File and General MIDI Level 1 specifications. Pitches are equal temperament at
A4 = 440 Hz (ISO 16).
"""

from __future__ import annotations

import io
import wave
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from music21 import converter, instrument, midi, stream

from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN, Instrument
from analysis.music import Part, Score
from analysis.sounding.performance import perform
from app.errors import AppError
from app.job.listening import Listening, read_factor, read_share, whole, write_sound
from app.main import main
from app.sound.files import midi_bytes, wav_bytes
from app.sound.notes import PLUCKED, RATE, TIMBRES, timbre
from app.sound.stream import Mix, Stream
from engraving.errors import EngravingError
from tests.analysis.lines import line, repeated
from tests.scores import full_score, part


def listening(*parts: Part, instruments: tuple[Instrument | None, ...] = (), **more: object) -> Listening:
    named = tuple(replace(one, id=f"P{number}") for number, one in enumerate(parts, start=1))
    players = instruments or (VIOLIN,) * len(named)
    return Listening(
        Score("", named),
        "P1",
        whole(named[0]),
        {one.id: player for one, player in zip(named, players, strict=True)},
        **more,
    )


def heard(wanted: Listening, **more: object) -> np.ndarray:
    """Two columns of samples, full scale being 1."""
    made = wanted.perform()
    with wave.open(io.BytesIO(wav_bytes(wanted.stream(made, **more), made.end, lambda share: None))) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (2, 2, 44_100)
        frames = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
    return frames.reshape(-1, 2) / 32768


def rms(sound: np.ndarray, start: float, end: float) -> float:
    return float(np.sqrt((sound[round(start * RATE) : round(end * RATE)] ** 2).mean()))


def fundamental(sound: np.ndarray, start: float, end: float, near: float) -> float:
    """The frequency of the first partial within a semitone and a half of ``near``, by a Hann-windowed spectrum."""
    piece = sound[round(start * RATE) : round(end * RATE), 0]
    spectrum = np.abs(np.fft.rfft(piece * np.hanning(len(piece)), 1 << 20))
    low, high = (int(near * 2 ** (cents / 1200) * (1 << 20) / RATE) for cents in (-150, 150))
    return float((low + np.argmax(spectrum[low:high])) * RATE / (1 << 20))


def cents(frequency: float, midi_pitch: float) -> float:
    return float(1200 * np.log2(frequency / (440 * 2 ** ((midi_pitch - 69) / 12))))


# The sound

# A good ear tells about 5 cents apart (common practice, no source); held notes are far below that.


def test_a_file_is_as_long_as_the_music_and_the_last_note_dying_away():
    sound = heard(listening(line("A4/4 D5/4", tempo=120)))
    assert 4.0 <= len(sound) / RATE <= 5.0
    assert rms(sound, 3.6, 3.9) > 0.01


def test_rests_are_silent():
    sound = heard(listening(line("A4/1 r/2 A4/1", tempo=60)))
    assert rms(sound, 1.2, 2.95) == 0
    assert rms(sound, 0.2, 0.9) > 0.01
    assert rms(sound, 3.2, 3.9) > 0.01


@pytest.mark.parametrize(
    ("pitch", "player", "written", "transpose"),
    [
        (55, VIOLIN, "G3", 0),
        (69, VIOLIN, "A4", 0),
        (78, VIOLIN, "F#5", 0),
        (95, VIOLIN, "B6", 0),
        (48, VIOLA, "C3", 0),
        (66, VIOLA, "F#4", 0),
        (36, CELLO, "C2", 0),
        (57, CELLO, "A3", 0),
        (62, None, "D4", 0),
        (28, BASS, "E2", -12),
        (43, BASS, "G3", -12),
    ],
)
def test_a_long_note_is_in_tune(pitch: int, player: Instrument | None, written: str, transpose: int):
    sound = heard(listening(line(f"{written}/8", tempo=60, transpose=transpose), instruments=(player,)))
    near = 440 * 2 ** ((pitch - 69) / 12)
    assert abs(cents(fundamental(sound, 0.5, 7.5, near), pitch)) < 1.5


def test_a_quarter_tone_lies_between():
    made = line("A4/8", tempo=60)
    note = replace(made.notes[0], pitch=replace(made.notes[0].pitch, alter=Fraction(1, 2)))
    sound = heard(listening(replace(made, notes=(note,))))
    assert abs(cents(fundamental(sound, 0.5, 7.5, 453), 69.5)) < 1.5


@pytest.mark.parametrize("name", TIMBRES)
def test_every_recorded_note_is_in_tune_where_it_is_held_and_none_is_louder(name: str):
    for note in timbre(name).notes:
        seconds = 0.4 if note.back is None else 3.0
        sound = note.at(np.arange(round(seconds * RATE), dtype=float))[:, np.newaxis]
        near = 440 * 2 ** ((note.pitch - 69) / 12)
        found = fundamental(sound, 0.03 if note.back is None else 1.4, seconds, near)
        assert abs(cents(found, note.pitch)) < (10 if name == PLUCKED else 1.5), note.pitch
        if note.back is not None:
            assert rms(sound, 1.0, 3.0) == pytest.approx(1, abs=0.15), note.pitch


def test_a_held_note_goes_round_without_a_step():
    for name in ("violin", "viola", "cello", "bass"):
        for note in timbre(name).notes:
            end = len(note.frames) - 1
            around = note.at(np.arange(end - 300, end + 300, dtype=float))
            usual = np.abs(np.diff(note.frames[note.back : end])).max()
            assert np.abs(np.diff(around)).max() <= 1.1 * usual, (name, note.pitch)


def test_dynamics_are_heard_in_their_order():
    sound = heard(listening(line("{pp} A4/2 {p} A4 {mf} A4 {f} A4 {ff} A4", tempo=60)))
    levels = [rms(sound, 2 * k + 0.5, 2 * k + 1.8) for k in range(5)]
    assert all(after > 1.2 * before for before, after in pairwise(levels))


def test_a_hairpin_swells_within_a_note():
    sound = heard(listening(line("{p} {<} A4/4 {-} {f} r/4", tempo=60)))
    assert rms(sound, 3.0, 3.8) > 1.3 * rms(sound, 0.5, 1.3)


def test_a_plucked_note_dies_away_and_a_bowed_one_does_not():
    bowed = heard(listening(line("A4/4", tempo=60)))
    plucked = heard(listening(line("{pizz} A4/4", tempo=60)))
    assert rms(bowed, 2.0, 2.5) > 0.01
    assert rms(plucked, 2.0, 2.5) == 0
    assert rms(plucked, 0.0, 0.1) > 0.01


def test_others_are_softer_or_silent_and_may_change_while_it_sounds():
    own, other = line("r/4", tempo=60), line("A4/4", tempo=60)
    loud, soft, silent = (rms(heard(listening(own, other, mix=Mix("P1", others))), 1, 3) for others in (1.0, 0.25, 0.0))
    assert soft == pytest.approx(loud / 4, rel=0.01)
    assert silent == 0
    wanted = listening(own, other, mix=Mix("P1", 1.0))
    running = wanted.stream(wanted.perform())
    before = running.read(RATE * 2)[RATE:] / 32768
    running.mix = Mix("P1", 0.25)
    after = running.read(RATE) / 32768
    assert np.sqrt((after**2).mean()) == pytest.approx(np.sqrt((before**2).mean()) / 4, rel=0.05)


def test_the_part_in_hand_stands_in_the_middle_and_the_others_to_the_sides():
    own, other = line("A4/2 r/2", tempo=60), line("r/2 A4/2", tempo=60)
    left, right = heard(listening(own, other, mix=Mix("P1"))).T
    assert rms(left, 0.3, 1.8) == pytest.approx(rms(right, 0.3, 1.8))
    assert rms(right, 2.3, 3.8) > 1.5 * rms(left, 2.3, 3.8)


def test_loud_chords_are_rounded_off_and_never_cut():
    parts = [line("{fff} [A4 E5 C#6]/4", tempo=60) for _ in range(8)]
    sound = heard(listening(*parts))
    assert 0.7 < np.abs(sound).max() < 1


def attacks(sound: np.ndarray) -> list[float]:
    """The seconds at which something begins after silence."""
    loud = np.flatnonzero(np.abs(sound[:, 0]) > 0.02)
    begins = loud[np.flatnonzero(np.diff(loud, prepend=-RATE) > RATE / 10)]
    return [round(float(place / RATE), 2) for place in begins]


def test_clicks_are_heard_on_the_beats_and_the_first_is_stronger():
    music = line("r/4", tempo=60)
    sound = heard(listening(music, mix=Mix(click=True)))
    assert attacks(sound) == [0, 1, 2, 3]
    strongest = [np.abs(sound[round(k * RATE) : round((k + 0.1) * RATE)]).max() for k in range(4)]
    assert strongest[0] > 1.3 * max(strongest[1:])
    assert rms(heard(listening(music)), 0, 4) == 0


def test_a_count_in_comes_before_the_music():
    sound = heard(listening(line("A4/4", time=(3, 4), tempo=60), count_in=True, mix=Mix(click=True)))
    assert attacks(sound)[:4] == [0, 1, 2, 3]
    assert rms(sound, 2.2, 2.9) == 0
    assert rms(sound, 3.2, 3.9) > 0.01


def test_a_loop_goes_round_without_a_gap_and_without_its_count_in():
    wanted = listening(line("r/1 A4/1 r/2", tempo=60), count_in=True, mix=Mix())
    running = wanted.stream(wanted.perform(), looped=True)
    sound = running.read(RATE * 17) / 32768
    assert attacks(sound) == pytest.approx([5, 9, 13], abs=0.02)
    assert not running.is_over
    assert running.at(3.5) == 3.5
    assert running.at(8.5) == pytest.approx(4.5)
    assert running.position == pytest.approx(5)


def test_every_time_of_a_loop_is_clicked_alike():
    wanted = listening(line("r/4", tempo=60), count_in=True, mix=Mix(click=True))
    sound = wanted.stream(wanted.perform(), looped=True).read(RATE * 13) / 32768
    first, second, third = (np.abs(sound[round(k * RATE) : round((k + 0.1) * RATE)]).max() for k in (4, 8, 12))
    assert first == second == third


def test_grace_notes_before_a_loop_are_heard_at_its_end():
    wanted = listening(line("*G4 A4/1 r/3", tempo=60))
    sound = wanted.stream(wanted.perform(), looped=True).read(RATE * 10) / 32768
    assert attacks(sound) == pytest.approx([0.88, 4.88, 8.88], abs=0.02)


def test_a_stream_may_begin_in_the_middle_of_a_note():
    wanted = listening(line("A4/4 D5/4", tempo=60))
    running = wanted.stream(wanted.perform(), start=2.0)
    assert rms(running.read(RATE) / 32768, 0.2, 0.9) > 0.01
    assert running.position == pytest.approx(3)


def test_what_is_read_in_small_blocks_is_what_is_read_at_once():
    wanted = listening(line("A4/1 [D5 F#5]/1 {pizz} G4/0.5 A4 B4 C5", tempo=100), mix=Mix("P1", click=True))
    made = wanted.perform()
    at_once = wanted.stream(made).read(3 * RATE)
    running = wanted.stream(made)
    assert np.array_equal(np.concatenate([running.read(441) for _ in range(300)]), at_once)


# MIDI


def midi_of(wanted: Listening) -> midi.MidiFile:
    made = wanted.perform()
    file = midi.MidiFile()
    names = {one.id: one.name for one in wanted.score.parts}
    file.readstr(midi_bytes(made, names, wanted.timbres, wanted.mix))
    return file


def test_midi_has_the_notes_and_their_times_as_music21_reads_them(tmp_path: Path):
    music = repeated(line("G4/1 A4 [B4 D5]/2", "D4/4", tempo=90), backs={0: 2})
    path = tmp_path / "music.mid"
    write_sound(path, listening(music))
    found = converter.parse(path).flatten()
    notes = sorted((float(one.offset), pitch.midi) for one in found.notes for pitch in one.pitches)
    once = [(0.0, 62), (0.0, 67), (1.0, 69), (2.0, 71), (2.0, 74)]
    assert notes == once + [(offset + 4, pitch) for offset, pitch in once]
    assert [mark.number for mark in found.getElementsByClass("MetronomeMark")] == [pytest.approx(90, abs=0.01)]
    assert [(m.numerator, m.denominator) for m in found.getElementsByClass("TimeSignature")] == [(4, 4)]


def test_midi_names_the_instruments(tmp_path: Path):
    path = tmp_path / "music.mid"
    parts = [line("G4/4", name=name) for name in ("Violin", "Viola", "Cello", "Double Bass")]
    write_sound(path, listening(*parts, instruments=(VIOLIN, VIOLA, CELLO, BASS)))
    found = converter.parse(path)
    programs = [one.recurse().getElementsByClass(instrument.Instrument).first().midiProgram for one in found.parts]
    assert programs == [40, 41, 42, 43]
    assert isinstance(found, stream.Score)


def name_of(event: midi.MidiEvent) -> str:
    return getattr(event.type, "name", "")


def events(file: midi.MidiFile, kind: str) -> list[midi.MidiEvent]:
    return [event for track in file.tracks for event in track.events if name_of(event) == kind]


def test_midi_bends_quarter_tones_on_a_channel_of_their_own():
    made = line("A4/2 A4/2", tempo=60)
    bent = replace(made.notes[1], pitch=replace(made.notes[1].pitch, alter=Fraction(1, 2)))
    file = midi_of(listening(replace(made, notes=(made.notes[0], bent))))
    wheels = {event.channel: (event.parameter2 << 7) + event.parameter1 - 8192 for event in events(file, "PITCH_BEND")}
    notes = {event.channel: event.pitch for event in events(file, "NOTE_ON")}
    # The wheel reaches two semitones over 8192 steps: a quarter tone is 2048 of them.
    pitches = [notes[channel] + wheels[channel] / 4096 for channel in notes]
    assert pitches == [69, 69.5]


def test_midi_plucks_with_the_pizzicato_program_and_clicks_on_the_percussion_channel():
    file = midi_of(listening(line("A4/2 {pizz} A4/2", tempo=60), mix=Mix("P1", click=True)))
    assert {event.data for event in events(file, "PROGRAM_CHANGE")} == {40, 45}
    clicks = [event for event in events(file, "NOTE_ON") if event.channel == 10]
    assert [event.pitch for event in clicks] == [76, 77, 77, 77]


def test_midi_turns_the_others_down():
    file = midi_of(listening(line("A4/4"), line("D4/4"), mix=Mix("P1", 0.4)))
    volumes = [event.parameter2 for event in events(file, "CONTROLLER_CHANGE") if event.parameter1 == 7]
    assert volumes == [100, 40]


def test_midi_ends_a_note_before_the_same_note_begins_again():
    made = perform(Score("", (line("(A4/1 A4 A4 A4)", tempo=60),)))
    file = midi.MidiFile()
    file.readstr(midi_bytes(made, {"P1": "Ärger ♯"}, {"P1": "violin"}, Mix()))
    kinds = [name_of(event) for event in file.tracks[1].events if name_of(event).startswith("NOTE")]
    assert kinds == ["NOTE_ON", "NOTE_OFF"] * 4


# Files and the command line


@pytest.fixture
def duo(tmp_path: Path) -> Path:
    path = tmp_path / "duo.musicxml"
    path.write_bytes(
        full_score(part("Violin I", "4/4", "!=120 A4/4 | D5/4 | E5/4"), part("Viola", "4/4", "D4/4 | D4 | D4"))
    )
    return path


def run(*words: object) -> int:
    return main(["listen", *map(str, words)])


def test_the_command_writes_the_measures_asked_for(duo: Path, tmp_path: Path):
    out = tmp_path / "out.wav"
    assert run(duo, "--part", "Viola", "--measures", "2-3", "--tempo", "60", "--others", "0", "-o", out) == 0
    with wave.open(str(out)) as file:
        assert 8 <= file.getnframes() / RATE <= 9
        sound = np.frombuffer(file.readframes(-1), dtype="<i2").reshape(-1, 2) / 32768
    assert abs(cents(fundamental(sound, 0.5, 3.5, 293.66), 62)) < 1.5


def test_the_command_counts_in(duo: Path, tmp_path: Path):
    out = tmp_path / "out.mid"
    assert run(duo, "--part", 1, "--tempo", "50%", "--count-in", "-o", out) == 0
    found = converter.parse(out).flatten()
    assert min(float(one.offset) for one in found.notes if one.isNote and one.pitch.midi == 69) == 4
    assert found.getElementsByClass("MetronomeMark").first().number == pytest.approx(60, abs=0.01)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--tempo", "brisk", "-o", "x.wav"), "'brisk' is no tempo"),
        (("--tempo", "100000", "-o", "x.wav"), "too far from the written tempo; 12 to 480"),
        (("--others", "1.5", "-o", "x.wav"), "'1.5' does not say how loud the other parts are, from 0 to 1"),
        (("--others", "loud", "-o", "x.wav"), "'loud' does not say how loud the other parts are, from 0 to 1"),
        (("-o", "x.ogg"), "ends in .wav, .mid"),
        (("--measures", "9", "-o", "x.wav"), "no measure 9 in Violin I"),
    ],
)
def test_what_cannot_be_is_said_in_one_sentence(
    duo: Path, words: tuple[str, ...], sentence: str, capsys: pytest.CaptureFixture[str]
):
    assert run(duo, "--part", 1, *words) == 2
    said = capsys.readouterr().err
    assert sentence in said
    assert said.count("\n") == 1


@pytest.mark.parametrize(("text", "factor"), [("60", 0.5), ("120", 1), ("80%", 0.8), (" 150 % ", 1.5), ("90.0", 0.75)])
def test_a_tempo_is_quarter_notes_a_minute_or_a_share(text: str, factor: float):
    assert read_factor(text, 120) == factor


@pytest.mark.parametrize(("text", "share"), [("50%", 0.5), ("0.25", 0.25), ("1", 1), ("0", 0), (" 100 % ", 1)])
def test_the_others_are_as_loud_as_a_share_or_a_percentage(text: str, share: float):
    assert read_share(text) == share


@pytest.mark.parametrize("text", ["0", "-5", "nan", "1e3", "%"])
def test_other_tempi_are_refused(text: str):
    with pytest.raises(AppError):
        read_factor(text, 120)


def test_a_file_that_cannot_be_written_leaves_nothing_behind(tmp_path: Path):
    with pytest.raises(EngravingError, match="cannot be written"):
        write_sound(tmp_path / "no" / "x.wav", listening(line("A4/4")))
    assert not list(tmp_path.iterdir())


def test_a_part_without_an_instrument_is_played_as_high_as_it_lies():
    timbres = listening(line("A5/4"), line("D3/4"), line("r/4"), instruments=(None, None, None)).timbres
    assert list(timbres.values()) == ["violin", "cello", "violin"]


def test_a_stream_of_no_notes_ends():
    wanted = listening(line("r/4", tempo=60))
    assert len(heard(wanted)) >= 4 * RATE
    assert isinstance(wanted.stream(wanted.perform()), Stream)
