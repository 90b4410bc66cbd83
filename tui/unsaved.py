"""Work that was not saved: one small file for each running screen, in the person's own state folder.

The folder follows the platform: $XDG_STATE_HOME/fillcalc (else ~/.local/state/fillcalc), %LOCALAPPDATA%
on Windows, ~/Library/Application Support on a Mac. Nothing here is ever read as code.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import socket
import sys
import threading
import time
from dataclasses import asdict, dataclass
from pathlib import Path

MOST_BYTES = 4_000_000
"""A file of unsaved work larger than this was not written by this program."""


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


@dataclass(frozen=True)
class Draft:
    """Unsaved work as it lies on disk: the text, and the file it belongs to ("" when it has none)."""

    text: str
    path: str
    name: str
    process: int
    host: str
    time_s: float


class Desk:
    """The place of one running screen in the folder of unsaved work."""

    def __init__(self, folder: Path | None = None) -> None:
        self.folder = (folder or state_folder()) / "unsaved"
        self.file = self.folder / f"{os.getpid()}-{secrets.token_hex(4)}.json"
        # a signal may come in the middle of a write on the same thread, and its answer writes too, then ends
        self._one_at_a_time = threading.RLock()

    def write(self, text: str, path: Path | None, name: str) -> None:
        """Put the unsaved text on disk, whole or not at all; raises OSError."""
        draft = Draft(text, str(path or ""), name, os.getpid(), socket.gethostname(), time.time())
        with self._one_at_a_time:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            half = self.file.with_suffix(".part")
            with open(half, "w", encoding="utf-8", errors="surrogatepass") as out:
                json.dump(asdict(draft), out)
                out.flush()
                os.fsync(out.fileno())
            os.replace(half, self.file)

    def clear(self) -> None:
        """Nothing is unsaved any more."""
        with self._one_at_a_time:
            for file in (self.file, self.file.with_suffix(".part")):
                with contextlib.suppress(OSError):
                    file.unlink()

    def left_behind(self) -> list[tuple[Path, Draft]]:
        """Drafts of screens that are no longer running, newest first."""
        found = []
        for file in _files(self.folder):
            draft = _read(file)
            if draft is not None and file != self.file and not _running(draft):
                found.append((file, draft))
        return sorted(found, key=lambda item: -item[1].time_s)


def forget(file: Path) -> None:
    """Throw a draft away."""
    with contextlib.suppress(OSError):
        file.unlink()


def _files(folder: Path) -> list[Path]:
    try:
        return sorted(folder.glob("*.json"))
    except OSError:
        return []


def _read(file: Path) -> Draft | None:
    try:
        if file.stat().st_size > MOST_BYTES:
            return None
        table = json.loads(file.read_text(encoding="utf-8", errors="surrogatepass"))
        return Draft(str(table["text"]), str(table["path"]), str(table["name"]), int(table["process"]),
                     str(table["host"]), float(table["time_s"]))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def _running(draft: Draft) -> bool:
    """Whether the screen that wrote the draft may still be open."""
    if draft.host != socket.gethostname():
        return time.time() - draft.time_s < 86_400
    if draft.process == os.getpid() or draft.process <= 0:
        return False
    if sys.platform == "win32":  # no harmless way to ask there: an old draft is offered, a fresh one is not
        return time.time() - draft.time_s < 600
    try:
        os.kill(draft.process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
