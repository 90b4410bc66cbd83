"""Saving a file so that a fault at any moment leaves either the old file or the new one, whole."""

from __future__ import annotations

import os
import stat
import tempfile
from collections.abc import Callable
from contextlib import suppress
from enum import Enum
from pathlib import Path

from fillcalc.case.disk import NotAFile, TooLarge, read_ordinary


class ChangedUnderneath(OSError):
    """The file on disk is no longer the one that was read, so it was left as it is."""


class NotWithoutConsent(OSError):
    """Saving would do more to the file than change its text, so it was left as it is."""


class Unchecked(Enum):
    """Stands for: whatever is there now may be replaced."""

    ANYTHING = "anything"


ANYTHING = Unchecked.ANYTHING


def save(path: str | os.PathLike[str], data: bytes, was: bytes | Unchecked | None = ANYTHING,
         agreed: bool = False) -> tuple[str, ...]:
    """Replace the file by `data` in one step, following a link; the words for what could not be kept of the file.

    Mode, owner, group and extended attributes (access lists among them) are those of the old file, as far as the
    system lets this user set them; what it does not is in the answer. `was` are the bytes that were read or saved
    last, None where there was no file; if anything else is there now, nothing is written and ChangedUnderneath is
    raised. A file that is read-only, belongs to another user or has other hard links raises NotWithoutConsent unless
    `agreed`. Raises OSError for every other fault; the file that was there is then still whole, and nothing else is
    left behind.
    """
    target = Path(os.path.realpath(path))
    before = _status_of(target)
    _check(target, was)
    if before is not None and not agreed:
        _ask_first(target, before)
    front, end = _name_while_new(target)
    handle, name = tempfile.mkstemp(prefix=front, suffix=end, dir=target.parent)
    new = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            lost = _make_like(file.fileno(), target, before)
            os.fsync(file.fileno())
        _check(target, was)
        if was is None:
            _appear(new, target)
        else:
            os.replace(new, target)
    except BaseException:
        with suppress(OSError):
            new.unlink()
        raise
    _settle(target.parent)
    return lost


def _status_of(target: Path) -> os.stat_result | None:
    """The status of the file that is there; None where there is none."""
    try:
        status = target.stat()
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(status.st_mode):
        raise NotAFile(f"{target.name} is no ordinary file")
    return status


def _ask_first(target: Path, status: os.stat_result) -> None:
    """Raise NotWithoutConsent where a new file at this path would be more than new text."""
    me = os.geteuid() if hasattr(os, "geteuid") else status.st_uid
    if me not in (0, status.st_uid):
        raise NotWithoutConsent(f"{target.name} belongs to another user; saving makes it yours")
    if not status.st_mode & stat.S_IWUSR:
        raise NotWithoutConsent(f"{target.name} is read-only")
    names = status.st_nlink - _names_left_behind(target, status) if status.st_nlink > 1 else 1
    if names > 1:
        raise NotWithoutConsent(f"{target.name} has {names} names (hard links); the others keep the old text")


def _names_left_behind(target: Path, status: os.stat_result) -> int:
    """How many names of the file were its own while it was new, and stayed because a save was killed."""
    front, end = _name_while_new(target)
    with os.scandir(target.parent) as entries:
        return sum(each.name.startswith(front) and each.name.endswith(end) and each.inode() == status.st_ino
                   for each in entries)


def _name_while_new(target: Path) -> tuple[str, str]:
    """How the name of the new file begins and ends until it takes the place of the old."""
    return f".{target.name[:100]}.", ".new"


def _make_like(handle: int, target: Path, before: os.stat_result | None) -> tuple[str, ...]:
    """Give the new file the owner, attributes and mode of the old; the words for what cannot be given."""
    if before is None:
        mask = os.umask(0)
        os.umask(mask)
        os.fchmod(handle, 0o666 & ~mask)
        return ()
    lost: list[str] = []
    now = os.fstat(handle)
    if now.st_uid != before.st_uid and not _done(lambda: os.fchown(handle, before.st_uid, -1)):
        lost.append("its owner")
    if now.st_gid != before.st_gid and not _done(lambda: os.fchown(handle, -1, before.st_gid)):
        lost.append("its group")
    lost += [f"its attribute {name}" for name in _attributes(target)
             if not _done(lambda name=name: os.setxattr(handle, name, os.getxattr(target, name)))]  # type: ignore[misc]
    os.fchmod(handle, stat.S_IMODE(before.st_mode))
    return tuple(lost)


def _attributes(target: Path) -> list[str]:
    """Names of the extended attributes, where the system has such."""
    try:
        return os.listxattr(target)
    except (OSError, AttributeError):
        return []


def _done(work: Callable[[], None]) -> bool:
    """Whether the system let it be done."""
    try:
        work()
    except OSError:
        return False
    return True


def _check(target: Path, was: bytes | Unchecked | None) -> None:
    """Raise ChangedUnderneath where something else is there than was read."""
    if isinstance(was, Unchecked):
        return
    try:
        now: bytes | None = read_ordinary(target, len(was or b""))
    except FileNotFoundError:
        now = None
    except TooLarge:
        now = b"" if was else b"more"
    if now != was:
        raise ChangedUnderneath(f"{target.name} has changed since it was read" if now is not None and was is not None
                                else f"{target.name} is there already" if was is None else f"{target.name} is gone")


def _appear(new: Path, target: Path) -> None:
    """Put a new file at a path that must still be empty."""
    try:
        os.link(new, target)
    except FileExistsError:
        raise ChangedUnderneath(f"{target.name} is there already") from None
    except OSError:
        os.replace(new, target)
        return
    new.unlink()


def _settle(folder: Path) -> None:
    """Have the folder's entry on disk too, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
