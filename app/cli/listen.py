"""``handframe listen``: a part, or some measures of it, written as sound."""

from __future__ import annotations

import argparse
from dataclasses import replace

from analysis.language import _
from app.cli.asked import open_asked
from app.errors import AppError
from app.job.listening import Listening, instruments_of, read_factor, read_share, whole, write_sound
from app.job.words.finding import find_measures, find_part
from app.sound.stream import Mix


def run_listen(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    others = read_share(arguments.others)
    opened = open_asked(arguments.score)
    part = find_part(opened.score, arguments.part)
    if not part.measures:
        raise AppError(_("{part} has no measures to listen to").format(part=part.name))
    measures = find_measures(part, arguments.measures) if arguments.measures else whole(part)
    mix = Mix(part.id, others, arguments.click or arguments.count_in)
    wanted = Listening(opened.score, part.id, measures, instruments_of(opened), count_in=arguments.count_in, mix=mix)
    if arguments.tempo:
        wanted = replace(wanted, factor=read_factor(arguments.tempo, wanted.written_tempo))
    write_sound(arguments.output, wanted)
