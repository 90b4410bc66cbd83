"""The shipped table of pipes against fluids."""

from __future__ import annotations

from pathlib import Path

import pytest

from fillcalc.case.pipes import TABLE, pipe, sizes
from fillcalc.units import UnitProblem


def test_the_table_is_what_fluids_gives() -> None:
    pytest.importorskip("fluids")
    from fillcalc.case.build_pipes import table

    assert Path(TABLE).read_text(encoding="ascii") == table()


def test_every_pipe_against_fluids() -> None:
    piping = pytest.importorskip("fluids.piping")
    seen = 0
    for size in sizes():
        for schedule, wall in size.walls.items():
            _, inside, _, thick = piping.nearest_pipe(NPS=size.nps, schedule=schedule)
            got = pipe(f"DN{size.dn}", schedule)
            assert got[1] == pytest.approx(thick, rel=1e-12) == pytest.approx(wall, rel=1e-12)
            assert got[0] == pytest.approx(inside, abs=1.1e-4), (
                size.nps,
                schedule,
            )  # the two standards differ by 0.1 mm
            seen += 1
    assert seen > 300


@pytest.mark.parametrize("text", ["DN80", "dn 80", "NPS 3", "3 in", '3"', "3 inch"])
def test_ways_to_write_a_size(text: str) -> None:
    assert pipe(text, "40") == pytest.approx((0.07792, 0.00549))
    assert pipe(text, "Sch. 40") == pipe(text, "STD") == pipe(text, "40S")


@pytest.mark.parametrize(
    ("text", "schedule"),
    [
        ("DN81", "40"),
        ("80", "40"),
        ("88.9 mm", "40"),
        ("DN80", "41"),
        ("DN80", ""),
        ("", "40"),
        ("1/0 in", "40"),
        ("x" * 10**6, "40"),
        ("DN80", "x" * 10**6),
    ],
)
def test_what_is_no_pipe(text: str, schedule: str) -> None:
    with pytest.raises(UnitProblem) as caught:
        pipe(text, schedule)
    assert len(str(caught.value)) < 600


def test_small_sizes_in_fractions() -> None:
    assert pipe("1 1/2 in", "40") == pipe("DN40", "40") == pipe("1½ in", "40")
