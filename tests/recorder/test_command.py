"""`fillcalc readings CASE --log FILE` as scripts meet it: answers on stdout, problems on stderr, exit 0, 1 or 2."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.recorder.files import HEAD, moments, rows, text
from tui.command.main import main

DEMO = ("readings", "cooler-shell", "--log", "cooler-shell-record")


def test_the_demo_is_told_as_text_and_as_data(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*DEMO, "--leak", "1 mL/min", "--hold", "09:38-09:48"]) == 0
    said = capsys.readouterr().out
    assert "WARNING: Warming hides a leak" in said and "The hold is where you put it." in said
    words = " ".join(said.split())
    assert "No hold of this kind, however long, shows a leak of" in words
    assert "CAUTION: This hold cannot show a leak of 1 mL/min: only" in words
    assert main([*DEMO, "--json", "--strokes", "40 /min"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["fit"]["leak"]["low_m3_s"] < 5e-6 / 60.0 < data["fit"]["leak"]["high_m3_s"]
    assert data["rise"]["by"] == "strokes" and data["columns"][1]["unit"] == "bar"


def test_what_is_asked_of_a_record_needs_one(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["readings", "cooler-shell", "--hold", "09:38-09:48"]) == 2
    assert main(["page", "cooler-shell", "-o", "unwritten.html", "--leak", "1 mL/min"]) == 2
    out, said = capsys.readouterr()
    assert not out and said.count("give it with --log FILE.csv") == 2


def test_what_is_wrong_is_told_on_stderr(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare = tmp_path / "bare.csv"
    bare.write_bytes(text(HEAD, rows(moments("%H:%M:%S"))).split(b"\n", 1)[1])
    for given, words in (((*DEMO[:3], str(tmp_path / "none.csv")), "No such file"),
                         ((*DEMO[:3], str(tmp_path)), "no ordinary file"),
                         ((*DEMO[:3], str(bare)), "no names above the columns"),
                         ((*DEMO, "--hold", "11:00-11:30"), "the hold must lie within it"),
                         (("page", "cooler-shell", "tall-tank", "--log", "x.csv", "-o", str(tmp_path / "p.html")),
                          "belongs to one case")):
        assert main(given) == 1
        sentence = capsys.readouterr()
        assert words in sentence.err and not sentence.out
    assert main([*DEMO[:3], str(bare), "--columns", "time=1,pressure=2", "--unit", "bar"]) == 0
    with pytest.raises(SystemExit) as ended:
        main([*DEMO, "--leak", "two"])
    assert ended.value.code == 2
