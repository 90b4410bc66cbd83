"""The command line: `fillcalc` and its sub-commands.

Answers go to stdout, talk to stderr. Exit 0: an answer was given; 1: a file can't be used; 2: the
command was wrong. Everything heavy is imported by the command that needs it, so that a cold
`fillcalc estimate` loads numpy and the calculation and nothing else.
"""

from __future__ import annotations

import codecs
import os
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from tui.command.arguments import SHEETS, parser

if TYPE_CHECKING:
    import argparse

    from fillcalc.case.folder import Folder
    from fillcalc.case.own import Own
    from fillcalc.case.problems import Problem
    from fillcalc.case.records import Case, Kit
    from fillcalc.estimation.answers import Estimate
    from fillcalc.present.jobs import Named
    from fillcalc.questions.recording.hold import RecordedHold
    from fillcalc.recorder.log import Log

ANSWERED, UNUSABLE = 0, 1
DEMO = "cooler-shell"
MOST_BYTES = 4_000_000
"""A case on stdin is read up to this size; the reader refuses anything near it."""

PLAIN = {"°": "deg ", "×": "x", "±": "+-", "–": "-", "—": "-", "·": "/", "²": "2", "³": "3", "µ": "u", "…": "..."}
"""How our own signs are written where the terminal's encoding lacks them."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code; 2 comes from argparse as SystemExit."""
    try:
        _speak_any_encoding()
        parsed = parser().parse_args(arguments)
        code = COMMANDS[parsed.command](parsed)
        if sys.stdout is not None:
            sys.stdout.flush()
        return code
    except BrokenPipeError:
        _drop_stdout()
        return ANSWERED
    except KeyboardInterrupt:
        return 130
    except OSError as problem:
        _drop_stdout()
        _talk(f"The answer cannot be written: {problem.strerror or problem}.")
        return UNUSABLE


# --- the commands -----------------------------------------------------------------------------

def _bare(parsed: argparse.Namespace) -> int:
    if _has_terminal() and not getattr(parsed, "json", False):
        return _screen(DEMO, parsed)
    _talk(f"The answers of the demo case {DEMO}. `fillcalc --help` lists the commands.")
    parsed.cases, parsed.charts, parsed.at_likely_values, parsed.quote = [DEMO], False, False, False
    return _estimate(parsed)


def _open(parsed: argparse.Namespace) -> int:
    if not _has_terminal():
        _talk("The screen needs a terminal. `fillcalc estimate CASE` prints the answers without one.")
        return 2
    return _screen(parsed.case, parsed)


def _screen(case: str, parsed: argparse.Namespace) -> int:
    from tui.app import run

    return run(_find(case), getattr(parsed, "units", None), getattr(parsed, "own", None))


def _estimate(parsed: argparse.Namespace) -> int:
    if parsed.quote and parsed.at_likely_values:
        _talk("A quote needs the time on site: leave out --at-likely-values.")
        return 2
    code, rule = ANSWERED, ""
    for name in parsed.cases:
        case = _read(name, parsed)
        if case is None:
            code = UNUSABLE
        elif getattr(parsed, "json", False):
            print(_data_line(case, parsed))
        elif parsed.quote:
            print(rule + _quote_text(case, parsed), end="")
            rule = "\n"
        else:
            print(rule + _report(case, parsed), end="")
            rule = f"\n{'=' * 80}\n\n"
    return code


def _data_line(case: Case, parsed: argparse.Namespace) -> str:
    from fillcalc.formats.data import estimate_data, line, quote_only

    data = estimate_data(case, _answered(case, parsed), _units(parsed, case), parsed.charts)
    return line(quote_only(data) if parsed.quote else data)


def _quote_text(case: Case, parsed: argparse.Namespace) -> str:
    from fillcalc.formats.text import quote_text

    return quote_text(case, _answered(case, parsed), _units(parsed, case))


def _report(case: Case, parsed: argparse.Namespace) -> str:
    from fillcalc.formats.text import report

    return report(case, _answered(case, parsed), _units(parsed, case))


def _answered(case: Case, parsed: argparse.Namespace) -> Estimate:
    if parsed.at_likely_values:
        from fillcalc.estimation.estimate import estimate

        return estimate(case)
    from fillcalc.questions.ranges import with_ranges

    return with_ranges(case)


def _choices(parsed: argparse.Namespace) -> int:
    from fillcalc.case.problems import CaseProblems

    case = _read(parsed.case, parsed)
    try:
        if case is None:
            return UNUSABLE
        kit = _kit("kit.toml" if parsed.kit == "kit" and os.path.exists("kit.toml") else parsed.kit,
                   _own("" if parsed.case == "-" else _find(parsed.case), parsed))
    except CaseProblems as found:
        for problem in found.problems:
            _talk(str(problem))
        return UNUSABLE
    from fillcalc.case.medium import is_gas
    from fillcalc.formats.choices_text import choices_data, choices_report
    from fillcalc.formats.data import line
    from fillcalc.questions.choices.ranking import choices
    from fillcalc.questions.choices.sought import sought

    units = _units(parsed, case)
    if is_gas(case):
        from fillcalc.formats.gas_choices_text import gas_choices_data, gas_choices_report
        from fillcalc.questions.choices.gas import gas_choices

        options = gas_choices(case, kit)
        print(line(gas_choices_data(case, options, units)) if getattr(parsed, "json", False) else
              gas_choices_report(case, options, units), end="\n" if getattr(parsed, "json", False) else "")
        return ANSWERED
    ranked, asked = choices(case, kit, units), sought(case, parsed.fill_within, parsed.pump_within)
    if getattr(parsed, "json", False):
        print(line(choices_data(case, kit, ranked, asked, units)))
    else:
        print(choices_report(case, kit, ranked, asked, units), end="")
    return ANSWERED


def _visit(parsed: argparse.Namespace) -> int:
    cases = _read_all(parsed.cases, parsed)
    if not cases:
        return UNUSABLE
    from fillcalc.formats.visit_text import combined_data, combined_quote_text, combined_report
    from fillcalc.questions.visit import visit

    combined, estimates = visit(cases, parsed.overlap)
    if getattr(parsed, "json", False):
        from fillcalc.formats.data import line, quote_only

        data = combined_data(cases, combined, estimates, _units(parsed, cases[0]))
        print(line(quote_only(data) if parsed.quote else data))
    else:
        shown = combined_quote_text if parsed.quote else combined_report
        print(shown(cases, combined, estimates, _units(parsed, cases[0])), end="")
    return ANSWERED


def _readings(parsed: argparse.Namespace) -> int:
    case = _read(parsed.case, parsed)
    if case is None:
        return UNUSABLE
    if parsed.log is not None:
        return _recording(case, parsed)
    if _lacks_log(parsed):
        return 2
    from fillcalc.case.medium import is_gas
    from fillcalc.formats.data import line
    from fillcalc.formats.readings_text import readings_data, readings_report
    from fillcalc.questions.readings.answer import readings

    if is_gas(case):
        from fillcalc.formats.gas_text import hold_data, hold_report

        print(line(hold_data(case)) + "\n" if getattr(parsed, "json", False) else
              hold_report(case, _units(parsed, case)), end="")
        return ANSWERED
    answer = readings(case)
    if getattr(parsed, "json", False):
        print(line(readings_data(case, answer, _units(parsed, case))))
    else:
        print(readings_report(case, answer, _units(parsed, case)), end="")
    return ANSWERED


def _recording(case: Case, parsed: argparse.Namespace) -> int:
    from fillcalc.formats.data import line
    from fillcalc.formats.recording_text import recording_data, recording_report

    recorded = _record(case, parsed)
    if recorded is None:
        return UNUSABLE
    if getattr(parsed, "json", False):
        print(line(recording_data(case, *recorded, _units(parsed, case))))
    else:
        print(recording_report(case, *recorded, _units(parsed, case)), end="")
    return ANSWERED


def _lacks_log(parsed: argparse.Namespace) -> bool:
    """Whether something is asked of a recorder's file that was not given, after saying so on stderr."""
    asked = [f"--{name}" for name in ("hold", "columns", "unit", "strokes", "leak")
             if getattr(parsed, name) not in ("", None)]
    if asked:
        _talk(f"{asked[0]} is about a recorder's file: give it with --log FILE.csv.")
    return bool(asked)


def _record(case: Case, parsed: argparse.Namespace) -> tuple[Log, RecordedHold] | None:
    """A recorder's file and what it tells, or None after saying on stderr what is wrong with it."""
    from fillcalc.case.problems import CaseProblems
    from fillcalc.questions.recording.hold import hold
    from fillcalc.questions.recording.parts import NotInRecord
    from fillcalc.recorder.read import read_log

    try:
        log = read_log(_find(parsed.log, ".csv"), parsed.columns, parsed.unit)
        return log, hold(case, log, parsed.hold, parsed.strokes, () if parsed.leak is None else (parsed.leak,))
    except CaseProblems as wrong:
        for problem in wrong.problems:
            _talk(str(problem))
    except NotInRecord as wrong:
        _talk(str(wrong))
    return None


def _page(parsed: argparse.Namespace) -> int:
    cases = _read_all(parsed.cases, parsed)
    if not cases:
        return UNUSABLE
    from tui.state.page_file import write_page

    recorded = None
    if parsed.log is None and _lacks_log(parsed):
        return 2
    if parsed.log is not None:
        if len(cases) > 1:
            _talk("A recorder's file belongs to one case. Give one.")
            return UNUSABLE
        recorded = _record(cases[0], parsed)
        if recorded is None:
            return UNUSABLE
    sheets = ((parsed.sheet,) if parsed.sheet else SHEETS) + (("appendix",) if parsed.appendix else ())
    sentence, written = write_page(parsed.output, cases, _units(parsed, cases[0]), sheets, recorded)
    _talk(sentence)
    return ANSWERED if written else UNUSABLE


def _took(parsed: argparse.Namespace) -> int:
    case = _read(parsed.case, parsed)
    if case is None:
        return UNUSABLE
    from fillcalc.formats.data import line
    from fillcalc.formats.jobs_text import took_data, took_report
    from fillcalc.questions.jobs.track import compared

    found = tuple(compared([case]))
    if getattr(parsed, "json", False):
        print(line(took_data(case, found, _units(parsed, case))))
    else:
        print(took_report(case, found, _units(parsed, case)), end="")
    return ANSWERED


def _track(parsed: argparse.Namespace) -> int:
    from fillcalc.formats.data import line
    from fillcalc.questions.jobs.track import track

    read = _folder(parsed)
    if read is None:
        return UNUSABLE
    folder, named = read
    record, units = track(folder.cases), _folder_units(parsed, folder)
    if parsed.output:
        from fillcalc.formats.jobs_page import track_page
        from tui.state.page_file import write

        sentence, written = write(parsed.output, lambda: track_page(folder, record, named, units))
        _talk(sentence)
        return ANSWERED if written else UNUSABLE
    from fillcalc.formats.jobs_text import track_data, track_report

    if getattr(parsed, "json", False):
        print(line(track_data(folder, record, named, units)))
    else:
        print(track_report(folder, record, named, units), end="")
    return ANSWERED


def _learn(parsed: argparse.Namespace) -> int:
    from fillcalc.formats.data import line
    from fillcalc.formats.jobs_text import learn_data, learn_report
    from fillcalc.questions.jobs.learn import learn

    parsed.own = "none"
    read = _folder(parsed)
    if read is None:
        return UNUSABLE
    folder, named = read
    found, units = learn(folder.cases), _folder_units(parsed, folder)
    if getattr(parsed, "json", False):
        print(line(learn_data(folder, found, named, units)))
    else:
        print(learn_report(folder, found, named, units), end="")
    if not parsed.output:
        return ANSWERED
    if not found.jobs:
        _talk("Nothing is learned, and nothing written.")
        return UNUSABLE
    from fillcalc.case.own_file import own_text
    from fillcalc.present.jobs import learned_sentences
    from tui.state.learned_file import write_learned

    sentence, written = write_learned(parsed.output, own_text(found.own, learned_sentences(found, named.files, units)))
    _talk(sentence)
    return ANSWERED if written else UNUSABLE


def _folder(parsed: argparse.Namespace) -> tuple[Folder, Named] | None:
    """The cases of a folder, and what it is called; None after saying why it cannot be read."""
    from fillcalc.case.folder import read_folder
    from fillcalc.case.problems import CaseProblems
    from fillcalc.present.jobs import Named

    path = _find_folder(parsed.folder)
    asked = getattr(parsed, "own", None)
    try:
        folder = read_folder(path, _own("", parsed) if asked else None)
    except CaseProblems as found:
        for problem in found.problems:
            _talk(str(problem))
        return None
    except (OSError, ValueError) as error:
        _talk(f"{_shown(parsed.folder)} cannot be read: {getattr(error, 'strerror', None) or error}.")
        return None
    if not folder.cases:
        for _, why in folder.skipped:
            _talk(why)
        _talk(f"{_shown(parsed.folder)} holds no case that can be read.")
        return None
    return folder, Named(parsed.folder, folder.files)


def _find_folder(name: str) -> str:
    """The folder itself, or the demo folder of this name where there is no such folder."""
    if os.sep in name or os.path.exists(name):
        return name
    import cases

    demo = os.path.join(cases.__path__[0], name)
    return demo if os.path.isdir(demo) else name


def _folder_units(parsed: argparse.Namespace, folder: Folder) -> str:
    """Those asked for, else those that most of the cases are written in."""
    us = sum(case.units == "us" for case in folder.cases)
    units: str = getattr(parsed, "units", "us" if 2 * us > len(folder.cases) else "metric")
    return units


def _rules(parsed: argparse.Namespace) -> int:
    from fillcalc.case.standards import rows
    from fillcalc.formats.data import line
    from fillcalc.formats.rules_text import rules_data, rules_report

    found = rows(parsed.word)
    if getattr(parsed, "json", False):
        print(line(rules_data(found)))
    else:
        print(rules_report(found), end="")
    return ANSWERED


def _check(parsed: argparse.Namespace) -> int:
    from fillcalc.case.problems import CaseProblems, KitInstead

    code = ANSWERED
    for name in parsed.cases:
        kind, usable = "", False
        problems: tuple[Problem, ...] = ()
        try:
            try:
                assumed = len(_load(name, parsed).assumptions)
            except KitInstead:
                if name == "-":
                    raise
                kind, assumed = "a kit, ", len(_kit(name, _own(_find(name), parsed)).assumptions)
            usable = True
        except CaseProblems as found:
            problems, code = found.problems, UNUSABLE
        if getattr(parsed, "json", False):
            from fillcalc.formats.data import line, problems_data

            print(line(problems_data(name, problems)))
        elif not usable:
            print("\n".join(map(str, problems)))
        else:
            print(f"{_shown(name)}: {kind}can be used; {assumed} input{'' if assumed == 1 else 's'} assumed")
    return code


def _new(parsed: argparse.Namespace) -> int:
    from fillcalc.case.disk import NotAFile
    from fillcalc.case.save import ChangedUnderneath, save
    from fillcalc.case.template import template

    try:
        save(parsed.path, template(getattr(parsed, "units", "metric")).encode("utf-8"), None)
    except (ChangedUnderneath, NotAFile):
        _talk(f"{_shown(parsed.path)} exists already and is left as it is. Give another name.")
        return UNUSABLE
    except (OSError, ValueError) as error:
        _talk(f"{_shown(parsed.path)} cannot be written: {getattr(error, 'strerror', None) or error}.")
        return UNUSABLE
    _talk(f"Written: {_shown(parsed.path)}. `fillcalc estimate {_shown(parsed.path)}` answers it.")
    return ANSWERED


COMMANDS: dict[str, Callable[[argparse.Namespace], int]] = {
    "": _bare, "open": _open, "estimate": _estimate, "choices": _choices, "visit": _visit, "readings": _readings,
    "page": _page, "rules": _rules, "took": _took, "track": _track, "learn": _learn, "check": _check, "new": _new}


# --- finding and reading a case ---------------------------------------------------------------

def _read(name: str, parsed: argparse.Namespace) -> Case | None:
    """The case, or None after saying on stderr what is wrong with it, or with the figures of one's own."""
    from fillcalc.case.problems import CaseProblems

    try:
        return _load(name, parsed)
    except CaseProblems as found:
        for problem in found.problems:
            _talk(str(problem))
        if os.sep not in name and not os.path.exists(name) and name != "-":
            from cases import names

            _talk(f"There is no such file, nor a demo case of that name. The demo cases: {', '.join(names())}.")
    return None


def _read_all(names: Sequence[str], parsed: argparse.Namespace) -> list[Case]:
    """The cases, each with a title; none where one of them cannot be used."""
    from fillcalc.case.names import named

    read = [(_read(name, parsed), "case" if name == "-" else name) for name in names]
    cases = [named(case, name) for case, name in read if case is not None]
    return cases if len(cases) == len(read) else []


def _load(name: str, parsed: argparse.Namespace) -> Case:
    from fillcalc.case.read import read_bytes, read_file

    if name == "-":
        return read_bytes(sys.stdin.buffer.read(MOST_BYTES) if sys.stdin else b"", "stdin", _own("", parsed))
    path = _find(name)
    return read_file(path, _own(path, parsed))


def _own(case: str, parsed: argparse.Namespace) -> Own:
    """The figures of one's own that go with the case at a path: those asked for, beside it, or here. Raises
    CaseProblems."""
    from fillcalc.case.own import Own, beside
    from fillcalc.case.own_file import read_own_file

    asked = getattr(parsed, "own", None)
    path = beside(case) if asked is None else "" if asked == "none" else asked
    return read_own_file(path) if path else Own()


def _kit(name: str, own: Own) -> Kit:
    from fillcalc.case.kit import read_kit_file

    return read_kit_file(_find(name), own)


def _find(name: str, kind: str = ".toml") -> str:
    """The path itself, or that of the demo of this name, a case or a record, where no such file exists."""
    if os.sep in name or os.path.exists(name):
        return name
    import cases

    demo = os.path.join(cases.__path__[0], name if name.endswith(kind) else f"{name}{kind}")
    return demo if os.path.isfile(demo) else name


# --- the terminal -----------------------------------------------------------------------------

def _units(parsed: argparse.Namespace, case: Case) -> str:
    units: str = getattr(parsed, "units", case.units)
    return units


def _shown(name: str) -> str:
    from fillcalc.units.printable import shown

    return shown(name)


def _has_terminal() -> bool:
    return bool(sys.stdin and sys.stdin.isatty() and sys.stdout and sys.stdout.isatty())


def _talk(sentence: str) -> None:
    if sys.stderr is not None:
        print(sentence, file=sys.stderr)


def _speak_any_encoding() -> None:
    """No character can make a print fail, whatever the locale."""
    codecs.register_error("fillcalc", _plainly)
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="fillcalc")


def _plainly(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    signs = problem.object[problem.start:problem.end]
    return "".join(PLAIN.get(sign, "?") for sign in signs), problem.end


def _drop_stdout() -> None:
    """Point stdout nowhere, so that the interpreter's last flush cannot fail."""
    try:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except (OSError, ValueError, AttributeError):
        return
