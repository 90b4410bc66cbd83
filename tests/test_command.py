"""The command as a person or a script meets it: exit codes, pipes, encodings, hostile input."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SHELL = (ROOT / "cases" / "cooler-shell.toml").read_bytes()


def run(*arguments: str, stdin: bytes = b"", **env: str) -> subprocess.CompletedProcess[bytes]:
    around = {**os.environ, "PYTHONPATH": str(ROOT), **env}
    return subprocess.run([sys.executable, "-m", "tui", *arguments], input=stdin, capture_output=True,
                          env=around, timeout=60, check=False)


def test_without_a_terminal_the_demo_is_answered() -> None:
    ended = run()
    assert ended.returncode == 0
    assert ended.stdout.startswith(b"Estimate, not a test record\nCooler shell")
    assert b"demo case cooler-shell" in ended.stderr


def test_bare_name_path_and_stdin_give_the_same_answer() -> None:
    by_name = run("estimate", "cooler-shell", "--as-written")
    by_path = run("estimate", "--as-written", str(ROOT / "cases" / "cooler-shell.toml"))
    by_stdin = run("estimate", "-", "--as-written", stdin=SHELL)
    assert by_name.returncode == by_path.returncode == by_stdin.returncode == 0
    assert by_name.stdout == by_path.stdout == by_stdin.stdout != b""
    assert by_name.stderr == b""


def test_two_cases_are_two_lines_of_json() -> None:
    ended = run("estimate", "cooler-shell", "bench-valve", "--json", "--as-written")
    titles = [json.loads(line)["title"] for line in ended.stdout.splitlines()]
    assert ended.returncode == 0
    assert [title.split(",")[0] for title in titles] == ["Cooler shell", "Gate valve on the bench"]


def test_one_bad_case_of_two_does_not_hide_the_good_one(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('format = 1\n[vessel]\nshape = "sphere"\ndiameter = 3\n')
    ended = run("estimate", str(bad), "bench-valve", "--json", "--as-written")
    assert ended.returncode == 1
    assert len(ended.stdout.splitlines()) == 1
    assert b"vessel.diameter" in ended.stderr and b"bad.toml" in ended.stderr


@pytest.mark.parametrize("arguments", [["estimate"], ["no-such-command"], ["estimate", "x", "--units", "cubits"]])
def test_a_wrong_command_is_2(arguments: list[str]) -> None:
    ended = run(*arguments)
    assert (ended.returncode, ended.stdout) == (2, b"")
    assert b"usage: fillcalc" in ended.stderr


def test_a_file_that_cannot_be_used_is_1() -> None:
    """Each is named, whatever stands before it."""
    ended = run("estimate", "nowhere.toml", "no-such-demo", ".", "a\x1b[31mb", "\udcff")
    assert (ended.returncode, ended.stdout) == (1, b"")
    assert b"Traceback" not in ended.stderr and b"\x1b" not in ended.stderr
    for name in (b"nowhere.toml: ", b"no-such-demo: ", b".: ", b"a<U+001B>[31mb: ", b"<U+DCFF>: "):
        assert any(line.startswith(name) for line in ended.stderr.splitlines()), (name, ended.stderr)


HOSTILE = (b"", b"\x00" * 100, b"\xff\xfe\xfd", b"[" * 100_000, b"a=" + b"9" * 100_000, b"x" * 5_000_000,
           b'format = 1\ntitle = "\\u001b[2J\\u202e"\n', b"format = 1\nvessel = 3\ntap = []\n")


@pytest.mark.parametrize("command", ["estimate", "check"])
def test_hostile_data_is_a_problem_in_words(command: str, tmp_path: Path) -> None:
    files = [tmp_path / f"{number}.toml" for number, _ in enumerate(HOSTILE)]
    for file, data in zip(files, HOSTILE, strict=True):
        file.write_bytes(data)
    one, several = run(command, "-", stdin=HOSTILE[3]), run(command, *map(str, files))
    for ended in (one, several):
        said = ended.stdout + ended.stderr
        assert ended.returncode == 1
        assert said and b"Traceback" not in said and b"\x1b" not in said and len(said) < 100_000
    assert [file.name for file in files if file.name.encode() not in several.stdout + several.stderr] == []


def test_a_hostile_title_is_shown_as_marks() -> None:
    data = SHELL.replace(b'"Cooler shell, Fenmoor creamery"', b'"\\u001b[2JCooler\\u202e"')
    ended = run("estimate", "-", "--as-written", stdin=data)
    assert ended.returncode == 0
    assert b"<U+001B>" in ended.stdout and b"<U+202E>" in ended.stdout and b"\x1b" not in ended.stdout


def test_a_closed_pipe_is_quiet() -> None:
    read_end, write_end = os.pipe()
    os.close(read_end)
    try:
        ended = subprocess.run([sys.executable, "-m", "tui", "estimate", "cooler-shell", "--as-written"],
                               stdout=write_end, stderr=subprocess.PIPE,
                               env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False)
    finally:
        os.close(write_end)
    assert (ended.returncode, ended.stderr) == (0, b"")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no full device here")
def test_a_full_disk_is_said() -> None:
    with open("/dev/full", "wb") as full:
        ended = subprocess.run([sys.executable, "-m", "tui", "estimate", "cooler-shell", "--as-written"],
                               stdout=full, stderr=subprocess.PIPE,
                               env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False)
    assert ended.returncode == 1
    assert b"cannot be written" in ended.stderr and b"Traceback" not in ended.stderr


@pytest.mark.parametrize("locale", [
    {"LC_ALL": "C"}, {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, {"PYTHONIOENCODING": "ascii"}])
def test_any_locale_works(locale: dict[str, str]) -> None:
    ended = run("estimate", "crest-line", "ammonia-line-us", "--as-written", **locale)
    assert b"psi" in ended.stdout and b" bar" in ended.stdout
    assert ended.returncode == 0 and ended.stdout and ended.stderr == b""
    assert b"?" not in ended.stdout.replace(b"strokes? Stop", b"")


def test_check_says_what_is_wrong_and_where(tmp_path: Path) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_bytes(SHELL.replace(b'bore = "12.7 mm"', b'bore = "12.7"').replace(b"[vent]\nbore", b"[vent]\nborr"))
    ended = run("check", str(bad), "bench-valve")
    assert ended.returncode == 1
    said = ended.stdout.decode()
    assert "fill.hose.1.bore" in said and "vent.borr" in said and "bench-valve: can be used" in said
    data = json.loads(run("check", str(bad), "--json").stdout)
    assert data["usable"] is False
    assert {problem["path"] for problem in data["problems"]} >= {"fill.hose.1.bore", "vent.borr"}


def test_new_writes_a_case_that_can_be_estimated_and_never_overwrites(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    assert run("new", str(path)).returncode == 0
    written = path.read_bytes()
    assert run("estimate", str(path)).returncode == 0
    again = run("new", str(path))
    assert again.returncode == 1 and b"exists already" in again.stderr
    assert path.read_bytes() == written
    assert run("new", str(tmp_path / "no" / "where.toml")).returncode == 1


def test_help_names_every_command() -> None:
    ended = run("--help")
    assert ended.returncode == 0
    assert all(name in ended.stdout for name in (b"estimate", b"check", b"new"))


def test_a_visit_of_two_cases_is_one_total_and_a_bad_case_stops_it() -> None:
    data = json.loads(run("visit", "condenser-first", "condenser-second", "--json").stdout)
    assert [part["title"].split(",")[0] for part in data["cases"]] == ["First condenser", "Second condenser"]
    assert data["total_s"]["low"] <= data["total_s"]["likely"] <= data["total_s"]["high"]
    assert len(data["needs"]) == len(set(data["needs"])) and data["safety"][0] == "Estimate, not a test record."
    stopped = run("visit", "condenser-first", "nowhere.toml")
    assert (stopped.returncode, stopped.stdout) == (1, b"")


def test_the_quote_alone_is_a_sentence_and_the_needs() -> None:
    alone, both = run("estimate", "bench-valve", "--quote"), run("visit", "bench-valve", "cooler-shell", "--quote")
    for each in (alone, both):
        sentence, needs = each.stdout.decode().rstrip("\n").split("\n\n")
        assert "on site; nine visits in ten take less than" in sentence and needs.startswith("We need: ")
    data = json.loads(run("estimate", "bench-valve", "--quote", "--json").stdout)
    assert data.keys() == {"title", "needs", "quote"} and "\n\n".join(data["quote"]) + "\n" == alone.stdout.decode()
    refused = run("estimate", "bench-valve", "--quote", "--at-likely-values")
    assert (refused.returncode, refused.stdout) == (2, b"") and b"leave out" in refused.stderr


def test_readings_as_text_and_as_data() -> None:
    text, data = run("readings", "crest-line"), run("readings", "crest-line", "--json")
    assert text.returncode == data.returncode == 0
    assert b"What the readings tell. An estimate, not a test record." in text.stdout
    seen = json.loads(data.stdout)
    assert seen["trapped_air_m3"]["low"] < seen["trapped_air_m3"]["likely"] < seen["trapped_air_m3"]["high"]
    assert (seen["fits"], seen["cause"], seen["hold"]) == (True, "good", None)
    assert (seen["cooled"], seen["reached"]["at_test"], seen["cautions"], len(seen["readings"])) == (True, False, [], 4)
    plain = " ".join(text.stdout.decode().split())
    assert all(sentence in plain for sentences in seen["said"].values() for sentence in sentences)


def test_readings_at_test_pressure_stop_the_pumping_in_every_answer() -> None:
    seen = b"".join(b'\n[[reading]]\npressure = "%d bar"\nstrokes = %d\ntime = %d\n' % each if not each[2] else
                    b'\n[[reading]]\npressure = "%d bar"\nstrokes = %d\ntime = "%d min"\n' % each
                    for each in ((6, 39, 0), (12, 47, 5), (24, 60, 9)))
    stop = b"Test pressure is reached: stop pumping."
    for command in (("readings", "-"), ("readings", "-", "--json"), ("estimate", "-"), ("estimate", "-", "--json")):
        ended = run(*command, stdin=SHELL + seen)
        assert ended.returncode == 0 and stop in b" ".join(ended.stdout.split()), command


def test_readings_of_a_case_without_any_say_so() -> None:
    ended = run("readings", "cooler-shell", "--json")
    data = json.loads(ended.stdout)
    assert ended.returncode == 0
    assert (data["cause"], data["trapped_air_m3"]["likely"], data["fits"]) == ("none", None, None)
    assert run("readings", "no-such-case.toml").returncode == 1


def test_rules_are_looked_up_by_a_word() -> None:
    every, some, none = (run("rules", *word) for word in ((), ("B31.3",), ("gibberish",)))
    assert every.returncode == some.returncode == none.returncode == 0
    assert len(every.stdout) > len(some.stdout) > len(none.stdout)
    assert json.loads(run("rules", "valve", "--json").stdout)["rules"]


def test_a_reading_that_has_no_part_in_the_fit_is_told() -> None:
    zero, more = (b"\n[[reading]]\npressure = \"%s bar\"\nstrokes = %d\n" % each for each in ((b"0", 0), (b"5", 33)))
    last = b"\n[[reading]]\npressure = \"10 bar\"\nstrokes = 45\n"
    found, plain = (run("readings", "-", stdin=SHELL + part).stdout for part in (zero + more + last, more + last))
    assert b"no part in the fit" in b" ".join(found.split()) and b"no part" not in plain
    assert found.partition(b"As read")[0] == plain.partition(b"As read")[0]


def test_a_name_that_is_no_demo_lists_the_demos() -> None:
    ended = run("estimate", "coolershell")
    assert ended.returncode == 1
    assert b"cooler-shell, crest-line" in ended.stderr and b" kit" not in ended.stderr


def test_a_case_without_a_title_goes_by_its_file_in_a_visit_and_on_a_page(tmp_path: Path) -> None:
    nameless, page = tmp_path / "north pump house.toml", tmp_path / "out.html"
    nameless.write_bytes(re.sub(rb"(?m)^title = .*\n", b"", SHELL))
    found = run("visit", str(nameless), "condenser-first").stdout.decode()
    assert "Case 1: north pump house\n" in found and "Case 2: First condenser" in found
    assert re.search(r"(?m)^ +(DANGER|CAUTION), north pump house: ", found)
    assert run("page", str(nameless), "-o", str(page)).returncode == 0
    assert "north pump house</title>" in page.read_text(encoding="utf-8")


TANK = """
format = 1
[vessel]
shape = "standing cylinder"
diameter = "2 m"
height = "8 m"
{vessel}
[tap]
pressure = "3 bar"
[fill]
measured_flow = "200 L/min"
[test]
{test}
[pump]
kind = "hand"
{tail}
"""
ABSURD = {
    "no design pressure": ('design = "0 bar"', 'pressure = "1 bar"', ""),
    "design pressure down to nothing": ('design = "1 bar"', 'pressure = "1 bar"', '"vessel.design" = "±100 %"'),
    "test pressure down to nothing": ('design = "1 bar"', "factor_on_design = 1.5", '"vessel.design" = "±100 %"'),
    "head above test pressure": ('wall = "6 mm"', 'pressure = "1 bar"',
                                 '"vessel.height" = ["1 m", "200 m"]\n"gauge.height" = ["-50 m", "50 m"]'),
    "ends as thin as foil": ('wall = "6 mm"', 'pressure = "1 bar"',
                             '"vessel.end_wall" = ["0.1 mm", "2 m"]\n"vessel.end_fixity" = [0, 1]'),
    "no air": ('wall = "6 mm"\n[trapped_air]\namount = "1 %"', 'pressure = "1 bar"',
               '"trapped_air.amount" = "±100 %"'),
}


def test_no_warning_ever_reaches_a_person(tmp_path: Path) -> None:
    for name, (vessel, test, ranges) in ABSURD.items():
        text = TANK.format(vessel=vessel, test=test, tail=f"[ranges]\n{ranges}" if ranges else "")
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    ended = run("estimate", *map(str, sorted(tmp_path.iterdir())), PYTHONWARNINGS="error")
    assert (ended.returncode, ended.stderr) == (0, b"")
    assert ended.stdout.count(b"Estimate, not a test record\n") == len(ABSURD)
    assert b"no end" not in ended.stdout and b"nan" not in ended.stdout
