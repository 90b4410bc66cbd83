"""What the command line takes: the parser, and nothing of what the commands do."""

from __future__ import annotations

import argparse

MOST_SECONDS = 1e7
SHEETS = ("quote", "site")
"""The sheets of a page that can be had alone."""


def parser() -> argparse.ArgumentParser:
    units = argparse.ArgumentParser(add_help=False)
    units.add_argument("--units", type=str.lower, choices=("metric", "us"), default=argparse.SUPPRESS,
                       help="units of what is shown (default: those that the case is written in)")
    as_json = argparse.ArgumentParser(add_help=False)
    as_json.add_argument("--json", action="store_true", default=argparse.SUPPRESS,
                         help="one JSON object a line, SI units")
    own = argparse.ArgumentParser(add_help=False)
    own.add_argument("--own", metavar="FILE", default=argparse.SUPPRESS,
                     help='own figures, in place of defaults; "none" leaves them out (default: own.toml beside the '
                          "case, else in this folder)")
    shown = [units, as_json]
    as_quote = argparse.ArgumentParser(add_help=False)
    as_quote.add_argument("--quote", action="store_true",
                          help="the quote alone: one sentence, and what the customer provides")

    whole = argparse.ArgumentParser(
        prog="fillcalc", parents=shown,
        description="Fill, vent and pump-time estimates for hydrostatic pressure tests. "
        "Without a command: the screen with a demo case, or its answers where there is no terminal.")
    whole.set_defaults(command="")
    commands = whole.add_subparsers(title="commands", metavar="COMMAND", prog="fillcalc")

    case_help = 'a case file, "-" for stdin, or the name of a demo case'
    one = commands.add_parser("open", parents=[units, own], help="open a case on the screen")
    one.add_argument("case", metavar="CASE", help=case_help)
    one.set_defaults(command="open")
    one = commands.add_parser("estimate", parents=[*shown, as_quote, own],
                              help="print the answers of one or more cases")
    one.add_argument("cases", metavar="CASE", nargs="+", help=case_help)
    one.add_argument("--charts", action="store_true", help="with --json: the curves too")
    one.add_argument("--at-likely-values", "--as-written", dest="at_likely_values", action="store_true",
                     help="one run with each input at its likely value: no ranges, no time on site")
    one.set_defaults(command="estimate")
    one = commands.add_parser("choices", parents=[*shown, own], help="which hose and pump of a kit to take for a case")
    one.add_argument("case", metavar="CASE", help=case_help)
    one.add_argument("--kit", metavar="KIT", default="kit",
                     help="a kit file, or the name of a demo kit (default: kit.toml here, else the demo kit)")
    one.add_argument("--fill-within", metavar="TIME", type=_duration, help='the bore that fills within "30 min"')
    one.add_argument("--pump-within", metavar="TIME", type=_duration, help='air and drive that pump up within "2 min"')
    one.set_defaults(command="choices")
    one = commands.add_parser("visit", parents=[*shown, as_quote, own],
                              help="the time on site of several cases in one visit")
    one.add_argument("cases", metavar="CASE", nargs="+", help=case_help)
    one.add_argument("--overlap", action="store_true",
                     help="the next piece is connected while one settles and holds")
    one.set_defaults(command="visit")
    one = commands.add_parser("readings", parents=[*shown, own],
                              help="what the gauge tells: trapped air, strokes to go")
    one.add_argument("case", metavar="CASE", help=f"{case_help}, with its [[reading]]s")
    _of_a_record(one, "a recorder's file instead, or the name of a demo record")
    one.set_defaults(command="readings")
    one = commands.add_parser("page", parents=[units, own],
                              help="write a page for paper and phone: a sheet for the quote, a sheet for the site")
    one.add_argument("cases", metavar="CASE", nargs="+", help=f"{case_help}; several make a visit")
    one.add_argument("-o", "--output", metavar="PAGE.html", required=True,
                     help="the file to write; only an older page of this command is replaced")
    one.add_argument("--sheet", choices=SHEETS, help="that sheet alone, such as the one to send to the customer")
    one.add_argument("--appendix", action="store_true", help="a sheet more: what was assumed, each with its reason")
    _of_a_record(one, "a recorder's file of the test, for the sheet for the site")
    one.set_defaults(command="page")
    one = commands.add_parser("took", parents=[*shown, own], help="what a finished job took, beside its estimate")
    one.add_argument("case", metavar="CASE", help=f"{case_help}, with its [took]")
    one.set_defaults(command="took")
    one = commands.add_parser("track", parents=[*shown, own],
                              help="how good the estimates were: all finished jobs of a folder")
    one.add_argument("folder", metavar="FOLDER", help="a folder of case files, or the name of a demo folder")
    one.add_argument("-o", "--output", metavar="PAGE.html", help="write it as a page instead")
    one.set_defaults(command="track")
    one = commands.add_parser("learn", parents=shown, help="own figures from all finished jobs of a folder")
    one.add_argument("folder", metavar="FOLDER", help="a folder of case files, or the name of a demo folder")
    one.add_argument("-o", "--output", metavar="OWN.toml",
                     help="the file to write; one that was edited by hand is never replaced")
    one.set_defaults(command="learn")
    one = commands.add_parser("rules", parents=[as_json], help="what standards say of test pressures and hold times")
    one.add_argument("word", metavar="WORD", nargs="?", default="", help="such as valve, hold, or a standard's name")
    one.set_defaults(command="rules")
    one = commands.add_parser("check", parents=[as_json, own],
                              help="say whether case files can be used, and what is wrong")
    one.add_argument("cases", metavar="CASE", nargs="+", help=case_help)
    one.set_defaults(command="check")
    one = commands.add_parser("new", parents=[units],
                              help="write a commented case file to start from; never overwrites")
    one.add_argument("path", metavar="PATH", help="the file to write")
    one.set_defaults(command="new")
    return whole


def _of_a_record(one: argparse.ArgumentParser, said: str) -> None:
    """What a command takes that reads a recorder's file."""
    one.add_argument("--log", metavar="FILE.csv", help=said)
    one.add_argument("--hold", metavar="FROM-TO", default="", help="where the hold is, such as 10:42-11:12")
    one.add_argument("--columns", metavar="time=1,pressure=3", default="", help="which column is which")
    one.add_argument("--unit", metavar="UNIT", default="", help='unit of the pressure, such as bar or "bar abs"')
    one.add_argument("--strokes", metavar="RATE", type=_rate, help='how fast the pump ran, "40 /min"')
    one.add_argument("--leak", metavar="FLOW", type=_flow, help='how long to hold to show "2 mL/min"')


def _rate(text: str) -> float:
    return _quantity(text, "stroke_rate", '"40 /min"')


def _flow(text: str) -> float:
    return _quantity(text, "flow", '"2 mL/min"')


def _quantity(text: str, family: str, example: str) -> float:
    """A quantity above nothing, in SI."""
    from fillcalc.units import UnitProblem, read_quantity
    from fillcalc.units.printable import shown

    try:
        value, _ = read_quantity(text, (family,))
    except UnitProblem as problem:
        raise argparse.ArgumentTypeError(f"{shown(text)}: {problem.expected}") from None
    if not value > 0.0:
        raise argparse.ArgumentTypeError(f"{shown(text)}: write such as {example}")
    return float(value)


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
