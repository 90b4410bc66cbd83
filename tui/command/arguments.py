"""What the command line takes: the parser, and nothing of what the commands do."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fillcalc.case.fields import Input

MOST_SECONDS = 1e7
SHEETS = ("quote", "site")
"""The sheets of a page that can be had alone."""


CASE = 'a case file, "-" for stdin, or the name of a demo case'
FOLDER = "a folder of case files, or the name of a demo folder"


def _alone(*names: str, **said: Any) -> argparse.ArgumentParser:
    """An option that several commands share."""
    option = argparse.ArgumentParser(add_help=False)
    option.add_argument(*names, **said)
    return option


_OF_UNITS: dict[str, Any] = {"type": str.lower, "choices": ("metric", "us"), "default": argparse.SUPPRESS}
UNITS = _alone("--units", **_OF_UNITS, help="units of what is shown (default: those that the case is written in)")
JSON = _alone("--json", action="store_true", default=argparse.SUPPRESS, help="one JSON object a line, SI units")
OWN = _alone("--own", metavar="FILE", default=argparse.SUPPRESS,
             help='own figures, in place of defaults; "none" leaves them out (default: own.toml beside the case, else '
                  "in this folder)")
AS_QUOTE = _alone("--quote", action="store_true",
                  help="the quote alone: one sentence, and what the customer provides")


def parser() -> argparse.ArgumentParser:
    """The parser of the whole line; the command's name comes back as `command`, empty where none was given."""
    whole = argparse.ArgumentParser(
        prog="fillcalc", parents=[UNITS, JSON],
        description="Fill, vent and pump-time estimates for hydrostatic pressure tests. "
        "Without a command: the screen with a demo case, or its answers where there is no terminal.")
    whole.set_defaults(command="")
    commands = whole.add_subparsers(title="commands", metavar="COMMAND", prog="fillcalc")

    def command(name: str, help: str, *parents: argparse.ArgumentParser) -> argparse.ArgumentParser:
        one = commands.add_parser(name, parents=list(parents), help=help)
        one.set_defaults(command=name)
        return one

    _of_cases(command)
    _of_finished_jobs(command)
    one = command("rules", "what standards say of test pressures and hold times", JSON)
    one.add_argument("word", metavar="WORD", nargs="?", default="", help="such as valve, hold, or a standard's name")
    one = command("check", "say whether case files can be used, and what is wrong", JSON, OWN)
    one.add_argument("cases", metavar="CASE", nargs="+", help=CASE)
    one = command("new", "write a commented case file to start from; never overwrites")
    one.add_argument("--units", **_OF_UNITS, help="units that the case is written in (default: metric)")
    one.add_argument("path", metavar="PATH", help="the file to write")
    return whole


def _of_cases(command: Callable[..., argparse.ArgumentParser]) -> None:
    """The commands that tell of a job before it, or while it is done."""
    one = command("open", "open a case on the screen", UNITS, OWN)
    one.add_argument("case", metavar="CASE", help=CASE)
    one = command("estimate", "print the answers of one or more cases", UNITS, JSON, AS_QUOTE, OWN)
    one.add_argument("cases", metavar="CASE", nargs="+", help=CASE)
    one.add_argument("--charts", action="store_true", help="with --json: the curves too")
    one.add_argument("--at-likely-values", "--as-written", dest="at_likely_values", action="store_true",
                     help="one run with each input at its likely value: no ranges, no time on site")
    one = command("choices", "which hose and pump of a kit to take for a case", UNITS, JSON, OWN)
    one.add_argument("case", metavar="CASE", help=CASE)
    one.add_argument("--kit", metavar="KIT", default="kit",
                     help="a kit file, or the name of a demo kit (default: kit.toml here, else the demo kit)")
    one.add_argument("--fill-within", metavar="TIME", type=_duration, help='the bore that fills within "30 min"')
    one.add_argument("--pump-within", metavar="TIME", type=_duration,
                     help='the trapped air and drive pressure that allow a pump-up within "2 min"')
    one = command("visit", "the time on site of several cases in one visit", UNITS, JSON, AS_QUOTE, OWN)
    one.add_argument("cases", metavar="CASE", nargs="+", help=CASE)
    one.add_argument("--overlap", action="store_true", help="the next piece is connected while one settles and holds")
    one = command("readings", "what the gauge tells: trapped air, strokes to go", UNITS, JSON, OWN)
    one.add_argument("case", metavar="CASE", help=f"{CASE}, with its [[reading]]s")
    _of_a_record(one, "a recorder's file instead, or the name of a demo record")
    one = command("page", "write a page for paper and phone: a sheet for the quote, a sheet for the site", UNITS, OWN)
    one.add_argument("cases", metavar="CASE", nargs="+", help=f"{CASE}; several make a visit")
    one.add_argument("-o", "--output", metavar="PAGE.html", required=True,
                     help="the file to write; only an older page of this command is replaced")
    one.add_argument("--sheet", choices=SHEETS, help="that sheet alone, such as the one to send to the customer")
    one.add_argument("--appendix", action="store_true", help="one more sheet: what was assumed, each with its reason")
    _of_a_record(one, "a recorder's file of the test, for the sheet for the site")


def _of_finished_jobs(command: Callable[..., argparse.ArgumentParser]) -> None:
    """The commands that tell of jobs after them."""
    one = command("took", "what a finished job took, beside its estimate", UNITS, JSON, OWN)
    one.add_argument("case", metavar="CASE", help=f"{CASE}, with its [took]")
    one = command("track", "how good the estimates were: all finished jobs of a folder", UNITS, JSON, OWN)
    one.add_argument("folder", metavar="FOLDER", help=FOLDER)
    one.add_argument("-o", "--output", metavar="PAGE.html", help="write it as a page instead")
    one = command("learn", "own figures from all finished jobs of a folder", UNITS, JSON)
    one.add_argument("folder", metavar="FOLDER", help=FOLDER)
    one.add_argument("-o", "--output", metavar="OWN.toml",
                     help="the file to write; one that was edited by hand is never replaced")


def _of_a_record(one: argparse.ArgumentParser, said: str) -> None:
    """What a command takes that reads a recorder's file."""
    one.add_argument("--log", metavar="FILE.csv", help=said)
    one.add_argument("--hold", metavar="FROM-TO", default="", help="where the hold is, such as 10:42-11:12")
    one.add_argument("--columns", metavar="time=1,pressure=3", default="", help="which column is which")
    one.add_argument("--unit", metavar="UNIT", default="", help='unit of the pressure, such as bar or "bar abs"')
    one.add_argument("--strokes", metavar="RATE", type=_rate, help='how fast the pump ran, "40 /min"')
    one.add_argument("--leak", metavar="FLOW", type=_flow, help='how long to hold to show "2 mL/min"')


def _rate(text: str) -> float:
    from fillcalc.recorder.asked import STROKES

    return _asked(STROKES, text)


def _flow(text: str) -> float:
    from fillcalc.recorder.asked import LEAK

    return _asked(LEAK, text)


def _asked(declared: Input, text: str) -> float:
    """What is said of a record, in SI."""
    from fillcalc.recorder.asked import read_asked

    try:
        return read_asked(declared, text)
    except ValueError as problem:
        raise argparse.ArgumentTypeError(str(problem)) from None


def _duration(text: str) -> float:
    from fillcalc.units import UnitProblem, read_quantity
    from fillcalc.units.printable import shown

    try:
        seconds, _ = read_quantity(text, ("duration",))
    except UnitProblem as problem:
        raise argparse.ArgumentTypeError(f"{shown(text)}: {problem.expected}") from None
    if not 0.0 < seconds <= MOST_SECONDS:
        raise argparse.ArgumentTypeError(f'{shown(text)}: write a time such as "30 min"')
    return float(seconds)
