"""The kit: hoses and pumps of a kit file, put into the case with a key."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fillcalc.units.printable import shown
from tui.state.disk import MOST_BYTES, beside, demo_folder, reason
from tui.state.inputs import as_typed, raw
from tui.state.range_text import ranges_within, without_ranges
from tui.widgets.dialogs import Pick

if TYPE_CHECKING:
    from tui.places.host import Host
    from tui.state.session import Session

KIT = "kit.toml"
SITE = ("drive_pressure",)
"""What belongs to the place and not to the pump: the air that is there."""


def kit_file(session: Session) -> Path:
    """The kit beside the case, in the folder of work, or the one that comes with the demo cases."""
    near = [session.path.parent] if session.path else []
    return next((folder / KIT for folder in (*near, Path.cwd()) if (folder / KIT).is_file()), demo_folder() / KIT)


def kit_name(path: Path) -> str:
    """What a kit is called: its file, or that it is the one of the demo cases and nobody's own."""
    return "demo kit, not yours" if path.parent == demo_folder() else path.name


def load(path: Path) -> dict[str, Any]:
    """The kit as written, once the reader has found it fit; raises OSError or ValueError with the reason."""
    return load_with_bytes(path)[1]


def load_with_bytes(path: Path) -> tuple[bytes, dict[str, Any]]:
    """The kit as it lies on disk and as written; raises as `load` does."""
    from fillcalc.case.disk import read_ordinary
    from fillcalc.case.kit import read_kit
    from fillcalc.case.problems import CaseProblems

    data = read_ordinary(path, MOST_BYTES)
    try:
        read_kit(data, path.name)
    except CaseProblems as error:
        raise ValueError(str(error.problems[0])) from None
    return data, tomllib.loads(data.decode("utf-8-sig"))


async def take_hose(host: Host) -> None:
    await take(host, "hose")


async def take_pump(host: Host) -> None:
    await take(host, "pump")


async def take(host: Host, what: str) -> None:
    """Ask for a hose or a pump of the kit and put it in the place of the case's own."""
    path = await beside(kit_file, host.session)
    try:
        items = (await beside(load, path)).get(what, [])
    except (OSError, ValueError) as error:
        host.say(f"{shown(path.name)}: {reason(error)}")
        return
    if not items:
        host.say(f"{shown(path.name)} holds no {what}.")
        return
    names = [str(item.get("name", n + 1)) for n, item in enumerate(items)]
    chosen = await host.ask(Pick(f"Which {what}? ({shown(kit_name(path))})",
                                             [(str(n), shown(name)) for n, name in enumerate(names)]))
    if chosen:
        text = with_item(host.session.text, "fill.hose.1" if what == "hose" else "pump", items[int(chosen)])
        host.session.replace(text, "fill.hose.1.length" if what == "hose" else "pump.kind")
        await host.show_case()
        host.say(f"Taken: {shown(names[int(chosen)])}. Undo brings back what was there.")


def with_item(text: str, path: str, item: dict[str, object]) -> str:
    """The text with an item of the kit in the place of the table there; its comments stay where keys stay."""
    from fillcalc.case.edit import set_at

    old = raw(tomllib.loads(text), path)
    old = old if isinstance(old, dict) else {}
    stays = SITE if path == "pump" and old.get("kind") == item.get("kind") == "air-driven" else ()
    for key in old:
        if key not in item and key not in stays:
            text = set_at(text, f"{path}.{key}", None)
    text = without_ranges(text, [each for each in ranges_within(text, path) if each.rpartition(".")[2] not in stays])
    for key, value in item.items():
        if key != "name" or path == "pump":  # of a pump with a name the curve is learned
            text = set_at(text, f"{path}.{key}", as_typed(value))
    return text
