"""Half of the tries in a second process: the same answers, and nothing lost where there is no second process."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fillcalc import halves
from fillcalc.answers import Estimate
from fillcalc.case.read import read_file
from fillcalc.case.records import Case
from fillcalc.estimate import estimate
from fillcalc.tries import tries

ROOT = Path(__file__).parents[1]
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="one process does it all there")


def drawn(name: str = "cooler-shell") -> Case:
    return tries(read_file(ROOT / "cases" / f"{name}.toml")).case


def leaves(of: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if is_dataclass(of):
        for place in fields(of):
            yield from leaves(getattr(of, place.name), f"{path}.{place.name}")
    elif isinstance(of, tuple):
        for i, item in enumerate(of):
            yield from leaves(item, f"{path}.{i}")
    else:
        yield path, of


def alike(ours: Estimate, theirs: Estimate) -> None:
    for (path, one), (_, other) in zip(leaves(ours), leaves(theirs), strict=True):
        if one is None or isinstance(one, str):
            assert one == other, path
            continue
        one, other = np.atleast_1d(one), np.atleast_1d(other)
        assert one.shape == other.shape, path
        np.testing.assert_array_equal(one[..., :1], other[..., :1], err_msg=f"as written: {path}")
        np.testing.assert_allclose(one, other, rtol=1e-6, err_msg=path)


@LINUX
@pytest.mark.parametrize("name", ["cooler-shell", "crest-line", "valve-block"])
def test_both_halves_come_together(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(halves, "_may_fork", lambda: True)
    alike(halves.estimate_in_two(drawn(name)), estimate(drawn(name)))
    with pytest.raises(ChildProcessError):
        os.waitpid(-1, os.WNOHANG)  # no process is left behind


@LINUX
@pytest.mark.parametrize("fault", ["it fails", "it is killed", "it has no room", "there is none"])
def test_without_the_second_process_nothing_is_lost(fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    here = os.getpid()

    def failing(case: Case) -> Estimate:
        if os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL) if fault == "it is killed" else sys.exit("the copy")
        return estimate(case)

    def none() -> int:
        raise OSError("no more processes")

    monkeypatch.setattr(halves, "_may_fork", lambda: True)
    if fault == "it has no room":
        monkeypatch.setattr(halves, "ROOM", 1)
    elif fault == "there is none":
        monkeypatch.setattr(os, "fork", none)
    else:
        monkeypatch.setattr(halves, "estimate", failing)
    alike(halves.estimate_in_two(drawn()), estimate(drawn()))


def test_few_tries_stay_together(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(halves, "_may_fork", lambda: pytest.fail("asked for few"))
    case = read_file(ROOT / "cases" / "cooler-shell.toml")
    alike(halves.estimate_in_two(case), estimate(case))


@LINUX
def test_the_command_takes_a_second_process() -> None:
    """Once for each case with ranges, never for one as written; and its answers come out once."""
    code = ("import os, sys; forked = []; fork = os.fork\n"
            "os.fork = lambda: forked.append(1) or fork()\n"
            "from tui.command import main\n"
            "main(['estimate', *sys.argv[1:]]); print(len(forked), file=sys.stderr)")

    def forks(*words: str) -> tuple[int, int]:
        command = [sys.executable, "-c", code, *words]
        ended = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
        return int(ended.stderr.splitlines()[-1]), len(ended.stdout.splitlines())

    processors = len(os.sched_getaffinity(0))
    assert forks("cooler-shell", "tall-tank", "--json") == (2 if processors > 1 else 0, 2)
    assert forks("cooler-shell", "--json", "--as-written") == (0, 1)
