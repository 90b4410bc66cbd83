"""Work that was not saved: one small file for each running screen, in the person's own state folder.

A screen holds a lock on its file for as long as it lives: a file without one was left behind. What cannot be read as
such a file is set aside under another name, never deleted; links are not followed.

The folder follows the platform: $XDG_STATE_HOME/fillcalc (else ~/.local/state/fillcalc), %LOCALAPPDATA%
on Windows, ~/Library/Application Support on a Mac. Nothing here is ever read as code.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import secrets
import socket
import stat
import sys
import threading
import time
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

if sys.platform != "win32":
    import fcntl

MOST_BYTES = 4_000_000
"""A file of unsaved work larger than this was not written by this program."""
LATEST_S = 32_503_680_000.0
"""The year 3000, s since the epoch: no work is later."""
FRESH_S = 600.0
"""Where files have no such locks, work as recent as this may be that of a screen still open."""
NO_FILE = "none"
"""Stands for the digest of a file where there was none."""


def state_folder() -> Path:
    """Where work in progress is kept for this person; not created here."""
    given = os.environ.get("XDG_STATE_HOME", "")
    if given and Path(given).is_absolute():
        return Path(given) / "fillcalc"
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home()) / "fillcalc" / "state"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "fillcalc"
    return Path.home() / ".local" / "state" / "fillcalc"


def private(folder: Path) -> Path:
    """The folder, made where it is missing, with no access for others; raises OSError where it is not one's own."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    status = folder.lstat()
    if not stat.S_ISDIR(status.st_mode):
        raise NotADirectoryError(20, "the folder of unsaved work is a link or a file", str(folder))
    if sys.platform != "win32":
        if status.st_uid != os.getuid():
            raise PermissionError(1, "the folder of unsaved work belongs to somebody else", str(folder))
        if status.st_mode & 0o077:
            folder.chmod(0o700)
    return folder


def digest(data: bytes | None) -> str:
    """Stands for the content of a file; `NO_FILE` where there is none."""
    return NO_FILE if data is None else hashlib.sha256(data).hexdigest()


@dataclass(frozen=True)
class Draft:
    """Unsaved work as it lies on disk: the text, and the file it belongs to ("" when it has none)."""

    text: str
    path: str
    name: str
    process: int
    host: str
    time_s: float
    base: str = ""
    """The digest of the file that the text was begun on; "" where that is not known."""
    reading: str = ""
    """A reading that was typed in part and not taken."""

    @property
    def elsewhere(self) -> str:
        """The machine it was written on; "" for this one."""
        return "" if self.host == socket.gethostname() else self.host


class Drafts:
    """The folder of unsaved work, and in it the file of one running screen."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = (folder or state_folder()) / "unsaved"
        self.file = self.folder / f"{os.getpid()}-{secrets.token_hex(4)}.json"
        self.aside: list[Path] = []
        """Files that could not be read as unsaved work and were given another name."""
        self._held: int | None = None
        """The open file, with its lock."""
        # a signal may come in the middle of a write on the same thread, and its answer writes too, then ends
        self._one_at_a_time = threading.RLock()

    def write(self, text: str, path: Path | None, name: str, base: str = "", reading: str = "") -> None:
        """Put the unsaved text on disk, whole or not at all; raises OSError."""
        draft = Draft(text, str(path.absolute()) if path else "", name, os.getpid(), socket.gethostname(), time.time(),
                      base, reading)
        data = json.dumps(asdict(draft)).encode("utf-8", "surrogatepass")
        with self._one_at_a_time:
            private(self.folder)
            half = self.file.with_suffix(".part")
            handle = os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_NOFOLLOW", 0), 0o600)
            try:
                with open(handle, "wb", closefd=False) as out:
                    out.write(data)
                os.fsync(handle)
                if sys.platform == "win32":
                    os.close(handle)
                else:
                    with contextlib.suppress(OSError):  # a disk without locks
                        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                os.replace(half, self.file)
            except BaseException:
                with contextlib.suppress(OSError):
                    os.close(handle)
                with contextlib.suppress(OSError):
                    half.unlink()
                raise
            self.release()
            self._held = None if sys.platform == "win32" else handle

    def clear(self) -> None:
        """Nothing is unsaved any more."""
        with self._one_at_a_time:
            for file in (self.file, self.file.with_suffix(".part")):
                with contextlib.suppress(OSError):
                    file.unlink()
            self.release()

    def release(self) -> None:
        """Leave what is on disk to the next start: this screen has done with it."""
        held, self._held = self._held, None
        if held is not None:
            with contextlib.suppress(OSError):
                os.close(held)

    def left_behind(self) -> list[tuple[Path, Draft]]:
        """Drafts that no screen holds, newest first; what is no draft is set aside, see `aside`."""
        found = []
        self.aside = []
        for file in _files(self.folder):
            if file == self.file:
                continue
            draft = _read(file)
            if isinstance(draft, Draft):
                found.append((file, draft))
            elif draft is Unusable and (kept := _set_aside(file)) is not None:
                self.aside.append(kept)
        return sorted(found, key=lambda item: -item[1].time_s)


def forget(file: Path) -> None:
    """Throw a draft away."""
    with contextlib.suppress(OSError):
        file.unlink()


def _files(folder: Path) -> list[Path]:
    """What may be drafts: ordinary files of one's own in a folder of one's own."""
    try:
        if not stat.S_ISDIR(folder.lstat().st_mode):
            return []
        with os.scandir(folder) as entries:
            mine = [entry for entry in entries if entry.name.endswith(".json") and _mine(entry.stat(
                follow_symlinks=False))]
        return sorted(folder / entry.name for entry in mine)
    except OSError:
        return []


def _mine(status: os.stat_result) -> bool:
    return stat.S_ISREG(status.st_mode) and (sys.platform == "win32" or status.st_uid == os.getuid())


class Unusable:
    """Stands for a file that is no draft."""


def _read(file: Path) -> Draft | type[Unusable] | None:
    """The draft; Unusable where the file is none; None where a screen still holds it or it cannot be opened now."""
    try:
        handle = os.open(file, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except PermissionError:
        return Unusable
    except OSError:
        return None
    try:
        with open(handle, "rb") as opened:
            if not _mine(os.fstat(opened.fileno())):
                return None
            if sys.platform != "win32":
                try:
                    fcntl.flock(opened, fcntl.LOCK_SH | fcntl.LOCK_NB)
                except BlockingIOError:
                    return None
                except OSError:  # a disk without locks
                    pass
            data = opened.read(MOST_BYTES + 1)
    except OSError:
        return None
    draft = _draft(data)
    if sys.platform == "win32" and isinstance(draft, Draft) and time.time() - draft.time_s < FRESH_S:
        return None
    return draft or Unusable


def _draft(data: bytes) -> Draft | None:
    """The draft in these bytes, where every part of it is what it must be."""
    if len(data) > MOST_BYTES:
        return None
    try:
        table: Any = json.loads(data.decode("utf-8", "surrogatepass"))
        words = [table[key] for key in ("text", "path", "name", "host")]
        words += [table.get(key, "") for key in ("base", "reading")]
        process, time_s = table["process"], table["time_s"]
    except (ValueError, KeyError, TypeError, AttributeError, IndexError, RecursionError, MemoryError):
        return None
    numbers = all(type(number) in (int, float) for number in (process, time_s))
    if not numbers or not all(isinstance(word, str) for word in words) or not 0.0 <= time_s <= LATEST_S:
        return None
    text, path, name, host, base, reading = (word.encode("utf-8", "surrogatepass").decode("utf-8", "replace")
                                             for word in words)
    if "\0" in path or not Path(path).is_absolute():
        path = ""  # it would lead to another file from another folder
    return Draft(text, path, name, int(process) if -1e15 < process < 1e15 else 0, host, float(time_s), base,
                 reading)


def _set_aside(file: Path) -> Path | None:
    """Give a file that is no draft another name, one that is free; None where that cannot be."""
    aside = file.with_name(f"{file.stem[:150]}-{secrets.token_hex(4)}.unreadable")
    try:
        os.rename(file, aside)
    except OSError:
        return None
    return aside
