"""Everything that was tried against the files, the disk, the terminal and the command, counted in a table.

    python -m tests.faults            some of each kind, evenly: eight to ten minutes on two slow cores
    python -m tests.faults --all      all of it, tens of thousands of trials: an hour
    python -m tests.faults --tenth    every tenth of all the files, and of what is tried in terminals
    python -m tests.faults files      some groups of: files, numbers, beside, saves, commands, terminals, held, bytes,
                                      signals, moments, starts
    python -m tests.faults files --kind swapped      the files of one kind, by a word of its name
"""

from __future__ import annotations

import argparse
import math
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from importlib import import_module
from itertools import islice
from pathlib import Path
from typing import Any

from tests.faults import beside, commands, damage, held, saves, starts, terminals
from tests.faults.judge import Verdict, judge
from tests.model.random_cases import differences

SEED = 2024
BATCH = 40
RANGED = 40
"""Every so manyeth file is answered with low, likely and high too."""


SOME = 120
"""Files of each family, and trials of each kind beside them, where not all are asked for."""
AT_ONCE = 4
"""Terminals for each processor; most of their time is waiting."""
DRAWN = 12
"""Cases whose every number is worked out a second way, some seconds each."""


@dataclass
class Count:
    """What came of one kind of trial."""

    tried: int = 0
    read: int | None = None
    faults: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Asked:
    """Every so manyeth trial, or, with none said, some of each kind, evenly; of the kinds with this in their name."""

    step: int | None = None
    kind: str = ""

    def every(self, some: int = 1) -> int:
        """Every so manyeth; `some` where nothing is said."""
        return self.step or some

    def of(self, made: Iterable[Any]) -> list[tuple[int, Any]]:
        """The trials that are asked for, each with its number among all."""
        trials = list(enumerate(made))
        return trials[::self.every(math.ceil(len(trials) / SOME) or 1)]


SAMPLE = Asked()


def main() -> int:
    """Try everything and print the table; 1 where a fault was seen."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults", description=__doc__)
    parser.add_argument("groups", nargs="*", help=", ".join(GROUPS))
    parser.add_argument("--all", action="store_true", help="every trial there is")
    parser.add_argument("--tenth", action="store_true", help="every tenth of them")
    parser.add_argument("--kind", default="", help="only the files whose kind has this in its name")
    asked = parser.parse_args()
    started, faults = time.monotonic(), 0
    print("| tried | trials | read as a case | faults |\n| --- | ---: | ---: | ---: |")
    total = 0
    for group in asked.groups or GROUPS:
        began, worked = time.monotonic(), _worked_s()
        for name, count in GROUPS[group](Asked(10 if asked.tenth else 1 if asked.all else None, asked.kind)):
            read = "" if count.read is None else f"{count.read:,}"
            print(f"| {name} | {count.tried:,} | {read} | {len(count.faults)} |", flush=True)
            for fault in count.faults[:5]:
                print(f"{name}: {fault}", file=sys.stderr)
            faults, total = faults + len(count.faults), total + count.tried
        print(f"{group}: {time.monotonic() - began:.0f} s, of the processors {_worked_s() - worked:.0f} s",
              file=sys.stderr)
    print(f"| all | {total:,} | | {faults} |")
    print(f"{time.monotonic() - started:.0f} s", file=sys.stderr)
    return 1 if faults else 0


def _worked_s() -> float:
    """Seconds of the processors that this and all that it started have had, s."""
    return sum(os.times()[:4])


# --- files ------------------------------------------------------------------------------------

def files(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    """Each family of damaged files, spread over the cores."""
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for name, (make, number) in damage.FAMILIES.items():
            if asked.kind not in name:
                continue
            count = Count(read=0)
            batches = _batches(asked.of(islice(make(SEED), number)))
            for tried, read, faults in pool.map(_judged, batches):
                count.tried += tried
                count.read = (count.read or 0) + read
                count.faults += faults
            yield name, count


def beside_files(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    """What stands beside a case, spread over the cores likewise."""
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for name, kind in beside.KINDS.items():
            if asked.kind in name:
                count = Count(read=0)
                batches = _batches(asked.of(islice(kind.make(SEED), kind.number)))
                for tried, read, faults in pool.map(partial(_tried, name), batches):
                    count.tried += tried
                    count.read = (count.read or 0) + read
                    count.faults += faults
                yield name, count


def _tried(name: str, batch: list[tuple[int, Any]]) -> tuple[int, int, list[str]]:
    return _summed([(number, beside.KINDS[name].one(trial)) for number, trial in batch])


def _batches(trials: list[tuple[int, Any]]) -> Iterator[list[tuple[int, Any]]]:
    return (trials[first:first + BATCH] for first in range(0, len(trials), BATCH))


def _judged(batch: list[tuple[int, bytes]]) -> tuple[int, int, list[str]]:
    return _summed([(number, judge(data, ranged=place % RANGED == 0, units=("metric", "us")[place % 2]))
                    for place, (number, data) in enumerate(batch)])


def _summed(verdicts: list[tuple[int, Verdict]]) -> tuple[int, int, list[str]]:
    faults = [f"number {number}: {fault}" for number, verdict in verdicts for fault in verdict.faults[:1]]
    return len(verdicts), sum(verdict.read for _, verdict in verdicts), faults


def numbers(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    """Cases drawn at random, each answer against the brute-force second calculation."""
    count = Count(read=0)
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        for seed, found in enumerate(pool.map(differences, range(0, DRAWN, asked.every()))):
            count.tried += 1
            count.read = (count.read or 0) + bool(found)
            count.faults += [f"number {seed * asked.every()}: {answer} off by {off:.1e}, allowed {allowed:g}"
                             for answer, off, allowed in found if off > allowed]
    yield "every number by a second way", count


# --- the others -------------------------------------------------------------------------------

def saved(_asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    """A save with a kill or a fault at each of its lines, then the disks."""
    killed, failed = Count(), Count()
    for name, walk in saves.walks():
        count = killed if name.startswith("kill") else failed
        with tempfile.TemporaryDirectory() as folder:
            for faults in walk(Path(folder)):
                count.tried += 1
                count.faults += [f"{name}: {fault}" for fault in faults]
    torn = Count()
    for name, walk in saves.torn_walks():
        with tempfile.TemporaryDirectory() as folder:
            for faults in walk(Path(folder)):
                torn.tried += 1
                torn.faults += [f"{name}: {fault}" for fault in faults]
    yield "a write cut short, power lost", torn
    yield "kill -9 at each line of a save", killed
    yield "fault at each line of a save", failed
    yield "full, closed and changed disks", _all(saves.DISKS)


def commanded(_asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    for name in commands.SURROUNDED:
        commands.usual(commands.COMMANDS[name])  # once, before the workers are copied
    yield "the command in pipes, locales, odd surroundings", _side_by_side("commands", 1)


def shown(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    yield "the screen dropped, killed, shrunk, flooded", _side_by_side("terminals", min(asked.every(), 3))


def keys_held(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    yield "each key held down, 30 a second, on each kind of focus", _side_by_side("held", asked.every(4))


def streamed(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    yield "streams of odd bytes into the screen", _side_by_side("bytes", asked.every())


def signalled(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    yield "a signal at each stage, the terminal looked at afterwards", _side_by_side("signals", asked.every())


def at_moments(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    yield "a signal at a random moment of work", _side_by_side("moments", asked.every(2))


def begun(asked: Asked = SAMPLE) -> Iterator[tuple[str, Count]]:
    """Thousands of pieces of unsaved work, each judged; then starts of the screen among them."""
    count = Count()
    with tempfile.TemporaryDirectory() as folder:
        for faults in starts.looked_through(Path(folder), starts.NUMBER // asked.every()):
            count.tried += 1
            count.faults += faults
    yield "unsaved work, damaged, foreign, planted", count
    yield f"starts among {starts.NUMBER:,} pieces of it", _side_by_side("starts", min(asked.every(), 3))


TRIALS: dict[str, Mapping[str, Callable[[Path], list[str]]]] = {
    "commands": commands.TRIALS, "terminals": terminals.TERMINALS, "held": held.HELD, "bytes": held.STREAMS,
    "signals": held.STAGED, "moments": held.MOMENTS, "starts": starts.STARTS}


def _side_by_side(group: str, step: int) -> Count:
    """The trials of a group, several at a time; screens are copies of this process with what they need loaded."""
    count, held.COPIES = Count(), True
    for name in ("tui.app", "tui.command.main", "tui.terminal.driver", "fillcalc.formats.text"):
        import_module(name)
    names = list(TRIALS[group])[::step]
    with ProcessPoolExecutor(AT_ONCE * (os.cpu_count() or 1)) as pool:
        for name, faults in zip(names, pool.map(partial(_one, group), names), strict=True):
            count.tried += 1
            count.faults += [f"{name}: {fault}" for fault in faults]
    return count


def _one(group: str, name: str) -> list[str]:
    with tempfile.TemporaryDirectory() as folder:
        return TRIALS[group][name](Path(folder))


def _all(trials: Mapping[str, Callable[[Path], list[str]]]) -> Count:
    count = Count()
    for name, trial in trials.items():
        with tempfile.TemporaryDirectory() as folder:
            count.tried += 1
            count.faults += [f"{name}: {fault}" for fault in trial(Path(folder))]
    return count


GROUPS: dict[str, Callable[[Asked], Iterator[tuple[str, Count]]]] = {
    "files": files, "numbers": numbers, "beside": beside_files, "saves": saved, "commands": commanded,
    "terminals": shown, "held": keys_held, "bytes": streamed, "signals": signalled,
    "moments": at_moments, "starts": begun}

if __name__ == "__main__":
    raise SystemExit(main())
