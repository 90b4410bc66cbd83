"""The session without a terminal: text, way back, answers, file, unsaved work."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from fillcalc.case.save import ChangedUnderneath
from tests.screen.support import SHELL, case_in
from tui.session import Request, Session, work_out
from tui.unsaved import Desk


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
    problem = session.problem_at("fill.hose.1.length")
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
    session = Session.open(path, Desk())
    session.put("vent.bore", "8 mm")
    session.keep_unsaved()
    left = Desk().left_behind()
    assert [draft.text for _, draft in left] == [session.text]
    assert left[0][1].path == str(path)
    session.save()
    assert Desk().left_behind() == []


def test_unsaved_work_of_a_running_screen_is_not_offered(tmp_path: Path) -> None:
    session = Session.open(case_in(tmp_path), Desk())
    session.put("vent.bore", "8 mm")
    session.keep_unsaved()
    assert session.desk is not None
    file = session.desk.file
    file.write_text(file.read_text().replace(f'"process": {os.getpid()}', f'"process": {os.getppid()}'))
    assert Desk().left_behind() == []


def test_a_damaged_draft_is_left_alone() -> None:
    desk = Desk()
    desk.folder.mkdir(parents=True)
    (desk.folder / "1-x.json").write_text("{")
    (desk.folder / "2-x.json").write_text('{"text": 1}')
    assert desk.left_behind() == []
