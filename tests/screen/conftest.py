"""Every test has a state folder and a terminal of its own; the answers to one text are worked out once for all."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from fillcalc.case.own import NO_OWN
from tui.state import session
from tui.state.session import Answered, Request


def once(how: Callable[[Request], Answered | None]) -> Callable[[Request], Answered | None]:
    """The same answers, worked out once for each text; nobody changes what was answered."""
    of_text = cache(lambda text, name, units: how(Request(0, text, name, units)))

    def answered(request: Request) -> Answered | None:
        if request.own != NO_OWN:
            return how(request)
        found = of_text(request.text, request.name, request.units)
        return found and replace(found, number=request.number)

    return answered


LOOK_S = 0.005
"""So often it is looked whether the screen has come to rest after a key; by itself that driver waits 0.02 s."""
WORK_OUT, WITH_RANGES = once(session.work_out), once(session.with_ranges)


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("textual._wait.SLEEP_GRANULARITY", LOOK_S)
    monkeypatch.setattr("textual._wait.SLEEP_IDLE", LOOK_S / 20.0)
    monkeypatch.setattr("tui.state.workers.work_out", WORK_OUT)
    monkeypatch.setattr("tui.state.workers.with_ranges", WITH_RANGES)
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.delenv("COLORFGBG", raising=False)
    (tmp_path / "work").mkdir()
    monkeypatch.chdir(tmp_path / "work")
