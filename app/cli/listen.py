"""``handframe listen``: a part, or some measures of it, written as sound."""

from __future__ import annotations

import argparse
from dataclasses import replace

from app.errors import AppError
from app.job.finding import find_measures, find_part
from app.job.listening import Listening, instruments_of, read_factor, whole, write_sound
from app.job.opening import open_any
from app.sound.stream import Mix


def run_listen(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    if not 0 <= arguments.others <= 1:
        raise AppError(f"--others {arguments.others:g}: how loud the others are lies between 0 and 1")
    opened = open_any(arguments.score)
    part = find_part(opened.score, arguments.part)
    if not part.measures:
        raise AppError(f"{part.name} has no measures to listen to")
    measures = find_measures(part, arguments.measures) if arguments.measures else whole(part)
    mix = Mix(part.id, arguments.others, arguments.click or arguments.count_in)
    wanted = Listening(opened.score, part.id, measures, instruments_of(opened), count_in=arguments.count_in, mix=mix)
    if arguments.tempo:
        wanted = replace(wanted, factor=read_factor(arguments.tempo, wanted.written_tempo))
    write_sound(arguments.output, wanted)
