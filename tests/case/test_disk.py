"""What stands where a file was: a pipe, a terminal, a device, a gigabyte. Nothing waits, nothing grows."""

from __future__ import annotations

import os
import threading
import time
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest

from fillcalc.case.disk import NotAFile, TooLarge, read_ordinary
from fillcalc.case.read import CaseProblems, read_file
from fillcalc.case.save import ChangedUnderneath, NotWithoutConsent, save
from tests.case.test_read import BASE
from tui.command.main import main
from tui.state.page_file import write_page
from tui.state.session import Session

SECONDS = 2.0


def pipe(place: Path) -> None:
    os.mkfifo(place)


def terminal(place: Path) -> None:
    """The name of a terminal that nobody types on; it stays open as long as the test runs."""
    place.symlink_to(os.ttyname(os.openpty()[1]))


def endless(place: Path) -> None:
    place.symlink_to("/dev/zero")


def gigabyte(place: Path) -> None:
    with open(place, "wb") as file:
        file.truncate(10**9)


def folder(place: Path) -> None:
    place.mkdir()


STRANGE: dict[str, Callable[[Path], None]] = {
    "a pipe": pipe, "a terminal": terminal, "a device without end": endless, "a gigabyte": gigabyte, "a folder": folder}


@pytest.fixture(params=STRANGE)
def strange(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    place = tmp_path / "job.toml"
    STRANGE[request.param](place)
    return place


def within_bounds(work: Callable[[], object]) -> object:
    """What the work gives; it must end soon and take little room."""
    given: list[object] = []
    tracemalloc.start()
    try:
        thread = threading.Thread(target=lambda: given.append(work()), daemon=True)
        start = time.perf_counter()
        thread.start()
        thread.join(SECONDS)
        assert not thread.is_alive(), "it waits"
        assert time.perf_counter() - start < SECONDS
        assert tracemalloc.get_traced_memory()[1] < 30e6
    finally:
        tracemalloc.stop()
    return given[0]


def raised(work: Callable[[], object]) -> Callable[[], BaseException | None]:
    def run() -> BaseException | None:
        try:
            work()
        except Exception as error:
            return error
        return None
    return run


def test_reading_ends(strange: Path) -> None:
    error = within_bounds(raised(lambda: read_ordinary(strange, 100_000)))
    assert isinstance(error, (NotAFile, TooLarge)) and str(error).startswith("is ")
    error = within_bounds(raised(lambda: read_file(strange)))
    assert isinstance(error, CaseProblems) and str(error.problems[0]).startswith("job.toml")


def test_the_screen_opens_and_looks_again_without_waiting(strange: Path) -> None:
    assert isinstance(within_bounds(raised(lambda: Session.open(strange))), (NotAFile, TooLarge))
    session = Session(BASE, strange, "job.toml", on_disk=BASE.encode())
    assert within_bounds(session.changed_on_disk) is True
    error = within_bounds(raised(session.save))
    assert isinstance(error, OSError) and str(error)


def test_a_save_that_compares_ends(strange: Path) -> None:
    error = within_bounds(raised(lambda: save(strange, b"new", b"old")))
    assert isinstance(error, (NotAFile, ChangedUnderneath))


def test_a_page_is_not_put_there(strange: Path) -> None:
    place = strange.rename(strange.with_suffix(".html"))
    words, written = within_bounds(lambda: write_page(str(place), [], "metric"))  # type: ignore[misc]
    assert not written and str(place) in words


@pytest.mark.parametrize("command", ["estimate", "check", "choices", "visit", "readings", "page", "new"])
def test_every_command_refuses_in_a_sentence(
    strange: Path, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    more = ["-o", str(strange.parent / "x.html")] if command == "page" else []
    assert within_bounds(lambda: main([command, str(strange), *more])) == 1
    text = capsys.readouterr()
    assert "job.toml" in text.out + text.err and "Traceback" not in text.err


def test_a_kit_that_is_none_is_refused(strange: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "case.toml").write_text(BASE)
    assert within_bounds(lambda: main(["choices", str(tmp_path / "case.toml"), "--kit", str(strange)])) == 1
    assert "job.toml" in capsys.readouterr().err


def test_what_is_opened_is_what_was_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that becomes a pipe between the look and the opening."""
    place = tmp_path / "job.toml"
    place.write_text(BASE)
    look = os.stat(place)
    place.unlink()
    os.mkfifo(place)
    monkeypatch.setattr(os, "stat", lambda *_, **__: look)
    assert isinstance(within_bounds(raised(lambda: read_ordinary(place, 1000))), NotAFile)


def test_a_limit_is_the_last_size_that_is_read(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_bytes(b"x" * 1000)
    assert len(read_ordinary(tmp_path / "job.toml", 1000)) == 1000
    with pytest.raises(TooLarge):
        read_ordinary(tmp_path / "job.toml", 999)


def test_consent_is_asked_before_anything_is_written(tmp_path: Path) -> None:
    place = tmp_path / "job.toml"
    place.write_bytes(b"old")
    place.chmod(0o444)
    before = place.stat()
    with pytest.raises(NotWithoutConsent, match="read-only"):
        Session("new", place, "job.toml", on_disk=b"old").save()
    assert place.stat() == before and os.listdir(tmp_path) == ["job.toml"]
    session = Session("new", place, "job.toml", on_disk=b"old")
    assert session.save(agreed=True) == () and session.saved
    assert place.read_bytes() == b"new" and place.stat().st_mode & 0o777 == 0o444
