"""Files from the screen: save, leave, unsaved work, answers as text, pages."""

from __future__ import annotations

import asyncio
import os
import shutil
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from textual import events

import cases
from tests.families import few, thorough
from tests.screen.support import (
    SHELL,
    SLOW_S,
    SLOWLY,
    at_field,
    case_in,
    field,
    picture,
    press_all,
    run,
    screen,
    type_over,
    until,
)
from tui.places.files import MOST_LISTED, offers
from tui.state.drafts import Drafts
from tui.state.opening import opened
from tui.terminal.keys import Taking
from tui.widgets.dialogs import Ask, AskFile, Menu, Pages, Pick, Several, narrowed


@SLOWLY
def test_save_and_leave_without_a_question(pause_s: float, tmp_path: Path) -> None:
    async def test() -> None:
        path = case_in(tmp_path)
        async with screen(path) as (app, pilot):
            at_field(app, "vent.bore")
            await type_over(pilot, "8 mm", pause_s)
            await pilot.press("ctrl+s")
            await until(pilot, lambda: app.session.saved)
            assert 'bore = "8 mm"' in path.read_text()
            assert "# a gauge port" in path.read_text()
            await pilot.press("ctrl+q")
            await until(pilot, lambda: not app.is_running)

    run(test())


def test_quitting_with_changes_asks_and_can_keep_them_for_the_next_start(tmp_path: Path) -> None:
    async def test() -> None:
        path = case_in(tmp_path)
        async with screen(path) as (app, pilot):
            at_field(app, "vent.bore")
            await type_over(pilot, "8 mm")
            await pilot.press("alt+q")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("k")
            await until(pilot, lambda: not app.is_running)
        assert path.read_text() == SHELL
        async with screen(path, answered=False) as (app, pilot):
            await until(pilot, lambda: isinstance(app.screen, Pick))
            assert "was not saved" in picture(app)
            await pilot.press("o")
            await until(pilot, lambda: field(app, "vent.bore").value == "8 mm" and app.settled)
            assert not app.session.saved
            assert app.session.path == path

    run(test())


def test_a_key_pressed_as_soon_as_the_question_is_seen_answers_it(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keys from before the first question go nowhere; one that follows its picture counts on a busy machine too."""
    draft = Drafts()
    draft.write(SHELL.replace('"620 mm"', '"630 mm"'), None, "shell")
    draft.release()
    stands = Taking._question_stands

    async def seen_late(taking: Taking, *most_s: float) -> float:
        before = await stands(taking, *most_s)
        taking.keys.put(events.Key("o", "o"))
        return before

    monkeypatch.setattr(Taking, "_question_stands", seen_late)

    async def test() -> None:
        async with screen(case_in(tmp_path), answered=False) as (app, pilot):
            app.taking.keys.put(events.Key("t", "t"))  # would throw the work away
            await until(pilot, lambda: not isinstance(app.screen, Pick) and "620 mm" not in app.session.text)
        assert not app.session.saved

    run(test())


@thorough
def test_of_several_unsaved_pieces_one_is_chosen_and_the_rest_stay(tmp_path: Path) -> None:
    """One question for all; what is thrown away is gone, what is not stays for the next start."""
    def leave(names: list[str]) -> None:
        for name in names:
            draft = Drafts()
            draft.write(SHELL.replace('bore = "8 mm"', f'bore = "{name} mm"'), None, f"case {name}")
            draft.release()

    async def test() -> None:
        leave(["3", "4", "5"])
        async with screen(case_in(tmp_path), answered=False) as (app, pilot):
            await until(pilot, lambda: isinstance(app.screen, Pick))
            assert "3 pieces of work were not saved" in picture(app) and "case 5" in picture(app)
            await pilot.press("down", "enter")  # the second newest
            await until(pilot, lambda: "Work on case 4" in picture(app))
            await pilot.press("t")
            await until(pilot, lambda: "2 pieces" in picture(app))
            await pilot.press("l")
            await until(pilot, lambda: not isinstance(app.screen, Pick))
        assert [draft.name for _, draft in Drafts().left_behind()] == ["case 5", "case 3"]

    run(test())


def test_a_kit_is_not_opened_as_a_case(tmp_path: Path) -> None:
    kit = Path(shutil.copy(Path(cases.__file__).with_name("kit.toml"), tmp_path))
    with pytest.raises(ValueError, match="is a kit, not a case"):
        opened(kit, Drafts())


def test_unsaved_work_is_on_disk_soon(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "vent.bore")
            await type_over(pilot, "8 mm")
            assert app.session.drafts is not None
            file = app.session.drafts.file
            await until(pilot, lambda: file.exists() and "8 mm" in file.read_text())

    run(test())


def test_copy_writes_the_report_with_its_safety_words_and_over_no_foreign_file(tmp_path: Path) -> None:
    async def test() -> None:
        path = case_in(tmp_path)
        async with screen(path) as (app, pilot):
            await pilot.press("ctrl+f")
            await until(pilot, lambda: "Copied" in app.said)
            text = (tmp_path / "shell-answers.txt").read_text()
            assert text == app.clipboard
            assert text.startswith("Estimate, not a test record")
            assert "competent person" in text
            app.say("")
            await pilot.press("ctrl+f")
            await until(pilot, lambda: "Copied" in app.said)
            assert not (tmp_path / "shell-answers-2.txt").exists()
            (tmp_path / "shell-answers.txt").write_text("my notes\n")
            await pilot.press("ctrl+f")
            await until(pilot, lambda: (tmp_path / "shell-answers-2.txt").exists())
            assert (tmp_path / "shell-answers.txt").read_text() == "my notes\n"

    run(test())


def test_a_quote_goes_over_no_other_quote_and_says_where_it_went(tmp_path: Path,
                                                                      monkeypatch: pytest.MonkeyPatch) -> None:
    """An unsaved case, and a changed one in a second session, find the quote of another there."""
    other = "Pressure test of another vessel, about 4 h on site.\n\nWe need: water.\n"
    monkeypatch.chdir(tmp_path)

    async def test(path: Path, stem: str, writes: str) -> None:
        async with screen(path, ranges=True) as (app, pilot):
            if stem == "case":
                app.session.path = None
            for height in ("2.5 m", "2.7 m"):  # what this session wrote it may write anew
                at_field(app, "vessel.height")
                await type_over(pilot, height)
                await until(pilot, lambda: app.settled)
                app.say("")
                await pilot.press("shift+f3")
                await until(pilot, lambda: "Copied" in app.said)
                assert f"to {writes}; {stem}-quote.txt holds another." in app.said
                assert (tmp_path / writes).read_text() == app.clipboard

    for stem, writes in (("case", "case-quote-2.txt"), ("shell", "shell-quote-3.txt")):
        (tmp_path / f"{stem}-quote.txt").write_text(other)
        before = {path: path.read_bytes() for path in tmp_path.glob("*quote*")}
        if writes.endswith("3.txt"):
            (tmp_path / "shell-quote-2.txt").write_text(other)
            before[tmp_path / "shell-quote-2.txt"] = other.encode()
        run(test(case_in(tmp_path), stem, writes))
        assert all(path.read_bytes() == data for path, data in before.items())
    assert not (tmp_path / "case-quote-3.txt").exists() and not (tmp_path / "shell-quote-4.txt").exists()


def test_one_action_copies_the_quote_and_nothing_else(tmp_path: Path) -> None:
    """The sentence and the needs that the command prints for the same text, also right after a change."""
    from fillcalc.case.read import read_text
    from fillcalc.formats.text import quote_text
    from fillcalc.questions.ranges import with_ranges

    async def test() -> None:
        async with screen(case_in(tmp_path), ranges=True) as (app, pilot):
            at_field(app, "vessel.height")
            await type_over(pilot, "2.5 m")
            await pilot.press("shift+f3")
            await until(pilot, lambda: "Copied" in app.said)
            case = read_text(app.session.text)
            assert "2.5 m" in app.session.text and app.clipboard == quote_text(case, with_ranges(case))
            assert (tmp_path / "shell-quote.txt").read_text() == app.clipboard
            await pilot.press("shift+f3")
            await until(pilot, lambda: "shell-quote.txt" in app.said)
            assert not (tmp_path / "shell-quote-2.txt").exists()

    run(test())


def test_saving_over_a_changed_file_asks(tmp_path: Path) -> None:
    async def test() -> None:
        path = case_in(tmp_path)
        async with screen(path) as (app, pilot):
            at_field(app, "vent.bore")
            await type_over(pilot, "8 mm")
            path.write_text(SHELL + "# another hand\n")
            await pilot.press("ctrl+s")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("escape")
            await pilot.pause()
            assert "another hand" in path.read_text()
            await pilot.press("ctrl+s")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("w")
            await until(pilot, lambda: app.session.saved)
            assert "another hand" not in path.read_text()

    run(test())


def test_saving_over_a_file_with_other_names_asks(tmp_path: Path) -> None:
    async def test() -> None:
        path = case_in(tmp_path)
        (tmp_path / "other.toml").hardlink_to(path)
        async with screen(path) as (app, pilot):
            at_field(app, "vent.bore")
            await type_over(pilot, "8 mm")
            for key in ("escape", "w"):
                await pilot.press("ctrl+s")
                await until(pilot, lambda: isinstance(app.screen, Pick))
                assert "2 names (hard links)" in picture(app)
                await pilot.press(key)
                await until(pilot, lambda: len(app.screen_stack) == 1)
                await until(pilot, lambda key=key: app.session.saved or key == "escape")  # type: ignore[misc]
                assert (path.read_text() == SHELL) == (key == "escape")
                assert (tmp_path / "other.toml").read_text() == SHELL

    run(test())


def test_what_could_not_be_kept_of_the_old_file_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from fillcalc.case import save as saving

    monkeypatch.setattr(saving, "_make_like", lambda *_: ("its owner",))

    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36) as (app, pilot):
            at_field(app, "vent.bore")
            await type_over(pilot, "8 mm")
            await pilot.press("ctrl+s")
            await until(pilot, lambda: "Not kept of the old file: its owner." in app.foot.saying)

    run(test())


@thorough
def test_the_open_file_may_become_a_pipe(tmp_path: Path) -> None:
    """The screen goes on, says that the file has changed, and asks before it saves."""
    async def test() -> None:
        path = case_in(tmp_path)
        async with screen(path) as (app, pilot):
            path.unlink()
            os.mkfifo(path)
            await until(pilot, lambda: "has changed on disk" in app.foot.saying)
            at_field(app, "vent.bore")
            await type_over(pilot, "8 mm")
            await pilot.press("ctrl+s")
            await until(pilot, lambda: "no ordinary file" in app.foot.saying)
            await pilot.press("ctrl+o")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("t")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            await press_all(pilot, "shell.toml")
            await pilot.press("enter")
            await until(pilot, lambda: "no ordinary file" in picture(app))

    run(test())


@pytest.mark.parametrize(("typed", "labels"), [
    ("", []), ("valve", ["valve.toml", "valve-batch.toml", "demo: valve-block"]), ("BLOCK", ["demo: valve-block"]),
    ("tall valve", []), ("block valve", ["demo: valve-block"]), ("valve.toml", ["valve.toml"]), ("sub/valve", []),
    ("./valve", []), ("~", []), ("su", ["sub/"]), ("nothing", [])])
def test_what_was_typed_narrows_the_files(typed: str, labels: list[str]) -> None:
    offers = [(label, label) for label in ("../", "sub/", "valve-batch.toml", "valve.toml", "demo: valve-block")]
    assert [label for _, label in narrowed(offers, typed)] == labels


def test_of_very_many_files_it_is_said_how_many_more_there_are(tmp_path: Path) -> None:
    """Files of another kind take no room of the list."""
    here = tmp_path / "full"
    here.mkdir()
    for number in range(MOST_LISTED + 20):
        (here / f"log-{number:03d}.csv").touch()
    for number in range(MOST_LISTED + 2):
        (here / f"vessel-{number:03d}.toml").touch()
    (here / "other").mkdir()
    labels = [label for _, label in offers(here) if not label.startswith("demo: ")]
    assert labels[:3] == ["../", "other/", "vessel-000.toml"] and len(labels) == MOST_LISTED + 2
    assert labels[-2:] == [f"vessel-{MOST_LISTED - 2}.toml", "3 more here: type the name"]
    assert not any("more here" in label for _, label in offers(here / "other"))


@pytest.mark.parametrize("pause_s", few([SLOW_S, 0.0], 1))
def test_letters_of_a_demo_narrow_the_list_and_enter_takes_it(pause_s: float, tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("ctrl+o")
            await until(pilot, lambda: isinstance(app.screen, AskFile))
            await until(pilot, lambda: "shell.toml" in picture(app))
            await press_all(pilot, "tall", pause_s)
            if pause_s:
                await until(pilot, lambda: "demo: tall-tank" in picture(app) and "shell.toml" not in picture(app))
                await press_all(pilot, "x", pause_s)  # nothing has that: all of it is there again
                await until(pilot, lambda: "shell.toml" in picture(app))
                await pilot.press("backspace")
            await pilot.press("enter")
            await until(pilot, lambda: app.session.name.startswith("tall-tank") and "Opened" in app.said)
            await pilot.press("ctrl+o")
            await until(pilot, lambda: isinstance(app.screen, AskFile))
            await press_all(pilot, "no-such-case", pause_s)
            await pilot.press("enter")
            await until(pilot, lambda: "no-such-case: no such file" in picture(app))

    run(test())


def test_a_drive_that_hangs_does_not_hold_up_the_keys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every look at the file, and a save, waits for ever; the form goes on, and the screen still ends."""
    from fillcalc.case import disk
    from fillcalc.case import save as saving

    hang = threading.Event()

    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            for module in (disk, saving):
                monkeypatch.setattr(module, "read_ordinary", lambda *_: hang.wait(60.0))
            await asyncio.sleep(2.5)  # the next look at the disk
            await pilot.press("ctrl+s")
            at_field(app, "vent.bore")
            await type_over(pilot, "9 mm")
            await until(pilot, lambda: '"9 mm"' in app.session.text and app.settled)

    started = time.monotonic()
    run(test())
    assert time.monotonic() - started < 40.0
    hang.set()


WATCHED = ("open", "os.listdir", "os.scandir", "os.rename", "os.remove", "os.link", "os.mkdir", "os.chmod")


class Watch:
    """Which thread touches the disk within a folder; it hears nothing before it is begun and after it has ended."""

    def __init__(self) -> None:
        self.folder = ""
        self.seen: list[tuple[str, str, bool]] = []
        sys.addaudithook(self.hear)

    def hear(self, event: str, given: tuple[object, ...]) -> None:
        if self.folder and event in WATCHED and given and str(given[0]).startswith(self.folder):
            self.seen.append((event, str(given[0]), threading.current_thread() is threading.main_thread()))


def test_the_disk_is_never_touched_on_the_thread_of_the_screen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Save, save as, open, copy, page, kit and visit: each reads or writes, none of it on the thread that draws."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    watch, look = Watch(), os.stat

    def stat(path: object, *more: Any, **named: Any) -> os.stat_result:
        if watch.folder and str(path).startswith(watch.folder):
            watch.seen.append(("stat", str(path), threading.current_thread() is threading.main_thread()))
        return look(path, *more, **named)  # type: ignore[arg-type]

    async def test() -> None:
        path = case_in(tmp_path)
        case_in(tmp_path, name="other.toml")
        shutil.copy(Path(cases.__file__).with_name("kit.toml"), tmp_path)
        async with screen(path) as (app, pilot):
            monkeypatch.setattr(os, "stat", stat)
            watch.folder = str(tmp_path)
            at_field(app, "vent.bore")
            await type_over(pilot, "8 mm")
            await until(pilot, lambda: app.settled)
            await pilot.press("ctrl+s")
            await until(pilot, lambda: app.session.saved)
            await pilot.press("ctrl+f")
            await until(pilot, lambda: "Copied" in app.foot.saying)
            await pilot.press("shift+f4")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            await pilot.press("enter")
            await until(pilot, lambda: "Written: " in app.foot.saying)
            for key, kind in (("f3", Several), ("ctrl+g", Pick)):
                await pilot.press(key)
                await until(pilot, lambda kind=kind: isinstance(app.screen, kind))  # type: ignore[misc]
                await pilot.press("escape")
                await until(pilot, lambda: len(app.screen_stack) == 1)
            await type_over(pilot, "9 mm")
            await until(pilot, lambda: not app.session.saved and app.settled)
            await asyncio.sleep(2.5)  # unsaved work is kept, and the file looked at
            await pilot.press("ctrl+o")
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("t")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            await press_all(pilot, "other.toml")
            await pilot.press("enter")
            await until(pilot, lambda: app.session.path == tmp_path / "other.toml")
            watch.folder = ""

    run(test())
    assert {event for event, _, _ in watch.seen} >= {"open", "os.rename", "os.remove", "os.scandir", "stat"}
    on_the_screen = sorted({(event, name) for event, name, drawing in watch.seen if drawing})
    assert not on_the_screen, on_the_screen


@thorough
def test_a_page_is_refused_then_written_then_replaced_and_never_over_a_foreign_file(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path)) as (app, pilot):
            at_field(app, "fill.hose.1.length")
            await type_over(pilot, "80 parsecs")
            await until(pilot, lambda: app.settled)
            await pilot.press("shift+f4")
            await until(pilot, lambda: "A page needs answers" in picture(app))
            assert len(app.screen_stack) == 1
            assert not list(tmp_path.glob("*.html"))
            await type_over(pilot, "80 m")
            await pilot.press("shift+f4")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            await pilot.press("enter")
            await until(pilot, lambda: "Written:" in picture(app))
            page = (tmp_path / "shell.html").read_text(encoding="utf-8")
            assert page.startswith("<!DOCTYPE html>") and "<svg" in page
            assert "80 m" in page
            await pilot.press("escape")
            await until(pilot, lambda: isinstance(app.screen, Menu))
            await pilot.press("x")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            await pilot.press("enter")
            await until(pilot, lambda: "Replaced:" in picture(app))
            (tmp_path / "shell.html").write_text("my own page\n")
            await pilot.press("shift+f4")
            await until(pilot, lambda: isinstance(app.screen, Ask))
            await pilot.press("enter")
            await until(pilot, lambda: "shell.html is there already" in picture(app))
            assert (tmp_path / "shell.html").read_text() == "my own page\n"
            await pilot.press("escape")
            await until(pilot, lambda: len(app.screen_stack) == 1)

    run(test())


@thorough
def test_a_new_case_has_nothing_given_and_is_compared_with_nothing(tmp_path: Path) -> None:
    async def test() -> None:
        async with screen(case_in(tmp_path), 120, 36) as (app, pilot):
            await pilot.press("ctrl+b")
            await until(pilot, lambda: app.session.kept is not None)
            await pilot.press("ctrl+n")
            await until(pilot, lambda: app.session.name == "new case" and app.settled)
            assert app.session.kept is None and app.session.saved
            given = {path: value for path, value in app.case_form.values().items() if value}
            assert given == {"vessel.shape": "by volume", "tap.kind": "tap", "pump.kind": "air-driven"}
            text = picture(app)
            assert "No answers yet: 5 inputs must be given" in text
            assert "vessel volume: needed" in text and "! Vessel volume" in text and "7 mm, assumed" not in text
            needed = [path for path, row in app.case_form.form.fields.items() if row.wrong]
            assert needed == ["vessel.volume", "fill.hose.1.length", "fill.hose.1.bore", "test.pressure", "pump.ratio"]
            for path, value in zip(needed, ("570 L", "22 m", "12.7 mm", "24 bar", "20"), strict=True):
                await app.case_form.go_to(path)
                await type_over(pilot, value)
            await until(pilot, lambda: app.settled and app.session.state == "now")
            assert "no pressure limit is known" in picture(app) and field(app, "test.pressure").value == "24 bar"
            await app.case_form.go_to("test.pressure")
            await type_over(pilot, "")
            await until(pilot, lambda: app.settled and app.session.state == "old")
            assert field(app, "test.pressure").wrong.startswith("needed")

    run(test())


def test_the_text_of_a_visit_is_no_case_s_and_lies_in_a_file_of_its_own(tmp_path: Path) -> None:
    async def test() -> None:
        for number in range(30):
            case_in(tmp_path, name=f"other-{number}.toml")
        async with screen(case_in(tmp_path)) as (app, pilot):
            await pilot.press("ctrl+f")
            await until(pilot, lambda: (tmp_path / "shell-answers.txt").exists())
            of_the_case = (tmp_path / "shell-answers.txt").read_text()
            await pilot.press("f3")
            await until(pilot, lambda: isinstance(app.screen, Several))
            assert "Space marks one, Enter takes those marked" in picture(app)
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, Pages))
            assert "A visit with 1 case" in picture(app)
            await pilot.press("alt+t")
            await until(pilot, lambda: (tmp_path / "shell-visit.txt").exists())
            assert "A visit with 1 case" in (tmp_path / "shell-visit.txt").read_text()
            assert app.clipboard == (tmp_path / "shell-visit.txt").read_text()
            assert (tmp_path / "shell-answers.txt").read_text() == of_the_case

    run(test())
