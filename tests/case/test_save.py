"""A save leaves the old file or the new one, whole, whatever happens on the way."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import Any

import pytest

from fillcalc.case import save as saving
from fillcalc.case.save import ChangedUnderneath, NotAFile, NotWithoutConsent, save

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


def test_a_read_only_file_is_replaced_only_with_consent(place: Path) -> None:
    place.chmod(0o400)
    with pytest.raises(NotWithoutConsent, match=r"job\.toml is read-only"):
        save(place, NEW, OLD)
    assert place.read_bytes() == OLD
    assert save(place, NEW, OLD, agreed=True) == ()
    assert place.read_bytes() == NEW and place.stat().st_mode & 0o777 == 0o400


def test_a_hard_link_is_broken_only_with_consent(place: Path) -> None:
    other = place.with_name("other.toml")
    other.hardlink_to(place)
    with pytest.raises(NotWithoutConsent, match=r"2 names \(hard links\)"):
        save(place, NEW, OLD)
    assert place.samefile(other) and other.read_bytes() == OLD
    save(place, NEW, OLD, agreed=True)
    assert place.read_bytes() == NEW and other.read_bytes() == OLD


def test_a_change_underneath_is_told_before_consent_is_asked_for(place: Path) -> None:
    place.chmod(0o400)
    with pytest.raises(ChangedUnderneath):
        save(place, NEW, b"what was read", agreed=True)
    with pytest.raises(ChangedUnderneath):
        save(place, NEW, b"what was read")


def test_attributes_are_kept(place: Path) -> None:
    try:
        os.setxattr(place, "user.origin", b"a visit in spring")
    except OSError:  # a disk without attributes has none to lose
        assert save(place, NEW, OLD) == ()
        return
    assert save(place, NEW, OLD) == ()
    assert os.getxattr(place, "user.origin") == b"a visit in spring"


def test_what_cannot_be_kept_is_told(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: Any, **__: Any) -> None:
        raise PermissionError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "listxattr", lambda _: ["user.origin"])
    monkeypatch.setattr(os, "getxattr", lambda *_: b"x")
    monkeypatch.setattr(os, "setxattr", refuse)
    monkeypatch.setattr(os, "fchown", refuse)
    status = place.stat()
    foreign = os.stat_result((*status[:4], status.st_uid + 1, status.st_gid + 1, *status[6:]))
    assert saving._make_like(os.open(place, os.O_RDWR), place, foreign) == (
        "its owner", "its group", "its attribute user.origin")
    assert save(place, NEW, OLD) == ("its attribute user.origin",)
    assert place.read_bytes() == NEW


OTHER = 12_345
AS_ROOT = pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="only root gives files away")


@AS_ROOT
def test_root_keeps_the_owner_and_group(place: Path) -> None:
    place.chmod(0o2640)
    os.chown(place, OTHER, OTHER + 1)
    place.chmod(0o2640)
    assert save(place, NEW, OLD) == ()
    status = place.stat()
    assert (status.st_uid, status.st_gid, status.st_mode & 0o7777) == (OTHER, OTHER + 1, 0o2640)
    assert place.read_bytes() == NEW


@AS_ROOT
def test_another_persons_file_becomes_ones_own_only_with_consent(tmp_path: Path) -> None:
    """As a person who may write in the folder and to the file, but does not own it."""
    folder = tmp_path / "shared"
    folder.mkdir()
    folder.chmod(0o777)
    for above in (tmp_path, *tmp_path.parents):
        if above.stat().st_uid == 0 and not above.stat().st_mode & 0o001:
            above.chmod(above.stat().st_mode | 0o011)
    place = folder / "job.toml"
    place.write_bytes(OLD)
    place.chmod(0o666)
    for agreed, wanted, holds, owner in ((False, 3, OLD, 0), (True, 4, NEW, OTHER)):
        child = os.fork()
        if child == 0:
            code = 9
            try:
                os.setgid(OTHER)
                os.setuid(OTHER)
                code = 4 if save(place, NEW, OLD, agreed) == ("its owner", "its group") else 5
            except NotWithoutConsent as error:
                code = 3 if "another user" in str(error) else 6
            finally:
                os._exit(code)
        assert os.WEXITSTATUS(os.waitpid(child, 0)[1]) == wanted
        assert place.read_bytes() == holds and place.stat().st_uid == owner
        assert os.listdir(folder) == ["job.toml"]


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
