"""A save leaves the old file or the new one, whole, whatever happens on the way."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from fillcalc.case.save import ChangedUnderneath, NotAFile, save

OLD, NEW = b"old case\n" * 100, b"new case\n" * 200


@pytest.fixture
def place(tmp_path: Path) -> Path:
    file = tmp_path / "job.toml"
    file.write_bytes(OLD)
    return file


def test_replaces_and_keeps_the_mode(place: Path) -> None:
    place.chmod(0o640)
    save(place, NEW, OLD)
    assert place.read_bytes() == NEW
    assert place.stat().st_mode & 0o777 == 0o640
    assert os.listdir(place.parent) == ["job.toml"]


def test_a_new_file_gets_the_usual_mode(tmp_path: Path) -> None:
    save(tmp_path / "new.toml", NEW, None)
    (tmp_path / "usual").write_bytes(b"")
    assert (tmp_path / "new.toml").read_bytes() == NEW
    assert (tmp_path / "new.toml").stat().st_mode == (tmp_path / "usual").stat().st_mode


def test_follows_a_link(place: Path) -> None:
    folder = place.parent / "links"
    folder.mkdir()
    link = folder / "link.toml"
    link.symlink_to("../job.toml")
    save(link, NEW, OLD)
    assert link.is_symlink() and place.read_bytes() == NEW
    assert os.listdir(folder) == ["link.toml"]


@pytest.mark.parametrize("was", [b"what was read", None])
def test_refuses_a_file_that_changed_underneath(place: Path, was: bytes | None) -> None:
    with pytest.raises(ChangedUnderneath):
        save(place, NEW, was)
    assert place.read_bytes() == OLD
    assert os.listdir(place.parent) == ["job.toml"]
    save(place, NEW)
    assert place.read_bytes() == NEW


def test_refuses_a_file_that_is_gone(tmp_path: Path) -> None:
    with pytest.raises(ChangedUnderneath):
        save(tmp_path / "gone.toml", NEW, OLD)
    assert not list(tmp_path.iterdir())


def test_a_change_while_writing_is_seen(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    fsync = os.fsync

    def meddle(handle: int) -> None:
        place.write_bytes(b"another hand")
        fsync(handle)

    monkeypatch.setattr(os, "fsync", meddle)
    with pytest.raises(ChangedUnderneath):
        save(place, NEW, OLD)
    assert place.read_bytes() == b"another hand"


def test_a_file_that_appears_while_writing_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    link = os.link

    def late(source: Any, target: Any) -> None:
        Path(target).write_bytes(b"another hand")
        link(source, target)

    monkeypatch.setattr(os, "link", late)
    with pytest.raises(ChangedUnderneath):
        save(tmp_path / "job.toml", NEW, None)
    assert (tmp_path / "job.toml").read_bytes() == b"another hand"
    assert os.listdir(tmp_path) == ["job.toml"]


class Killed(BaseException):
    """The process ends here."""


STEPS = ("fchmod", "fsync", "replace")


@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("fault", [OSError(errno.ENOSPC, "No space left on device"), Killed()])
def test_a_fault_at_any_step_leaves_the_old_file(
    place: Path, monkeypatch: pytest.MonkeyPatch, step: str, fault: BaseException
) -> None:
    def fail(*_: Any, **__: Any) -> None:
        raise fault

    monkeypatch.setattr(os, step, fail)
    with pytest.raises(type(fault)):
        save(place, NEW, OLD)
    assert place.read_bytes() == OLD
    assert os.listdir(place.parent) == ["job.toml"]


@pytest.mark.parametrize("step", STEPS)
def test_a_real_kill_at_any_step_leaves_a_whole_file(place: Path, step: str) -> None:
    child = os.fork()
    if child == 0:
        setattr(os, step, lambda *_, **__: os._exit(9))
        save(place, NEW, OLD)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    assert os.WEXITSTATUS(status) == 9
    assert place.read_bytes() == OLD


def test_a_full_disk(place: Path) -> None:
    if not os.path.exists("/dev/full"):
        pytest.skip("no /dev/full here")
    with pytest.raises(NotAFile):
        save("/dev/full", NEW)


def test_folders_and_pipes_are_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for target in (tmp_path, tmp_path / "pipe"):
        with pytest.raises(OSError):
            save(target, NEW)
    with pytest.raises(OSError):
        save(tmp_path / "no" / "folder.toml", NEW)
