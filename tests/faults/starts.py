"""Starts among thousands of pieces of unsaved work: sound, damaged, foreign, planted, each with a file it names.

None may hold up a start, none may be lost, and no file that one names may be written over without a question.
"""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
import random
import socket
import stat
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from tests.faults.held import ENTER, SHELL, terminal
from tests.faults.judge import Verdict, guarded
from tui.state.drafts import NO_FILE, Draft, Drafts, digest
from tui.state.opening import taken_up

NUMBER = 2000
ON_DISK = b"what somebody saved\n"
MOST_S = 2.0
"""Seconds of the processor in which all of them are looked through."""
STARTED_S = 8.0
"""Seconds of the processor in which a screen among them asks its first question."""


@dataclass(frozen=True)
class Planted:
    """A piece of unsaved work as it was put there, and the file it names."""

    file: Path
    case: Path | None
    sound: bool
    """Whether it must be offered."""
    may_save: bool = False
    """Whether saving it needs no question: its file is as it was, or is not there yet."""


def _draft(case: Path, dice: random.Random, **other: object) -> bytes:
    found = {"text": f"{SHELL}# {dice.random()}\n", "path": str(case), "name": case.name,
             "process": dice.randrange(1, 99999), "host": socket.gethostname(), "time_s": 1.7e9 + dice.uniform(0, 1e8),
             "base": digest(ON_DISK)}
    return json.dumps({**found, **other}).encode("utf-8", "surrogatepass")


def _link(file: Path, case: Path) -> None:
    file.symlink_to(case)


SOUND: dict[str, dict[str, object]] = {
    "its file as it was": {}, "its file changed": {"base": "0" * 64}, "no file then": {"base": NO_FILE},
    "an old draft, without a base": {"base": ""}, "another machine": {"host": "elsewhere"},
    "a process that runs": {"process": os.getpid()}, "process 1": {"process": 1}, "a process of -5": {"process": -5},
    "no path": {"path": ""}, "a path from nowhere": {"path": "case.toml"},
    "a path upwards": {"path": "../../etc/passwd"},
    "a path with a null": {"path": "/tmp/a\0b"}, "a device": {"path": "/dev/zero"}, "a folder": {"path": "/"},
    "somebody's file": {"path": "/etc/hostname"},
    "a hostile name": {"name": "\x1b[2J\u202e" * 20, "host": "\x1b]0;x\x07"},
    "no text": {"text": ""}, "a text that is no case": {"text": "\x00\ud800 = ["},
    "a large text": {"text": "# x\n" * 60_000},
    "the time 0": {"time_s": 0}}
"""What a draft says other than usual; each of them can be taken up."""
DAMAGED: dict[str, Callable[[bytes, random.Random], bytes]] = {
    "cut": lambda data, dice: data[:dice.randrange(len(data))], "empty": lambda data, dice: b"",
    "noise": lambda data, dice: dice.randbytes(300), "a list": lambda data, dice: b"[]",
    "NaN": lambda data, dice: data.replace(b'"time_s": ', b'"time_s": NaN, "x": '),
    "Infinity": lambda data, dice: data.replace(b'"time_s": ', b'"time_s": Infinity, "x": '),
    "1e300": lambda data, dice: data.replace(b'"time_s": ', b'"time_s": 1e300, "x": '),
    "a number for a text": lambda data, dice: data.replace(b'"name": ', b'"name": 5, "x": '),
    "deep": lambda data, dice: b"[" * 100_000, "huge": lambda data, dice: data + b" " * 4_100_000,
    "a flag for a number": lambda data, dice: data.replace(b'"process": ', b'"process": true, "x": ')}
SPECIAL: dict[str, Callable[[Path, Path], None]] = {
    "a link": _link, "a pipe": lambda file, case: os.mkfifo(file), "a folder": lambda file, case: file.mkdir(),
    "a link to nowhere": lambda file, case: file.symlink_to("nowhere.json"),
    "a link in a circle": lambda file, case: file.symlink_to(file.name)}


def planted(folder: Path, number: int, seed: int = 2024) -> list[Planted]:
    """So many of them in the folder of unsaved work below `folder`, each with a file beside it that it may name."""
    unsaved, cases = folder / "fillcalc" / "unsaved", folder / "cases"
    unsaved.mkdir(parents=True, mode=0o700)
    cases.mkdir()
    made = []
    for place in range(number):
        dice = random.Random(f"{seed}:{place}")
        file, case = unsaved / f"{place}-{dice.randrange(9999)}.json", cases / f"case-{place}.toml"
        kind = place % 4
        if kind == 2:
            name = list(DAMAGED)[place // 4 % len(DAMAGED)]
            file.write_bytes(DAMAGED[name](_draft(case, dice), dice) if name != "huge" or place < 200 else b"{}")
            made.append(Planted(file, case, sound=False))
        elif kind == 3 and place % 8 == 7:
            SPECIAL[list(SPECIAL)[place // 8 % len(SPECIAL)]](file, case)
            made.append(Planted(file, case, sound=False))
        else:
            name = list(SOUND)[dice.randrange(len(SOUND))]
            there = name != "no file then" or dice.random() < 0.5
            if there:
                case.write_bytes(ON_DISK)
            file.write_bytes(_draft(case, dice, **SOUND[name]))
            own = "path" not in SOUND[name]
            base = SOUND[name].get("base", digest(ON_DISK))
            made.append(Planted(file, case, True, own and base == digest(ON_DISK if there else None)))
    return made


def contents(folder: Path) -> Counter[str]:
    """What lies in a folder, whatever it is called there."""
    found: Counter[str] = Counter()
    for file in folder.iterdir():
        status = file.lstat()
        found[hashlib.sha256(file.read_bytes()).hexdigest() if stat.S_ISREG(status.st_mode) else
              f"{file.name} {stat.S_IFMT(status.st_mode)}"] += 1
    return found


def looked_through(folder: Path, number: int = NUMBER) -> Iterator[list[str]]:
    """All at once, as a start does it; then each is taken up and saved: the faults of each."""
    made = planted(folder, number)
    unsaved = folder / "fillcalc" / "unsaved"
    before = contents(unsaved)
    held = made[0].file.open("rb")
    fcntl.flock(held, fcntl.LOCK_EX)  # a screen that lives
    began = time.process_time()
    found = dict(Drafts(unsaved.parent).left_behind())
    took = time.process_time() - began
    held.close()
    faults = [] if took < MOST_S + 1e-3 * number else [f"looking through them takes {took:.1f} s"]
    faults += ["one of a living screen is offered"] if made[0].file in found else []
    faults += [f"{sum((before - contents(unsaved)).values())} are lost"] if before - contents(unsaved) else []
    for one in made[1:]:
        if one.sound != (one.file in found):
            faults.append(f"{one.file.name} is {'not ' if one.sound else ''}offered")
        yield faults + (_taken_up(found[one.file], one) if one.file in found else [])
        faults = []


def _taken_up(draft: Draft, one: Planted) -> list[str]:
    """It can be taken up, and saving it writes over nothing that it was not begun on."""
    def work(verdict: Verdict) -> None:
        session = taken_up(draft)
        was = _bytes_of(session.path)
        with suppress(OSError, ValueError):
            session.drafts = None
            session.save()
            if not one.may_save and was != _bytes_of(session.path):
                verdict.faults.append(f"{draft.path!r} is written over without a question")

    return guarded(work).faults


def _bytes_of(path: Path | None) -> bytes | None:
    return path.read_bytes() if path is not None and path.is_file() else None


def started(action: bytes, folder: Path) -> list[str]:
    """A screen started among all of them, and left again: it asks, none is lost, no file is written over."""
    made = planted(folder / "state", NUMBER)
    unsaved = folder / "state" / "fillcalc" / "unsaved"
    before, cases = contents(unsaved), contents(folder / "state" / "cases")
    with terminal(folder, fresh=True) as here:
        if not here.waits_for(b"were not saved"):
            return [f"does not ask about unsaved work: {here.seen[-300:]!r}"]
        faults = [] if here.worked_s() < STARTED_S else [f"asks after {here.worked_s():.1f} s of work"]
        here.read(1.0)
        for key in (action, b"\x1b", b"\x11"):
            here.send(key)
            here.read(1.5)
        if here.ended() is None and b"Throw" in here.seen:
            here.send(b"k")  # kept aside for the next start
        faults += here.faults_of_the_end(0)
    lost = sum((before - contents(unsaved)).values())
    texts = Counter(draft.text for _, draft in Drafts(unsaved.parent).left_behind())
    wanted = sum(one.sound for one in made)
    faults += [f"{lost} are lost"] if lost > 1 or sum(texts.values()) < wanted else []  # one taken up is kept anew
    return faults + (["a file is written over"] if cases - contents(folder / "state" / "cases") else [])


STARTS: dict[str, Callable[[Path], list[str]]] = {
    name: partial(started, keys) for name, keys in {
        "leave them": b"\x1b", "leave them for later": b"\x1b[F\r", "take up the newest": ENTER * 2,
        "take up another": b"\x1b[B\x1b[B\r\r", "quit at once": b"\x11", "type": b"24 bar\r"}.items()}
