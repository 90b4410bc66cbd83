"""Work on the disk, beside the screen: a file on a slow or lost drive must not hold up the keys."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from fillcalc.units.printable import shown

Result = TypeVar("Result")
MOST_BYTES = 4_000_000
"""A larger file is neither case nor kit."""


def demo_folder() -> Path:
    """Where the demo cases lie."""
    import cases

    return Path(cases.__file__).resolve().parent


def reason(error: Exception) -> str:
    """Why a file cannot be used, in words."""
    if isinstance(error, UnicodeDecodeError):
        return "is not text in UTF-8"
    if isinstance(error, FileNotFoundError):
        return "no such file"
    if isinstance(error, OSError):
        return shown(error.strerror or str(error))
    return shown(str(error))


async def beside(work: Callable[..., Result], *given: object) -> Result:
    """What the work returns or raises, done on a thread of its own; one that hangs does not hold up the end."""
    loop = asyncio.get_running_loop()
    done: asyncio.Future[Result] = loop.create_future()

    def tell(result: Result | None, fault: BaseException | None) -> None:
        if done.done():  # whoever asked has gone
            return
        if fault is None:
            done.set_result(result)  # type: ignore[arg-type]
        else:
            done.set_exception(fault)

    def run() -> None:
        try:
            result, fault = work(*given), None
        except Exception as error:
            result, fault = None, error
        if not loop.is_closed():
            loop.call_soon_threadsafe(tell, result, fault)

    threading.Thread(target=run, daemon=True, name="disk").start()
    return await done
