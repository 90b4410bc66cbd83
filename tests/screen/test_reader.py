"""What a terminal may send: every byte gives a key, a paste, a mark, or nothing; never a fault, never a hang."""

from __future__ import annotations

import random
from typing import Any

import pytest
from textual import events

from tests.families import few
from tui.terminal import reader as reading
from tui.terminal.reader import Reader


def of(data: bytes, pieces: int = 1 << 12, end: bool = True) -> list[Any]:
    """The events of the bytes, which come in pieces; then nothing more comes."""
    reader, came = Reader(), []
    for start in range(0, len(data), pieces):
        came += reader.feed(data[start:start + pieces])
    if end:
        reader._came -= 10.0
        came += reader.tick()
    return came


def keys(came: list[Any]) -> list[str]:
    return [event.key for event in came if isinstance(event, events.Key)]


@pytest.mark.parametrize("pieces", [1, 2, 3, 4096])
@pytest.mark.parametrize("data, wanted", [
    (b"12", ["1", "2"]), (b"\r\t\x7f\x11", ["enter", "tab", "backspace", "ctrl+q"]),
    (b"\x1b[A\x1b[6~\x1bOP\x1b[21~", ["up", "pagedown", "f1", "f10"]), (b"\x1bs", ["alt+s"]),
    (b"\x1b3", ["alt+3"]), (b"\x1b", ["escape"]),
    (b"\x1b\x1b", ["escape", "escape"]), (b"\x1b[1;5A", ["ctrl+up"]), (b"\x1b[97;5u", ["ctrl+a"]),
    ("°".encode(), ["degree_sign"])], ids=str)
def test_keys_however_they_are_split(data: bytes, wanted: list[str], pieces: int) -> None:
    assert keys(of(data, pieces)) == wanted


@pytest.mark.parametrize("data, wanted", [
    (b"3\xb12", ["3", "replacement_character", "2"]), (b"\xff\xfe1", ["replacement_character"] * 2 + ["1"]),
    (b"\xc3", []), (b"\x1b[99999999999u5", ["5"]), (b"\x1b[55296u5", ["5"]), (b"\x1b[1114112;;1114112u5", ["5"]),
    (b"\x1b[?62;4c5", ["5"]), (b"\x1b[>1;2;3c5", ["5"]), (b"\x1b]11;rgb:0/0/0\x075", ["5"]),
    (b"\x1b]11;rgb:0/0/0\x1b\\5", ["5"]), (b"\x1bP1$r0m\x1b\\5", ["5"]), (b"\x1b[200x5", ["5"]),
    (b"\x1b[1;2\x015", ["ctrl+a", "5"]), (b"\x1b[<999999999999999999;1;1M5", ["5"]), (b"\x1b[7", []),
    (b"\x1b[48;9999999;9999999;1;1t5", ["5"]), (b"\x1b[201~5", ["5"]), (b"\x1b[" + b"1;" * 5000 + b"A5", None)],
    ids=lambda data: repr(data)[:24])
def test_odd_reports_are_ignored_and_what_follows_is_not(data: bytes, wanted: list[str] | None) -> None:
    came = of(data)
    assert wanted is None or keys(came) == wanted
    assert not [event for event in came if isinstance(event, events.Resize)]


def test_a_paste_comes_whole_and_one_without_its_end_ends_by_time() -> None:
    assert [event.text for event in of(b"\x1b[200~80 m\nmore\x1b[201~x", 3) if isinstance(event, events.Paste)] == [
        "80 m\nmore"]
    reader = Reader()
    assert list(reader.feed(b"\x1b[200~80 m\x1b[20")) == [] and list(reader.tick()) == []
    reader._came -= reading.PASTE_S
    (paste,) = reader.tick()
    assert isinstance(paste, events.Paste) and paste.text.startswith("80 m")
    assert keys(list(reader.feed(b"\x11"))) == ["ctrl+q"]
    (paste,) = of(b"\x1b[200~" + b"9" * 1_000_000 + b"\x1b[201~")
    assert len(paste.text) <= 2 * reading.MOST_PASTED


@pytest.mark.parametrize("seed", few(range(20), 5))
def test_any_bytes_at_all_do_no_harm(seed: int) -> None:
    chance = random.Random(seed)
    parts = [*(bytes([byte]) for byte in b"\x1b[O;9uM<\xb1\xc3$?a\x00"), b"200~", b"201~"]
    data = b"".join(chance.choice(parts) if chance.random() < 0.7 else bytes([chance.randrange(256)])
                    for _ in range(3000))
    assert isinstance(of(data, chance.randrange(1, 50)), list)
    reader = Reader()
    list(reader.feed(data))
    reader._came -= 10.0
    list(reader.tick())
    assert keys(list(reader.feed(b"\x11")))[-1:] == ["ctrl+q"]
