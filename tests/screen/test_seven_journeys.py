"""What a technician and an office come for, each from start to end by keyboard alone in a real terminal."""

from __future__ import annotations

import re
import time
from pathlib import Path

import cases
from tests.screen.support import SHELL, case_in
from tests.screen.test_terminals import TMUX, Terminal, terminal

pytestmark = TMUX
QUICK_S = 60.0
"""From a new case to its answers, typing and all."""


def typed(one: Terminal, *values: str) -> None:
    """Values into the fields in hand, one after the other; "" leaves a field as it is."""
    for value in values:
        if value:
            one.keys("-l", value)
        one.keys("Tab")


def test_first_look(tmp_path: Path) -> None:
    """Open, read the answers, look into each place, leave."""
    with terminal(tmp_path, case_in(tmp_path)) as one:
        text = one.shows("61 strokes")
        assert re.search(r"^ Fill +31 min", text, re.MULTILINE) and "DANGER" in text
        for digit, words in zip("1234567", ("The set-up: ", "level, m", "gauge, bar", "Clock", "The best.", "We need: ",
                                            "Test plastic, lined"), strict=True):
            one.keys("Escape")
            one.shows("Press a letter or a digit")
            one.keys(digit)
            if digit == "7":
                one.shows("[7 Cautions")
                for _ in range(12):
                    one.keys("NPage")
            assert "61 strokes" in one.shows(words)
        one.keys("C-q")
        one.shows("ended 0")


def test_a_new_case_from_six_figures_to_its_answers_within_a_minute(tmp_path: Path) -> None:
    with terminal(tmp_path, case_in(tmp_path)) as one:
        one.shows("answers now")
        start = time.monotonic()
        one.keys("C-n")
        one.shows("5 inputs must be given")
        typed(one, "570 L", "", "3.2 bar", "", "22 m", "12.7 mm", "", "", "", "24 bar", "", "", "10")
        text = one.shows("Time on site  3 h")
        assert time.monotonic() - start < QUICK_S
        assert "answers now" in text and re.search(r"^ Pump-up .*\d strokes$", text, re.MULTILINE)
        assert "assumed" in text and "not saved, no file yet" in text


def test_keys_of_one_burst_are_seen_in_a_case_without_answers(tmp_path: Path) -> None:
    with terminal(tmp_path, case_in(tmp_path)) as one:
        one.shows("answers now")
        one.keys("C-n")
        one.shows("5 inputs must be given")
        for litres in ("571", "572", "573"):
            one.keys(*litres, "Down", "Up")
            one.shows(f"{litres} L")


def test_a_wrong_input_is_found_by_the_picture(tmp_path: Path) -> None:
    """A vessel ten times too wide stands in the picture as what it is, with its volume; undo brings it back."""
    with terminal(tmp_path, case_in(tmp_path), 120, 36) as one:
        right = one.shows("574 L")
        one.keys("Down")
        typed(one, "6.2 m")
        wrong = one.shows("57.4 m³")
        assert right != wrong
        wide = [max(len(run) for line in text.splitlines() for run in re.findall(r"[⠉⣀⠒⠤⠛]{4,}", line[53:]))
                for text in (right, wrong)]
        assert wide[1] > wide[0]
        one.keys("C-z")
        one.shows("574 L")


def test_a_hose_is_changed_and_compared(tmp_path: Path) -> None:
    with terminal(tmp_path, case_in(tmp_path)) as one:
        one.shows("61 strokes")
        one.keys("M-k")
        one.shows("Kept")
        one.keys(*["Down"] * 7)
        typed(one, "19 mm")
        text = one.shows("less, better")
        assert re.search(r"^ Fill +31 min +2\d min +\d\S* min less, better$", text, re.MULTILINE)
        one.keys("M-v")
        one.shows("fill hose bore 12.7 mm → 19 mm")
        one.keys("Escape")
        one.shows("less, better")
        one.keys("M-w")
        one.shows("The kept answers are gone")


def test_readings_to_test_pressure_then_the_hold_and_its_verdict(tmp_path: Path) -> None:
    with terminal(tmp_path, case_in(tmp_path), 120, 36) as one:
        one.shows("61 strokes")
        one.keys("M-4")
        one.shows("the first reading starts it")
        for reading, words in (("6 bar; 39", "Reading 1 is in"), ("12 bar; 47", "Reading 2 is in"),
                               ("24 bar; 60; 15 degC", "Reading 3 is in")):
            one.keys("-l", reading)
            one.shows("Enter takes it")
            one.keys("Enter")
            one.shows(words)
        text = one.shows("stop: test pressure is reached")
        assert "Still to pump: nothing" in text and re.search(r"gauge +strokes", text)
        one.keys("-l", "23.5 bar; 15 degC; 30 min")
        one.shows("Enter takes it")
        one.keys("Enter")
        one.shows("Reading 4 is in")
        assert "has passed" not in one.shows("fell by")


def test_two_dozen_valves_are_quoted_and_the_line_is_copied(tmp_path: Path) -> None:
    text = (Path(cases.__file__).parent / "bench-valve.toml").read_text(encoding="utf-8")
    many = text.replace('height = "0.2 m"', 'height = "0.2 m"\ncount = 24\nat_once = 4')
    path = case_in(tmp_path, many, "valves.toml")
    with terminal(tmp_path, path) as one:
        one.shows("answers now")
        one.keys("M-6")
        shown = " ".join(one.shows("We need: ").split())
        assert "of 24 pieces in 6 loads of 4" in shown and "nine visits in ten take less than" in shown
        one.keys("Enter")
        one.shows("Copied to the clipboard and to valves-quote.txt.")
    quoted = (tmp_path / "valves-quote.txt").read_text(encoding="utf-8")
    assert "24 pieces in 6 loads of 4" in quoted and quoted.count("\n\n") == 1 and "DANGER" not in quoted


def test_two_cases_in_a_visit(tmp_path: Path) -> None:
    case_in(tmp_path, SHELL.replace("1.9 m", "2.5 m"), "second.toml")
    with terminal(tmp_path, case_in(tmp_path), 120, 36) as one:
        one.shows("61 strokes")
        one.keys("M-6")
        one.shows("adds other cases to the same visit")
        one.keys("a")
        one.shows("Which cases, in one visit?")
        one.keys("Down", "Space", "Enter")
        one.shows("A visit with 2 cases")
        one.keys("Escape")
        assert re.search(r"case 2 .*[├●]", one.shows("2 cases in one visit"))
        one.keys("a")
        one.shows("[x] second.toml")
        one.keys("Down", "Space", "Enter")
        one.shows("A visit with 1 case")
        one.keys("Escape")
        one.shows("adds other cases to the same visit")
