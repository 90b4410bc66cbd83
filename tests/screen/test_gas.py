"""A test with gas on the screen: the danger first, its own answers and inputs, and nothing that breaks."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from tests.report.demo import CASES, GAS_NAMES
from tests.screen.support import SHELL, case_in, picture, screen, settled, until

SIZES = [(80, 24), (120, 36)]


@pytest.mark.parametrize(("width", "height"), SIZES)
@pytest.mark.parametrize("name", GAS_NAMES)
def test_the_danger_stands_above_the_answers(tmp_path: Path, name: str, width: int, height: int) -> None:
    async def test() -> None:
        source = case_in(tmp_path, (CASES / f"{name}.toml").read_text(encoding="utf-8"))
        async with screen(source, width, height, ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            await pilot.pause()
            rows = picture(app).split("\n")
            danger = next(place for place, row in enumerate(rows) if "DANGER, gas:" in row)
            read = next(place for place, row in enumerate(rows) if "Read gauge at" in row)
            assert danger < read and ("excluded" in rows[danger])
            assert "Let off" in rows[read + 1] and "Trapped air" not in picture(app)

    asyncio.run(test())


@pytest.mark.parametrize("name", GAS_NAMES)
def test_every_place_of_the_screen_bears_a_test_with_gas(tmp_path: Path, name: str) -> None:
    """Charts, report, comparison, kit, page, copied text: none of them ends the program."""
    async def test() -> None:
        source = case_in(tmp_path, (CASES / f"{name}.toml").read_text(encoding="utf-8"))
        async with screen(source, 80, 24) as (app, pilot):
            for letter in "ckdehpijrtvxaubnfl":
                await pilot.press("escape", letter)
                await pilot.pause()
                for _ in range(5):
                    if len(app.screen_stack) > 1:
                        await pilot.press("escape")
                        await pilot.pause()
            await until(pilot, lambda: settled(app))
            assert app.is_running and not any(fault in picture(app) for fault in ("Error", "Traceback"))

    asyncio.run(test())


def test_a_case_turned_from_water_to_gas_keeps_what_was_typed(tmp_path: Path) -> None:
    async def test() -> None:
        source = case_in(tmp_path)
        async with screen(source, 80, 24) as (app, pilot):
            app.session.put("test.medium", "nitrogen")
            await until(pilot, lambda: settled(app))
            assert [problem.path for problem in app.session.problems] == ["gas_supply"]
            app.session.put_many("bottles", {"gas_supply.kind": "bottles", "gas_supply.volume": "50 L",
                                             "gas_supply.pressure": "200 bar", "gas_supply.bottles": "3"})
            await until(pilot, lambda: settled(app))
            assert app.session.answered is not None and app.session.answered.estimate is not None
            assert app.session.answered.estimate.gas is not None
            assert "[tap]" in app.session.text and "[pump]" in app.session.text
            app.session.put("test.medium", None)
            await until(pilot, lambda: settled(app))
            assert app.session.answered.estimate.gas is None
        assert "[tap]" in SHELL

    asyncio.run(test())
