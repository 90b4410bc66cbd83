"""Drawn cases, worked out on all processors, and the largest difference of each group of their figures."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from os import cpu_count

Differences = list[tuple[str, float, float]]
"""Each figure of a case: its name, the relative difference and what is allowed; empty for one that cannot be had."""


@dataclass
class Compared:
    """Cases whose figures were compared."""

    used: int = 0
    most: dict[str, tuple[float, int]] = field(default_factory=dict)
    """Of each group the largest difference, and the case that has it."""
    counted: dict[str, int] = field(default_factory=dict)
    bad: list[str] = field(default_factory=list)

    def see(self, seed: int, found: Differences, group_of: Callable[[str], str] = str) -> None:
        """Count the figures of one case, and say at once which disagree."""
        self.used += bool(found)
        for name, off, allowed in found:
            group = group_of(name)
            self.counted[group] = self.counted.get(group, 0) + 1
            self.most[group] = max(self.most.get(group, (0.0, -1)), (off, seed))
            if not off <= allowed:
                self.bad.append(f"case {seed}: {name} off by {off:.2e}, allowed {allowed:g}")
                print(self.bad[-1], file=sys.stderr, flush=True)

    def print(self) -> int:
        """Print the table and what disagrees; 1 where anything does."""
        print("| figures | values | largest difference | in case |\n| --- | ---: | ---: | ---: |")
        for group, (off, seed) in self.most.items():
            print(f"| {group} | {self.counted[group]} | {off:.1e} | {seed} |")
        print("\n".join(self.bad) or "None disagrees.")
        return 1 if self.bad else 0


def worked_out(differences: Callable[[int], Differences], seeds: range) -> Iterator[tuple[int, Differences]]:
    """Each case by its number, and its differences."""
    with ProcessPoolExecutor(cpu_count()) as pool:
        yield from zip(seeds, pool.map(differences, seeds), strict=True)
