"""The session without a terminal: text, way back, answers, file, unsaved work."""

from __future__ import annotations

import json
import os
import socket
import time
from dataclasses import replace
from pathlib import Path

import pytest

import cases
from fillcalc.case.save import ChangedUnderneath
from tests.screen.support import SHELL, case_in
from tui.state.drafts import Drafts, private
from tui.state.opening import taken_up
from tui.state.session import Request, Session, work_out


def answer(session: Session) -> None:
    assert session.take(work_out(Request(session.number, session.text, session.name)))


def test_typing_into_one_input_is_one_step_back() -> None:
    session = Session(SHELL)
    for value in ("2", "23", "23 m"):
        session.put("fill.hose.1.length", value)
    session.leave()
    session.put("fill.hose.1.length", "24 m")
    assert session.undo() == "fill.hose.1.length"
    assert 'length = "23 m"' in session.text
    session.undo()
    assert session.text == SHELL
    assert session.undo() is None
    session.redo()
    assert 'length = "23 m"' in session.text


def test_cautions_of_the_screen_are_in_the_trade_words_of_its_units() -> None:
    line = (Path(cases.__file__).parent / "ammonia-line-us.toml").read_text(encoding="utf-8")
    said = {units: " ".join(one.text for one in work_out(Request(1, line, "line", units)).cautions)
            for units in ("us", "metric")}
    assert "pressure of the hose bib" in said["us"] and " tap" not in said["us"]
    assert "pressure of the tap" in said["metric"]


def test_typing_a_value_back_leaves_no_step() -> None:
    session = Session(SHELL)
    session.put("fill.hose.1.length", "23 m")
    session.put("fill.hose.1.length", "22 m")
    assert session.text == SHELL
    assert session.saved
    assert session.undo() is None


def test_a_change_after_undo_forgets_the_way_forward() -> None:
    session = Session(SHELL)
    session.put("fill.hose.1.length", "23 m")
    session.undo()
    session.put("vent.bore", "8 mm")
    assert session.redo() is None
    assert 'bore = "8 mm"' in session.text
    assert 'length = "22 m"' in session.text


def test_comments_survive_an_edit() -> None:
    session = Session(SHELL)
    session.put("tap.open_flow", "31 L/min")
    assert "# bucket under the open tap" in session.text


def test_stale_answers_are_dropped() -> None:
    session = Session(SHELL)
    first = work_out(Request(session.number, session.text, session.name))
    session.put("fill.hose.1.length", "40 m")
    assert not session.take(first)
    assert session.answered is None
    assert session.state == "working"


def test_a_bad_input_keeps_the_last_good_answers_as_old() -> None:
    session = Session(SHELL)
    answer(session)
    good = session.answered
    assert session.state == "now"
    session.put("fill.hose.1.length", "22 parsecs")
    assert session.state == "working"
    answer(session)
    assert session.state == "old"
    assert session.answered is good
    problem = next((each for each in session.problems if each.path == "fill.hose.1.length"), None)
    assert problem is not None and "parsecs" in problem.found
    session.undo()
    answer(session)
    assert session.state == "now"


def test_another_shape_takes_out_what_it_does_not_know_and_comes_back_whole() -> None:
    session = Session(SHELL)
    session.put("vessel.shape", "sphere")
    assert "height" not in session.text.partition("[water]")[0]
    session.put("vessel.shape", "lying cylinder")
    assert 'length = "1.9 m"' in session.text
    answer(session)
    assert session.state == "now"
    session.put("vessel.shape", "standing cylinder")
    assert session.text == SHELL


def test_the_last_input_of_an_optional_table_takes_the_table_with_it() -> None:
    session = Session(SHELL)
    for key in ("length", "bore", "rating"):
        session.put(f"test_hose.{key}", "")
    assert "[test_hose]" not in session.text
    answer(session)
    assert session.state == "now"


def test_a_hose_more_and_a_hose_less() -> None:
    session = Session(SHELL)
    answer(session)
    short = session.answered.estimate.fill.time_s  # type: ignore[union-attr]
    session.put_many("fill.hose", {"fill.hose.2.length": "10 m", "fill.hose.2.bore": "12.7 mm"})
    answer(session)
    assert session.answered.estimate.fill.time_s > short  # type: ignore[union-attr]
    session.drop("fill.hose.2")
    answer(session)
    assert session.answered.estimate.fill.time_s == short  # type: ignore[union-attr]


def test_saving_refuses_a_file_that_changed_underneath(tmp_path: Path) -> None:
    path = case_in(tmp_path)
    session = Session.open(path)
    session.put("vent.bore", "8 mm")
    path.write_text("format = 1 # another hand\n")
    assert session.changed_on_disk()
    with pytest.raises(ChangedUnderneath):
        session.save()
    assert "another hand" in path.read_text()
    session.save(over=True)
    assert 'bore = "8 mm"' in path.read_text()
    assert session.saved and not session.changed_on_disk()


def test_saving_under_the_name_of_another_file_refuses(tmp_path: Path) -> None:
    session = Session.open(case_in(tmp_path))
    other = case_in(tmp_path, "format = 1\n", "other.toml")
    with pytest.raises(ChangedUnderneath):
        session.save(other)
    assert other.read_text() == "format = 1\n"


def test_unsaved_work_lies_on_disk_and_goes_when_saved(tmp_path: Path) -> None:
    path = case_in(tmp_path)
    session = Session.open(path, Drafts())
    session.put("vent.bore", "8 mm")
    session.keep_unsaved()
    assert session.drafts is not None
    session.drafts.release()
    left = Drafts().left_behind()
    assert [draft.text for _, draft in left] == [session.text]
    assert left[0][1].path == str(path)
    session.save()
    assert Drafts().left_behind() == []


def test_unsaved_work_of_a_running_screen_is_not_offered_whatever_its_process_number(tmp_path: Path) -> None:
    """A living screen is known by its lock; a number that is in use again, or another machine's, says nothing."""
    session = Session.open(case_in(tmp_path), Drafts())
    session.put("vent.bore", "8 mm")
    session.keep_unsaved()
    assert session.drafts is not None and Drafts().left_behind() == []
    session.put("vent.bore", "9 mm")
    session.keep_unsaved()
    assert Drafts().left_behind() == []
    session.drafts.release()
    file = session.drafts.file
    for process, host in ((os.getppid(), socket.gethostname()), (os.getpid(), socket.gethostname()), (7, "far-away")):
        table = {**json.loads(file.read_text()), "process": process, "host": host}
        file.write_text(json.dumps(table))
        (_, draft), = Drafts().left_behind()
        assert "9 mm" in draft.text and draft.elsewhere == ("far-away" if host == "far-away" else "")


GOOD = {"text": "format = 1", "path": "", "name": "x", "process": 1, "host": "h", "time_s": 1.7e9, "base": ""}


@pytest.mark.parametrize("content", [
    "{", "", "[]", "1", "null", '"x"', "[" * 100_000, "\x00" * 40, "9" * 5000,
    *(json.dumps({**GOOD, **wrong}) for wrong in (
        {"text": 1}, {"text": None}, {"path": 3}, {"name": []}, {"host": {}}, {"base": 5}, {"process": "x"},
        {"process": True}, {"time_s": float("nan")}, {"time_s": float("inf")}, {"time_s": 1e300}, {"time_s": -1.0},
        {"time_s": "now"})),
    json.dumps({key: value for key, value in GOOD.items() if key != "text"})], ids=lambda text: text[:30] or "empty")
def test_a_file_that_is_no_draft_is_set_aside_and_kept(content: str) -> None:
    drafts = Drafts()
    private(drafts.folder)
    (drafts.folder / "1-x.json").write_text(content)
    (drafts.folder / "2-x.json").write_text(json.dumps(GOOD))
    assert [draft.name for _, draft in drafts.left_behind()] == ["x"]
    assert [file.read_text() for file in drafts.aside] == [content]
    assert drafts.left_behind() and not drafts.aside


def test_the_folder_of_unsaved_work_is_private_and_links_in_it_are_not_followed(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.write_text(json.dumps(GOOD))
    drafts = Drafts()
    drafts.folder.mkdir(parents=True, mode=0o777)
    drafts.folder.chmod(0o777)
    (drafts.folder / "1-x.json").symlink_to(outside)
    os.mkfifo(drafts.folder / "2-x.json")
    (drafts.folder / "3-x.json").mkdir()
    drafts.write("mine", None, "x")
    assert drafts.folder.stat().st_mode & 0o777 == 0o700 and drafts.file.stat().st_mode & 0o777 == 0o600
    assert Drafts().left_behind() == []
    assert outside.read_text() == json.dumps(GOOD) and len(list(drafts.folder.iterdir())) == 4
    elsewhere = Drafts(tmp_path / "state2")
    (tmp_path / "state2").mkdir()
    elsewhere.folder.symlink_to(tmp_path)
    with pytest.raises(OSError, match="a link or a file"):
        elsewhere.write("mine", None, "x")
    assert elsewhere.left_behind() == []


def test_hundreds_of_drafts_and_other_files_block_no_start() -> None:
    drafts = Drafts()
    private(drafts.folder)
    for number in range(300):
        good = {**GOOD, "time_s": 1.7e9 + number, "name": f"{number}"}
        (drafts.folder / f"{number}-a.json").write_text(json.dumps(good))
        (drafts.folder / f"{number}-b.json").write_text("{damaged")
        (drafts.folder / f"{number}-c.json").symlink_to("/dev/zero")
        (drafts.folder / f"{number}-d.txt").write_text("foreign")
    started = time.monotonic()
    left = drafts.left_behind()
    assert time.monotonic() - started < 5.0
    assert [draft.name for _, draft in left] == [str(number) for number in range(299, -1, -1)]
    assert len(drafts.aside) == 300 and len(list(drafts.folder.iterdir())) == 1200


def test_unsaved_work_asks_before_it_takes_the_place_of_a_file_that_has_changed(tmp_path: Path) -> None:
    """Typed, killed, somebody else saves, taken up again: neither the newer file nor the work is lost."""
    path = case_in(tmp_path)
    session = Session.open(path, Drafts())
    session.put("vent.bore", "8 mm")
    session.keep_unsaved()
    session.drafts.release()  # type: ignore[union-attr]
    (_, draft), = Drafts().left_behind()
    assert not taken_up(draft).begun_on
    for newer in (SHELL + "# another hand\n", None):
        if newer is None:
            path.unlink()
        else:
            path.write_text(newer)
        again = taken_up(draft)
        with pytest.raises(ChangedUnderneath):
            again.save()
        again.keep_unsaved()  # and it stays so after another kill
        again.drafts.release()  # type: ignore[union-attr]
        kept = next(one for file, one in Drafts().left_behind() if file == again.drafts.file)  # type: ignore[union-attr]
        with pytest.raises(ChangedUnderneath):
            taken_up(kept).save()
        assert (path.read_text() if path.exists() else None) == newer
    again.save(over=True)
    assert "8 mm" in path.read_text()
    assert taken_up(replace(draft, base="")).begun_on  # written before files were told apart


def test_a_comment_stays_when_its_input_is_emptied_and_typed_anew(tmp_path: Path) -> None:
    session = Session.open(case_in(tmp_path), None)
    comment = "# a gauge port, all there is at the top"
    assert comment in session.text
    session.put("vent.bore", "")
    session.put("vent.bore", "8 mm")
    assert session.text == SHELL.replace('bore = "3 mm"  ', 'bore = "8 mm"  ')
    session.put("vent.bore", "")
    session.leave()
    session.put("test.pressure", "25 bar")
    session.leave("vent.bore")
    session.put("vent.bore", "9")
    session.put("vent.bore", "9 mm")
    line = next(line for line in session.text.splitlines() if line.startswith('bore = "9 mm"'))
    assert line.endswith(comment)
