"""Saving with a fault or a kill at every line of it, on disks that are full, closed or changed underneath.

Each trial is a name and a function of an empty folder that gives the faults it saw, none where all is well.
"""

from __future__ import annotations

import errno
import os
import resource
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, suppress
from functools import partial
from io import StringIO
from pathlib import Path
from types import FrameType
from typing import Any

from fillcalc.case import save as saving
from fillcalc.case.save import ANYTHING, ChangedUnderneath, save
from tui.state import drafts as drafts_module
from tui.state.drafts import Drafts

Trial = tuple[str, Callable[[Path], list[str]]]

OLD, NEW = b"old case\n" * 400, b"new case, longer\n" * 900
NOBODY = 65534
MOST_LINES = 200
"""A save has fewer lines than this; the walk ends by itself where a run comes through."""
STEPS = (errno.ENOSPC, errno.EIO, errno.EDQUOT, errno.EROFS, errno.EACCES)


# --- kinds of place ---------------------------------------------------------------------------

def _plain(folder: Path) -> Path:
    (folder / "job.toml").write_bytes(OLD)
    (folder / "job.toml").chmod(0o640)
    return folder / "job.toml"


def _linked(folder: Path) -> Path:
    (folder / "elsewhere").mkdir()
    (folder / "elsewhere" / "job.toml").write_bytes(OLD)
    (folder / "job.toml").symlink_to("elsewhere/job.toml")
    return folder / "job.toml"


def _absent(folder: Path) -> Path:
    return folder / "job.toml"


PLACES: dict[str, tuple[Callable[[Path], Path], Any]] = {
    "over a file": (_plain, OLD), "through a link": (_linked, OLD), "a new file": (_absent, None),
    "over whatever is there": (_plain, ANYTHING)}


# --- a fault at every line --------------------------------------------------------------------

class Reached(BaseException):
    """Not a fault of the disk: the process is about to end."""


def _at_line(file: str, wanted: int, then: Callable[[], None]) -> Callable[[FrameType, str, Any], Any]:
    """A trace function that does something at the n-th line that is run in a file, once."""
    seen = 0

    def trace(frame: FrameType, event: str, _arg: Any) -> Any:
        nonlocal seen
        if frame.f_code.co_filename != file:
            return None
        if event == "line":
            seen += 1
            if seen == wanted:
                then()
        return trace

    return trace


def _in_child(work: Callable[[], None], prepare: Callable[[], None] = lambda: None) -> int:
    """The wait status of a forked child that does the work; 0 where it came through, 1 where it raised."""
    child = os.fork()
    if child == 0:
        code = 1
        sys.dont_write_bytecode = True  # a limit on files would cut a module as well, and Python keep what is left
        try:
            prepare()
            work()
            code = 0
        except BaseException:
            code = 1
        finally:
            os._exit(code)
    return os.waitpid(child, 0)[1]


def _kill_me() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _whole(place: Path, was: Any) -> list[str]:
    """Nothing but the old file or the new one may be there."""
    try:
        now: bytes | None = place.read_bytes()
    except FileNotFoundError:
        now = None
    allowed = (NEW, None) if was is None else (OLD, NEW)
    return [] if now in allowed else [f"the file is broken: {len(now or b'')} bytes"]


def killed_at(line: int, kind: str, folder: Path) -> tuple[bool, list[str]]:
    """Kill -9 at a line of the save; whether that line was reached, and the faults."""
    make, was = PLACES[kind]
    place = make(folder)

    def work() -> None:
        sys.settrace(_at_line(saving.__file__, line, _kill_me))
        save(place, NEW, was)

    status = _in_child(work)
    if not os.WIFSIGNALED(status):
        return False, [] if place.read_bytes() == NEW else ["not saved, without a reason"]
    faults = _whole(place, was)
    save(place, NEW)  # the next save must not stumble over what was left
    return True, faults + ([] if place.read_bytes() == NEW else ["the next save fails"])


def failed_at(line: int, kind: str, fault: BaseException, folder: Path) -> tuple[bool, list[str]]:
    """An exception at a line of the save; whether that line was reached, and the faults."""
    make, was = PLACES[kind]
    place = make(folder)
    before = sorted(path.name for path in folder.rglob("*"))

    reached = False

    def fail() -> None:
        nonlocal reached
        reached = True
        sys.settrace(None)
        raise fault

    sys.settrace(_at_line(saving.__file__, line, fail))
    try:
        save(place, NEW, was)
        raised = False
    except BaseException:
        raised = True
    finally:
        sys.settrace(None)
    faults = _whole(place, was)
    if not raised:  # the end of the walk, or a fault that only costs an owner or an attribute
        return reached, faults + ([] if place.read_bytes() == NEW else ["not saved, without a reason"])
    extra = {path.name for path in folder.rglob("*")} - {*before, "job.toml"}
    return True, faults + [f"left behind: {name}" for name in extra if not name.endswith(".new")]


def _walk(one: Callable[[int, Path], tuple[bool, list[str]]], folder: Path) -> Iterator[list[str]]:
    for line in range(1, MOST_LINES):
        here = folder / str(line)
        here.mkdir()
        reached, faults = one(line, here)
        yield [f"line {line}: {fault}" for fault in faults]
        if not reached:
            return
    yield ["the walk never came to an end"]


def kills(kind: str, folder: Path) -> Iterator[list[str]]:
    """Faults of each kill, one for each line of the save."""
    return _walk(lambda line, here: killed_at(line, kind, here), folder)


def failures(kind: str, fault: BaseException, folder: Path) -> Iterator[list[str]]:
    return _walk(lambda line, here: failed_at(line, kind, fault, here), folder)


def draft_kills(folder: Path) -> Iterator[list[str]]:
    """The same for unsaved work: after a kill at any line the last draft that was written can be taken up."""
    def one(line: int, here: Path) -> tuple[bool, list[str]]:
        def work() -> None:
            drafts = Drafts(here)
            drafts.write("first", None, "job")
            sys.settrace(_at_line(drafts_module.__file__, line, _kill_me))
            drafts.write("second", None, "job")

        status = _in_child(work)
        drafts = [draft.text for _, draft in Drafts(here).left_behind()]
        return os.WIFSIGNALED(status), [] if drafts in (["first"], ["second"]) else [f"left behind: {drafts}"]

    return _walk(one, folder)


# --- torn writes ------------------------------------------------------------------------------

CUTS = (0, 1, 100, 511, 4096, len(OLD), len(NEW) - 1)
"""After so many bytes of a file the system cuts the write and kills the process."""


def torn(kind: str, folder: Path) -> Iterator[list[str]]:
    """A write that is cut after each of some numbers of bytes, and the process killed inside it: the system's own limit
    on the size of files does it, whichever way the bytes are written."""
    for cut in CUTS:
        here = folder / str(cut)
        here.mkdir()
        make, was = PLACES[kind]
        place = make(here)

        def limit(cut: int = cut) -> None:
            signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
            resource.setrlimit(resource.RLIMIT_FSIZE, (cut, cut))

        status = _in_child(partial(save, place, NEW, was), limit)  # type: ignore[arg-type]
        faults = [] if os.WIFSIGNALED(status) else ["the write was not cut"]
        faults += _whole(place, was)
        save(place, NEW)
        yield [f"cut at {cut}: {fault}" for fault in faults]


def torn_drafts(folder: Path) -> Iterator[list[str]]:
    """The same for unsaved work: the draft before it can still be taken up."""
    for cut in CUTS[:-2]:
        here = folder / str(cut)

        def work(here: Path = here, cut: int = cut) -> None:
            drafts = Drafts(here)
            drafts.write("first", None, "job")
            signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
            resource.setrlimit(resource.RLIMIT_FSIZE, (cut, cut))
            drafts.write("second" * 3000, None, "job")

        status = _in_child(work)
        left = [draft.text for _, draft in Drafts(here).left_behind()]
        faults = [] if os.WIFSIGNALED(status) else ["the write was not cut"]
        yield faults + ([] if left == ["first"] else [f"cut at {cut}, left behind: {left}"])


def power_lost(kind: str, folder: Path) -> Iterator[list[str]]:
    """The order in which a save reaches the disk: no name may point at bytes that a loss of power would take, and the
    folder must be on the disk before the save says that it is done."""
    make, was = PLACES[kind]
    place = make(folder)
    synced: dict[tuple[int, int], int] = {}
    faults: list[str] = []

    def state(of: Any) -> tuple[tuple[int, int], int]:
        status = os.stat(of)
        return (status.st_dev, status.st_ino), status.st_size

    def fsync(handle: int) -> None:
        real["fsync"](handle)
        key, size = state(handle)
        synced[key] = size

    def named(name: str, source: Any, target: Any, **more: Any) -> None:
        key, size = state(source)
        if synced.get(key) != size:
            faults.append(f"{name} before the bytes are on the disk")
        synced.pop(state(Path(target).parent)[0], None)
        real[name](source, target, **more)

    real = {name: getattr(os, name) for name in ("fsync", "replace", "rename", "link")}
    try:
        os.fsync = fsync
        for name in ("replace", "rename", "link"):
            setattr(os, name, partial(named, name))
        save(place, NEW, was)
    finally:
        for name, call in real.items():
            setattr(os, name, call)
    target = Path(os.path.realpath(place))
    key, size = state(target)
    faults += [] if synced.get(key) == size == len(NEW) else ["done before the bytes are on the disk"]
    faults += [] if state(target.parent)[0] in synced else ["done before the folder is on the disk"]
    yield faults


def torn_walks() -> Iterator[tuple[str, Callable[[Path], Iterator[list[str]]]]]:
    """Every write that is cut, and the order of every save."""
    for kind in PLACES:
        yield f"a write cut, {kind}", partial(torn, kind)
        yield f"power lost, {kind}", partial(power_lost, kind)
    yield "a write of unsaved work cut", torn_drafts


FAULTS: tuple[BaseException, ...] = (
    *(OSError(number, os.strerror(number)) for number in STEPS), MemoryError(), KeyboardInterrupt(), Reached())


def walks() -> Iterator[tuple[str, Callable[[Path], Iterator[list[str]]]]]:
    """Every walk through a save: one trial for each line of it."""
    for kind in PLACES:
        yield f"kill -9 at each line, {kind}", partial(kills, kind)
        for fault in FAULTS:
            yield f"{fault!r} at each line, {kind}", partial(failures, kind, fault)
    yield "kill -9 at each line of keeping unsaved work", draft_kills


# --- disks and folders ------------------------------------------------------------------------

def _refused(place: Path, was: Any = OLD, unlike: type[BaseException] = OSError) -> list[str]:
    """A save that must be refused with a reason; the old file must stand, and nothing beside it."""
    try:
        save(place, NEW, was)
    except unlike as error:
        return [] if str(error) else ["refused without a reason"]
    except BaseException as error:
        return [f"{type(error).__name__} is no reason for a person"]
    return ["saved where that cannot be"]


def _only_old(place: Path) -> list[str]:
    names = sorted(path.name for path in place.parent.iterdir())
    return ([] if place.read_bytes() == OLD else ["the old file is broken"]) + (
        [] if names == ["job.toml"] else [f"left behind: {names}"])


def _child_says(work: Callable[[], list[str]], prepare: Callable[[], None]) -> list[str]:
    """The faults that a child sees under other circumstances."""
    reading, writing = os.pipe()

    def tell() -> None:
        os.write(writing, "\n".join(work()).encode())

    status = _in_child(tell, prepare)
    os.close(writing)
    with os.fdopen(reading, "rb") as said:
        found = said.read().decode()
    return [line for line in found.split("\n") if line] + ([] if status == 0 else [f"the child ended with {status}"])


def small_files(folder: Path) -> list[str]:
    """A limit on the size of files: the write fails half-way."""
    place = _plain(folder)

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))

    return _child_says(lambda: _refused(place), limit) + _only_old(place)


def nothing_half_made(folder: Path) -> list[str]:
    """A new case and a copy of answers where there is no room: nothing is left that would block the next try."""
    from tui.command.main import main
    from tui.places.reports import _write_copy

    def limit() -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))

    def work() -> list[str]:
        with redirect_stderr(StringIO()):  # which may be a file too, with no more room than another
            made = main(["new", str(folder / "job.toml")])
        faults = [] if made == 1 else ["a new case where there is no room"]
        try:
            _write_copy(folder, "job-answers", "x" * 5000, {})
            faults.append("a copy where there is no room")
        except OSError as error:
            faults += [] if error.errno == errno.EFBIG else [f"refused for another reason: {error}"]
        return faults

    faults = _child_says(work, limit) + [f"left behind: {path.name}" for path in folder.iterdir()]
    faults += [] if main(["new", str(folder / "job.toml")]) == 0 else ["the next new case is blocked"]
    return faults + ([] if (folder / "job.toml").stat().st_size > 1000 else ["the new case is empty"])


def no_more_files(folder: Path) -> list[str]:
    """No file can be opened any more."""
    place = _plain(folder)
    return _child_says(lambda: _refused(place), lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (4, 4))) + _only_old(
        place)


def read_only_folder(folder: Path) -> list[str]:
    """A folder in which nothing may be made; as root the trial is made as nobody."""
    folder.chmod(0o755)
    place = _plain(folder)
    place.chmod(0o644)
    folder.chmod(0o555)
    try:
        return _child_says(lambda: _refused(place), _as_nobody) + _only_old(place)
    finally:
        folder.chmod(0o755)


def _as_nobody() -> None:
    if os.getuid() == 0:
        os.setgid(NOBODY)
        os.setuid(NOBODY)


def full_disk(folder: Path) -> list[str]:
    """A real disk of 16 kB that is full; where none can be mounted, the limit on files stands in."""
    if os.getuid() != 0 or subprocess.run(["mount", "-t", "tmpfs", "-o", "size=16k", "tmpfs", str(folder)],
                                          capture_output=True, check=False).returncode:
        return small_files(folder)
    try:
        place = _plain(folder)
        with suppress(OSError), open(folder / "job.toml", "r+b") as file:
            file.flush()
        faults = _refused(place) + _only_old(place)
        drafts = Drafts(folder / "state")
        try:
            drafts.write("x" * 50_000, None, "job")
            faults.append("unsaved work kept where there is no room")
        except OSError:
            pass
        return faults
    finally:
        subprocess.run(["umount", str(folder)], check=False, capture_output=True)


def changed_underneath(folder: Path) -> list[str]:
    place = _plain(folder)
    place.write_bytes(b"another hand")
    faults = _refused(place, OLD, ChangedUnderneath)
    return faults + ([] if place.read_bytes() == b"another hand" else ["another hand's work is lost"])


def gone(folder: Path) -> list[str]:
    place = _plain(folder)
    place.unlink()
    return _refused(place, OLD, ChangedUnderneath) + (["made anew"] if place.exists() else [])


def appeared(folder: Path) -> list[str]:
    return _refused(_plain(folder), None, ChangedUnderneath) + _only_old(folder / "job.toml")


def link_and_mode_kept(folder: Path) -> list[str]:
    faults = []
    for mode in (0o600, 0o640, 0o644, 0o664, 0o755, 0o400):
        here = folder / f"{mode:o}"
        here.mkdir()
        link = _linked(here)
        link.chmod(mode)
        save(link, NEW, OLD, agreed=mode == 0o400)
        faults += [] if link.is_symlink() and link.read_bytes() == NEW else [f"{mode:o}: the link is gone"]
        faults += [] if link.stat().st_mode & 0o777 == mode else [f"{mode:o}: the mode is another"]
    return faults


def no_file(folder: Path) -> list[str]:
    """A folder, a pipe, a device, a link in a circle, no such folder, no name."""
    os.mkfifo(folder / "pipe")
    (folder / "circle").symlink_to("circle")
    places = [folder, folder / "pipe", Path("/dev/null"), Path("/dev/full"), folder / "circle",
              folder / "none" / "job.toml", folder / ("x" * 300)]
    return [f"{place.name}: {fault}" for place in places for fault in _refused(place, ANYTHING)]


DISKS: dict[str, Callable[[Path], list[str]]] = {
    "a full disk": full_disk, "a limit on the size of files": small_files,
    "nothing half made": nothing_half_made, "no file can be opened": no_more_files,
    "a folder that is read-only": read_only_folder, "a file changed underneath": changed_underneath,
    "a file that is gone": gone, "a file that appeared": appeared, "links and modes kept": link_and_mode_kept,
    "what is no file": no_file}
