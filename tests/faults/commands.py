"""The command under circumstances that nobody chooses: closed pipes, full disks, strange locales, no home.

Each trial is a function of an empty folder that gives the faults it saw, none where all is well.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from functools import cache, partial
from pathlib import Path
from typing import Any

from tests.faults.judge import unsafe
from tests.faults.texts import ROOT, demos

LIMIT_S = 60.0
Settings = dict[str, str | None]

COMMANDS: dict[str, tuple[str, ...]] = {
    "estimate": ("estimate", "cooler-shell"), "JSON": ("estimate", "cooler-shell", "--json", "--charts"),
    "US units": ("estimate", "ammonia-line-us", "--units", "us"), "readings": ("readings", "cooler-shell"),
    "visit": ("visit", "condenser-first", "condenser-second"), "check": ("check", "cooler-shell"), "rules": ("rules",),
    "help": ("--help",), "nothing": ()}


def _env(around: Settings) -> dict[str, str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    for key, value in around.items():
        if value is None:
            env.pop(key, None)
        else:
            env[key] = value
    return env


def run(arguments: tuple[str, ...], folder: Path, around: Settings | None = None,
        **more: Any) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([sys.executable, "-m", "tui", *arguments], cwd=folder, env=_env(around or {}),
                          timeout=LIMIT_S, check=False, **{"capture_output": True, **more})


def said_well(ended: subprocess.CompletedProcess[bytes], code: int = 0, answers: bool = True) -> list[str]:
    """The exit code, no traceback, no warning, and nothing that a terminal would obey."""
    out, talk = (ended.stdout or b""), (ended.stderr or b"")
    faults = [] if ended.returncode == code else [f"exit {ended.returncode}, not {code}"]
    faults += [word for word in ("Traceback", "Warning", "Exception ignored") if word.encode() in out + talk]
    faults += [f"unsafe {sign}" for sign in sorted(unsafe((out + talk).decode("utf-8", "replace")))]
    return faults + (["no answer"] if answers and not out else [])


# --- pipes and disks --------------------------------------------------------------------------

def closed_pipe(arguments: tuple[str, ...], folder: Path) -> list[str]:
    """Nobody reads the answer."""
    reading, writing = os.pipe()
    os.close(reading)
    try:
        ended = run(arguments, folder, capture_output=False, stdin=subprocess.DEVNULL, stdout=writing,
                    stderr=subprocess.PIPE)
    finally:
        os.close(writing)
    return said_well(ended, answers=False)


def pipe_closed_early(arguments: tuple[str, ...], folder: Path) -> list[str]:
    """One byte is read, as by `head -c 1`."""
    child = subprocess.Popen([sys.executable, "-m", "tui", *arguments], cwd=folder, env=_env({}),
                             stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert child.stdout is not None and child.stderr is not None
    with child:
        child.stdout.read(1)
        child.stdout.close()
        talk = child.stderr.read()
        code = child.wait(LIMIT_S)
    return said_well(subprocess.CompletedProcess([], code, b"", talk), answers=False)


def full_device(arguments: tuple[str, ...], folder: Path) -> list[str]:
    """The answer cannot be written: exit 1 and a sentence."""
    with open("/dev/full", "wb") as full:
        ended = run(arguments, folder, capture_output=False, stdin=subprocess.DEVNULL, stdout=full,
                    stderr=subprocess.PIPE)
    return said_well(ended, 1, answers=False) + ([] if ended.stderr else ["not said"])


def closed_streams(arguments: tuple[str, ...], numbers: tuple[int, ...], folder: Path) -> list[str]:
    """Started with standard streams that are closed."""
    def close() -> None:
        for number in numbers:
            os.close(number)

    ended = run(arguments, folder, preexec_fn=close)
    return said_well(ended, answers=1 not in numbers)


# --- around it --------------------------------------------------------------------------------

@cache
def usual(arguments: tuple[str, ...]) -> bytes:
    """The answer in the environment that there is."""
    return run(arguments, ROOT).stdout


def surrounded(arguments: tuple[str, ...], around: Settings, folder: Path) -> list[str]:
    """The same numbers as ever, whatever the environment."""
    ended = run(arguments, folder, around)
    faults = said_well(ended)
    same = ended.stdout == usual(arguments) or not usual(arguments).isascii()
    return faults + ([] if same else ["another answer than usual"])


def from_nowhere(folder: Path) -> list[str]:
    """The folder it stands in is gone."""
    gone = folder / "gone"
    gone.mkdir()
    command = 'cd "$0" && rmdir "$0" && exec "$1" -m tui estimate cooler-shell'
    ended = subprocess.run(["sh", "-c", command, str(gone), sys.executable], env=_env({}), capture_output=True,
                           timeout=LIMIT_S, check=False)
    return said_well(ended)


def interrupted(sign: signal.Signals, folder: Path) -> list[str]:
    """A signal in the middle of it: an end without a traceback."""
    for wait_s in (0.03, 0.08, 0.15, 0.3):
        child = subprocess.Popen([sys.executable, "-m", "tui", "estimate", *["cooler-shell"] * 20], cwd=folder,
                                 env=_env({}), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                                 preexec_fn=partial(signal.signal, sign, signal.SIG_DFL))
        time.sleep(wait_s)
        child.send_signal(sign)
        _, talk = child.communicate(timeout=LIMIT_S)
        # before the first line of ours runs, the interpreter itself answers the signal
        if b"Traceback" in talk and b"main(" in talk:
            return [f"traceback after {wait_s} s: {talk[-400:].decode(errors='replace')}"]
    return []


def little_memory(folder: Path) -> list[str]:
    """A file far too large, with little memory: refused in words."""
    (folder / "large.toml").write_bytes(demos()["cooler-shell"] + b"#" * 200_000_000)
    ended = run(("estimate", "large.toml"), folder,
                preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (2_000_000_000, 2_000_000_000)))
    return said_well(ended, 1, answers=False) + ([] if b"kB" in ended.stderr else ["not said"])


# --- files ------------------------------------------------------------------------------------

def strange_file(make: Callable[[Path], str], folder: Path) -> list[str]:
    """What is no case: exit 1 and a sentence, for the three commands that read one."""
    name = make(folder)
    faults = []
    for command in ("estimate", "readings"):
        ended = run((command, name), folder, stdin=subprocess.DEVNULL)
        faults += said_well(ended, 1, answers=False) + ([] if ended.stderr else ["not said"])
    return faults + said_well(run(("check", name), folder), 1)


def _made(name: str, data: bytes) -> Callable[[Path], str]:
    def make(folder: Path) -> str:
        (folder / name).write_bytes(data)
        return name
    return make


def _pipe(folder: Path) -> str:
    os.mkfifo(folder / "pipe")
    return "pipe"


def _circle(folder: Path) -> str:
    (folder / "a").symlink_to("a")
    return "a"


STRANGE: dict[str, Callable[[Path], str]] = {
    "no such file": lambda folder: "nowhere.toml", "a folder": lambda folder: str(folder), "a pipe": _pipe,
    "a link in a circle": _circle, "an empty file": _made("empty.toml", b""), "a picture": _made(
        "picture.toml", b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 40),
    "a hostile name": _made("a\x1b[31m\u202e.toml", b"x"), "a long name": lambda folder: "x" * 5000,
    "a megabyte": _made("mega.toml", b"a = 1 # " + b"x" * 1_000_000),
    "UTF-16": _made("wide.toml", demos()["cooler-shell"].decode().encode("utf-16")),
    "a device without end": lambda folder: "/dev/zero"}


def alike(change: Callable[[bytes], bytes], folder: Path) -> list[str]:
    """The same case in another writing: byte for byte the same answer."""
    (folder / "one").mkdir()
    (folder / "two").mkdir()
    (folder / "one" / "job.toml").write_bytes(demos()["cooler-shell"])
    (folder / "two" / "job.toml").write_bytes(change(demos()["cooler-shell"]))
    one, two = (run(("estimate", "job.toml", "--json"), folder / name) for name in ("one", "two"))
    return said_well(two) + ([] if json.loads(one.stdout) == json.loads(two.stdout) else ["another answer"])


ALIKE: dict[str, Callable[[bytes], bytes]] = {
    "byte order mark": lambda data: b"\xef\xbb\xbf" + data, "CRLF": lambda data: data.replace(b"\n", b"\r\n"),
    "no last line end": lambda data: data.rstrip(b"\n"),
    "decimal commas": lambda data: data.replace(b'"3.2 bar"', b'"3,2 bar"').replace(b'"1.9 m"', b'"1,9 m"'),
    "blank lines and comments": lambda data: data.replace(b"\n", b"\n\n# \xc3\x84\n"),
    "tabs": lambda data: data.replace(b" = ", b"\t=\t")}

AROUND: dict[str, Settings] = {
    "LC_ALL=C": {"LC_ALL": "C"}, "POSIX": {"LC_ALL": "POSIX", "LANG": None},
    "C without UTF-8": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    "ASCII streams": {"PYTHONIOENCODING": "ascii:strict"}, "Latin-1 streams": {"PYTHONIOENCODING": "latin-1"},
    "a locale that is nowhere": {"LC_ALL": "xx_XX.UTF-8"}, "a German locale": {"LC_ALL": "de_DE.UTF-8"},
    "no HOME": {"HOME": None, "XDG_STATE_HOME": None}, "no PATH": {"PATH": None},
    "TERM=dumb": {"TERM": "dumb"}, "no TERM": {"TERM": None}, "NO_COLOR": {"NO_COLOR": "1"},
    "narrow COLUMNS": {"COLUMNS": "1"}, "warnings as errors": {"PYTHONWARNINGS": "error"},
    "python -O": {"PYTHONOPTIMIZE": "2"}, "another hash seed": {"PYTHONHASHSEED": "7"},
    "no bytecode": {"PYTHONDONTWRITEBYTECODE": "1"}, "another time zone": {"TZ": "Pacific/Kiritimati"}}

SURROUNDED = ("estimate", "US units")

TRIALS: dict[str, Callable[[Path], list[str]]] = {
    **{f"closed pipe: {name}": partial(closed_pipe, arguments) for name, arguments in COMMANDS.items()},
    **{f"pipe closed early: {name}": partial(pipe_closed_early, arguments) for name, arguments in COMMANDS.items()},
    **{f"full device: {name}": partial(full_device, arguments) for name, arguments in COMMANDS.items()
       if name != "help"},  # argparse itself writes the help, and says nothing where it cannot
    **{f"closed streams {numbers}: {name}": partial(closed_streams, COMMANDS[name], numbers)
       for name in ("estimate", "JSON", "nothing") for numbers in ((0,), (1,), (2,), (0, 1, 2))},
    **{f"{words}: {name}": partial(surrounded, COMMANDS[name], around)
       for name in SURROUNDED for words, around in AROUND.items()},
    "a folder that is gone": from_nowhere,
    "interrupted": partial(interrupted, signal.SIGINT), "terminated": partial(interrupted, signal.SIGTERM),
    "200 MB with little memory": little_memory,
    **{f"file: {name}": partial(strange_file, make) for name, make in STRANGE.items()},
    **{f"written with {name}": partial(alike, change) for name, change in ALIKE.items()}}
