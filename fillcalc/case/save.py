"""Saving a file so that a fault at any moment leaves either the old file or the new one, whole."""

from __future__ import annotations

import os
import stat
import tempfile
from contextlib import suppress
from enum import Enum
from pathlib import Path


class ChangedUnderneath(OSError):
    """The file on disk is no longer the one that was read, so it was left as it is."""


class NotAFile(OSError):
    """The place is a folder, a pipe or a device."""


class Unchecked(Enum):
    """Stands for: whatever is there now may be replaced."""

    ANYTHING = "anything"


ANYTHING = Unchecked.ANYTHING


def save(path: str | os.PathLike[str], data: bytes, was: bytes | Unchecked | None = ANYTHING) -> None:
    """Replace the file by `data` in one step, following a link and keeping the file's mode.

    `was` are the bytes that were read or saved last, None where there was no file; if anything else is
    there now, nothing is written and ChangedUnderneath is raised. Raises OSError for every other fault;
    the file that was there is then still whole, and nothing else is left behind.
    """
    place = Path(os.path.realpath(path))
    mode = _mode_of(place)
    _check(place, was)
    handle, name = tempfile.mkstemp(prefix=f".{place.name[:100]}.", suffix=".new", dir=place.parent)
    new = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fchmod(file.fileno(), mode)
            os.fsync(file.fileno())
        _check(place, was)
        if was is None:
            _appear(new, place)
        else:
            os.replace(new, place)
    except BaseException:
        with suppress(OSError):
            new.unlink()
        raise
    _settle(place.parent)


def _mode_of(place: Path) -> int:
    """The mode the file shall have: its own, or that of any new file."""
    try:
        status = place.stat()
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask
    if not stat.S_ISREG(status.st_mode):
        raise NotAFile(f"{place.name} is no ordinary file")
    return stat.S_IMODE(status.st_mode)


def _check(place: Path, was: bytes | Unchecked | None) -> None:
    if was is ANYTHING:
        return
    try:
        now: bytes | None = place.read_bytes()
    except FileNotFoundError:
        now = None
    if now != was:
        raise ChangedUnderneath(f"{place.name} has changed since it was read" if now is not None and was is not None
                                else f"{place.name} is there already" if was is None else f"{place.name} is gone")


def _appear(new: Path, place: Path) -> None:
    """Put a new file in a place that must still be empty."""
    try:
        os.link(new, place)
    except FileExistsError:
        raise ChangedUnderneath(f"{place.name} is there already") from None
    except OSError:
        os.replace(new, place)
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
