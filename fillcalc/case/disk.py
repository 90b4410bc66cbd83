"""Reading what lies on disk: an ordinary file of limited size, or an error; never a wait, never without end."""

from __future__ import annotations

import os
import stat


class NotAFile(OSError):
    """The place is a folder, a pipe, a terminal or a device."""


class TooLarge(OSError):
    """The file is larger than anything of its kind."""


def read_ordinary(path: str | os.PathLike[str], most: int) -> bytes:
    """The bytes of an ordinary file of at most so many; a link is followed.

    A pipe that nobody writes to is not waited for, a device is not read. Raises NotAFile, TooLarge and every other
    OSError, ValueError for what is no file name.
    """
    _see_that_it_is_ordinary(os.stat(path))  # a device may act on being opened
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0)
                     | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0))
    with os.fdopen(handle, "rb") as file:
        status = os.fstat(handle)
        _see_that_it_is_ordinary(status)  # what stood there may be another by now
        data = file.read(most + 1) if status.st_size <= most else b""
    if max(len(data), status.st_size) > most:
        raise TooLarge(f"is larger than {most // 1000} kB")
    return data


def _see_that_it_is_ordinary(status: os.stat_result) -> None:
    if not stat.S_ISREG(status.st_mode):
        raise NotAFile("is a folder" if stat.S_ISDIR(status.st_mode) else "is no ordinary file")
