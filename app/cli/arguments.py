"""What can be said to the commands that need no window."""

from __future__ import annotations

import argparse
from pathlib import Path

from analysis.fingering.rules.files import PRESETS
from analysis.language import _
from app.job.paper.picture_size import PASSAGE_WIDTH_MM, PICTURE_DPI
from app.job.teacher.printing import PAPERS

FORMATS = ("csv", "json", "musicxml", "mxl", "pdf")
MOST_JOBS = 4  # unless more are asked for: each may take half a gigabyte of memory


def _rules_help() -> str:
    return _("house rules: {presets} or a .toml file").format(presets=", ".join(PRESETS))


def command_parser() -> argparse.ArgumentParser:
    """The parser of the commands that need no window."""
    parser = argparse.ArgumentParser(
        prog="handframe",
        description=_("Works out fingerings for the parts of a school string orchestra."),
        epilog=_("handframe SCORE opens the window on a score or a project."),
    )
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    _add_finger(_command(commands, "finger", _("finger parts; print a table or write files")))
    _add_ways(_command(commands, "ways", _("the few ways to play a passage, by what each asks")))
    _add_compare(_command(commands, "compare", _("weigh house rules against each other on a passage")))
    _add_watch(_command(commands, "watch", _("what to watch in a part before the first rehearsal")))
    _add_sheet(_command(commands, "sheet", _("write the practice sheet of a part")))
    _add_parts(_command(commands, "parts", _("print every part's marked copy, the whole set")))
    _add_listen(_command(commands, "listen", _("write a part, or some measures of it, as sound")))
    return parser


def _command(
    commands: argparse._SubParsersAction[argparse.ArgumentParser], name: str, words: str
) -> argparse.ArgumentParser:
    """A command that says what it is for in the list of all and in its own help."""
    return commands.add_parser(name, help=words, description=f"{words[0].upper()}{words[1:]}.")


def _add_finger(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "score", metavar="SCORE", type=Path, help=_("a score or a .handframe project; or a folder with many of them")
    )
    _add_instrument(parser)
    parser.add_argument("--part", metavar="NAME|N", help=_("one part, by name or number; without it every string part"))
    parser.add_argument("--rules", metavar="RULES", help=_rules_help())
    parser.add_argument("--measures", metavar="A-B", help=_("only these measures, by the numbers printed in the part"))
    parser.add_argument(
        "--lock", metavar="'A-B: WHAT'", action="append", default=[],
        help=_(
            "fix every note of these measures: '12-16: 3rd position', '20: on the A string', '7: finger 2'; "
            "may be said more than once"
        ),
    )  # fmt: skip
    parser.add_argument("--reasons", action="store_true", help=_("say in the table why notes are played so"))
    _add_paper(parser)
    parser.add_argument(
        "--dpi", metavar="N", type=int, default=PICTURE_DPI,
        help=_("dots an inch of a .png picture, 20 to 1200 (default: {dpi})").format(dpi=PICTURE_DPI),
    )  # fmt: skip
    parser.add_argument(
        "--width", metavar="MM", type=float, default=PASSAGE_WIDTH_MM,
        help=_("length of the lines in a picture of some measures (default: {width:g})").format(width=PASSAGE_WIDTH_MM),
    )  # fmt: skip
    parser.add_argument(
        "--chart", metavar="OUT", type=Path,
        help=_(
            "write a .png or .svg picture of the fingerboard with the fingers of these measures, or of the whole part"
        ),
    )  # fmt: skip
    parser.add_argument(
        "-o", "--output", metavar="OUT", type=Path, action="append", default=[],
        help=_(
            "write to a .csv, .json, .mei, .musicxml, .mxl, .pdf, .png or .svg file; may be said more than once. "
            "Of some measures a picture is cut to their music; without --measures there is one for every page. "
            "Of a folder of scores: the folder to write to"
        ),
    )  # fmt: skip
    parser.add_argument(
        "--format", choices=FORMATS, action="append", default=[],
        help=_("what to write of each score in a folder; may be said more than once (default: pdf)"),
    )  # fmt: skip
    parser.add_argument(
        "--jobs", metavar="N", type=int,
        help=_(
            "how many scores of a folder are worked on at once (default: one for each processor, {most} at most)"
        ).format(most=MOST_JOBS),
    )  # fmt: skip


def _add_ways(parser: argparse.ArgumentParser) -> None:
    _add_passage(parser)
    parser.add_argument("--rules", metavar="RULES", help=_rules_help())
    parser.add_argument(
        "-o", "--output", metavar="OUT", type=Path, action="append", default=[], help=_("write to a .json file")
    )


def _add_compare(parser: argparse.ArgumentParser) -> None:
    _add_passage(parser)
    parser.add_argument(
        "--rules",
        metavar="RULES",
        action="append",
        required=True,
        help=_("{house_rules}; say it once for each set of rules to compare").format(house_rules=_rules_help()),
    )
    parser.add_argument(
        "-o", "--output", metavar="OUT", type=Path, action="append", default=[], help=_("write to a .pdf or .json file")
    )


def _add_watch(parser: argparse.ArgumentParser) -> None:
    _add_score(parser)
    parser.add_argument("--part", metavar="NAME|N", help=_("one part, by name or number; without it every string part"))
    parser.add_argument("--rules", metavar="RULES", help=_rules_help())
    parser.add_argument("--json", action="store_true", help=_("print a list of JSON objects in place of a table"))


def _add_sheet(parser: argparse.ArgumentParser) -> None:
    _add_score(parser)
    parser.add_argument("--part", metavar="NAME|N", required=True, help=_("the part, by name or number"))
    parser.add_argument("--rules", metavar="RULES", help=_rules_help())
    _add_paper(parser)
    parser.add_argument("-o", "--output", metavar="OUT", type=Path, required=True, help=_("the .pdf file to write"))


def _add_parts(parser: argparse.ArgumentParser) -> None:
    """What is left out stands as the project has it."""
    parser.add_argument("score", metavar="SCORE", type=Path, help=_("a score or a .handframe project"))
    parser.add_argument("--rules", metavar="RULES", help=_rules_help())
    parser.add_argument(
        "--paper", choices=tuple(PAPERS), help=_("the paper to print on (default: a4, or as the project has it)")
    )
    parser.add_argument(
        "--staff",
        dest="staff_mm",
        metavar="MM",
        type=float,
        help=_("height of a staff (default: 7, or as the project has it)"),
    )
    parser.add_argument(
        "--margin",
        dest="margin_mm",
        metavar="MM",
        type=float,
        help=_("margin of a page (default: 12, or as the project has it)"),
    )
    parser.add_argument(
        "--colour", action="store_true", default=None, help=_("the teacher's marks in colour, not black")
    )
    parser.add_argument(
        "--no-cues", dest="cues", action="store_false", default=None, help=_("no cues after long rests")
    )
    parser.add_argument(
        "--no-turns",
        dest="turns",
        action="store_false",
        default=None,
        help=_("end pages where they are full, not where the player rests"),
    )
    parser.add_argument("--date", metavar="TEXT", help=_("the date at the foot of every page"))
    parser.add_argument("--marked-by", metavar="NAME", help=_("who marked the parts, at the foot of every page"))
    parser.add_argument(
        "--copies", metavar="'PART=N'", action="append", default=[],
        help=_("how many copies of a part; may be said more than once"),
    )  # fmt: skip
    parser.add_argument(
        "--names", metavar="'PART=A, B'", action="append", default=[],
        help=_("names of desks or players, each on a copy of its own; may be said more than once"),
    )  # fmt: skip
    parser.add_argument(
        "-o", "--output", metavar="OUT", type=Path, required=True,
        help=_("one .pdf file with an outline, or a folder for one file a part"),
    )  # fmt: skip


def _add_listen(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("score", metavar="SCORE", type=Path, help=_("a score or a .handframe project"))
    parser.add_argument("--part", metavar="NAME|N", required=True, help=_("the part that is loud, by name or number"))
    parser.add_argument("--measures", metavar="A-B", help=_("only these measures, by the numbers printed in the part"))
    parser.add_argument(
        "--tempo",
        metavar="N|N%",
        help=_("quarter notes a minute at the beginning, or a percentage of the written tempo"),
    )
    parser.add_argument("--click", action="store_true", help=_("a click on every beat"))
    parser.add_argument(
        "--count-in", action="store_true", help=_("a measure of clicks before the music, and the click")
    )
    parser.add_argument(
        "--others", metavar="SHARE|N%", default="1",
        help=_("how loud the other parts are beside it, from 0 to 1 or in per cent (default: 1)"),
    )  # fmt: skip
    parser.add_argument(
        "-o", "--output", metavar="OUT", type=Path, required=True, help=_("the .wav or .mid file to write")
    )


def _add_passage(parser: argparse.ArgumentParser) -> None:
    _add_score(parser)
    parser.add_argument("--part", metavar="NAME|N", required=True, help=_("the part, by name or number"))
    parser.add_argument("--measures", metavar="A-B", required=True, help=_("the passage, by printed measure numbers"))


def _add_score(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("score", metavar="SCORE", type=Path, help=_("a score or a .handframe project"))
    _add_instrument(parser)


def _add_instrument(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--instrument", metavar="I", help=_("the instrument, where the name of the part does not tell it")
    )


def _add_paper(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--paper", choices=tuple(PAPERS), help=_("paper of a PDF (default: a4, or as the project has it)")
    )
