"""A test with gas on the screen: the danger first, its own answers and inputs, and nothing that breaks."""

from __future__ import annotations

import asyncio
import re
import shutil
import tomllib
from pathlib import Path

import pytest

from tests.families import few, thorough
from tests.report.demo import CASES, GAS_NAMES
from tests.screen.support import SHELL, SLOWLY, case_in, picture, press_all, screen, settled, until
from tui.places.choosing import Kit
from tui.widgets.listing import Listing

SIZES = ((120, 36), (80, 24))


@thorough
@pytest.mark.parametrize("name", few(reversed(GAS_NAMES), 1))
def test_the_danger_stands_above_the_answers_and_every_place_bears_a_test_with_gas(tmp_path: Path, name: str) -> None:
    """Charts, report, comparison, kit, page, copied text: none of them ends the program."""
    async def test() -> None:
        source = case_in(tmp_path, (CASES / f"{name}.toml").read_text(encoding="utf-8"))
        async with screen(source, *SIZES[0], ranges=True) as (app, pilot):
            await until(pilot, lambda: app.session.ranged is not None)
            for size in SIZES:
                await pilot.resize_terminal(*size)
                await pilot.pause()
                rows = picture(app).split("\n")
                assert (len(rows[0]), len(rows)) <= size
                danger = next(place for place, row in enumerate(rows) if "DANGER, gas:" in row)
                read = next(place for place, row in enumerate(rows) if "Read gauge at" in row)
                assert danger < read and ("excluded" in rows[danger])
                assert "Let off" in rows[read + 1] and "Trapped air" not in picture(app)
            app.answering.ranges.quiet_s = 3600.0
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


GIVEN = {"vessel.volume": "400 L", "test.pressure": "18 bar", "gas_supply.volume": "50 L",
         "gas_supply.pressure": "200 bar", "gas_supply.bottles": "2"}


@SLOWLY
def test_a_test_with_gas_is_begun_from_nothing_with_what_the_form_shows(pause_s: float, tmp_path: Path) -> None:
    """Hose and pump, which a new case begins with, are not asked for; what is missing is marked at its field."""
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("ctrl+n")
            await until(pilot, lambda: "must be given" in picture(app))
            await app._go_to("test.medium")
            await pilot.pause()
            await press_all(pilot, "n", pause_s)
            await until(pilot, lambda: app.settled and "gas_supply.kind" in {p.path for p in app.session.problems})
            await app._go_to("gas_supply.kind")
            await until(pilot, lambda: "! Gas supply" in picture(app))
            assert "table" not in picture(app)
            await pilot.press("right")
            for path, value in GIVEN.items():
                await until(pilot, lambda: app.settled)
                await app._go_to(path)
                await pilot.pause()
                await press_all(pilot, value, pause_s)
            await until(pilot, lambda: app.settled and app.session.state == "now")
            assert app.session.answered is not None and app.session.answered.estimate.gas is not None

    asyncio.run(test())


def test_a_case_turned_from_water_to_gas_keeps_what_was_typed(tmp_path: Path) -> None:
    async def test() -> None:
        source = case_in(tmp_path)
        async with screen(source, 80, 24) as (app, pilot):
            app.session.put("test.medium", "nitrogen")
            await until(pilot, lambda: settled(app))
            assert [problem.path for problem in app.session.problems] == ["gas_supply.kind"]
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


def test_what_should_not_be_done_with_gas_stands_above_all(tmp_path: Path) -> None:
    async def test() -> None:
        written = (CASES / "gas-receiver.toml").read_text(encoding="utf-8").replace(
            'shape = "lying', 'material = "cast iron"\nshape = "lying')
        async with screen(case_in(tmp_path, written), 80, 24) as (app, pilot):
            await until(pilot, lambda: settled(app))
            seen = " ".join(picture(app).split())
            never, asked, read = (seen.index(words) for words in (
                "DANGER: Do not test cast iron with gas", "DANGER, gas: water is excluded", "Read gauge at"))
            assert never < asked < read
            assert "Nobody within 30 m, from the first gas until it is let off or reduced to inspect." in seen

    asyncio.run(test())


@thorough
def test_bottles_and_regulators_are_compared_and_one_is_taken_by_key(tmp_path: Path) -> None:
    """The best does what the case's own cannot; undo brings the text back as it was."""
    async def test() -> None:
        written = (CASES / "gas-receiver-short.toml").read_text(encoding="utf-8")
        shutil.copy(CASES / "kit.toml", tmp_path / "kit.toml")
        async with screen(case_in(tmp_path, written), 100, 36) as (app, pilot):
            await until(pilot, lambda: settled(app))
            await pilot.press("escape", "5")
            kit = app.query_one(Kit)
            await until(pilot, lambda: bool(kit.gas_rows) and isinstance(app.focused, Listing))
            seen = picture(app)
            assert "Every bottle and regulator" in seen and "2 of 2" in seen and "3 of 3" in seen
            assert re.search(r"50 L at 300 bar +100 bar regulator +2 of 2 +\d+ min", seen)
            assert "× 10 L at 200 bar with 30 bar" in seen and "DANGER, gas: is water really excluded?" in seen
            await pilot.press("end", "enter")
            await until(pilot, lambda: "Not taken." in picture(app))
            assert app.session.text == written
            await pilot.press("home", "enter")
            await until(pilot, lambda: "Taken: 50 L at 200 bar with 20 bar regulator" in picture(app))
            await until(pilot, lambda: settled(app))
            supply = tomllib.loads(app.session.text)["gas_supply"]
            assert supply["pressure"] == "200 bar" and supply["bottles"] == 3 and supply["kind"] == "bottles"
            assert tomllib.loads(app.session.text)["gas_line"] == {"regulator_pressure": "19 bar", "kv": 0.15}
            answered = app.session.answered
            assert answered is not None and answered.estimate is not None and answered.estimate.gas is not None
            assert answered.estimate.gas.bottles.enough
            app.session.undo()
            assert app.session.text == written

    asyncio.run(test())


@thorough
def test_the_picture_steps_from_the_open_valve_to_letting_off(tmp_path: Path) -> None:
    async def test() -> None:
        source = case_in(tmp_path, (CASES / "gas-receiver.toml").read_text(encoding="utf-8"))
        async with screen(source, 80, 24) as (app, pilot):
            await until(pilot, lambda: settled(app))
            await pilot.press("escape", "2")
            await until(pilot, lambda: "another moment" in picture(app))
            seen = []
            await pilot.press("home")
            for _ in range(40):
                await pilot.pause()
                seen.append(picture(app))
                await pilot.press("right")
            assert "after 0 s" in seen[0] and "let off for" in seen[-1] and "let-off shut" not in seen[-1]
            for words in ("nobody within 30 m", "19 bar", "3 Raise"):
                assert all(words in one for one in seen)
            assert any("stop at 9 bar" in one or "8.91 bar" in one for one in seen)
            await pilot.press("alt+7", "end")
            await until(pilot, lambda: "Let nitrogen off outdoors" in picture(app))
            assert "Open the vent before the drain" not in picture(app)

    asyncio.run(test())
