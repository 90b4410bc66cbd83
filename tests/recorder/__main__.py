"""The table of coverage: `python -m tests.recorder [records a row]`."""

from __future__ import annotations

import sys

from tests.recorder.coverage import EVERY, GAUGES, HOLDS, row


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    print(f"{count} records with a leak of 0.7 to 20 mL/min and {count} without in each row; 0.5 K/h either way.\n")
    print("| gauge | a row each | hold | temperature | true leak inside | tight: inside | tight: leak stated "
          "| leak stated | width, mL/min | would show, mL/min |")
    print("| --- | ---: | ---: | --- | ---: | ---: | ---: | ---: | ---: | ---: |")
    for gauge in GAUGES:
        for every in EVERY:
            for hold in HOLDS:
                for read in (True, False):
                    one = row(gauge, every, hold, read, count)
                    print(f"| {gauge} | {every:.0f} s | {hold / 60:.0f} min | {'read' if read else 'not read'} "
                          f"| {one.inside} | {one.tight_inside} | {one.tight_shown} | {one.leaks_shown} "
                          f"| {one.width_ml_min:.2f} | {one.smallest_ml_min:.2f} |", flush=True)


if __name__ == "__main__":
    main()
