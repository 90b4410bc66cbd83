"""From the words of a row to the public functions of the package.

No physics stands here: an adapter builds the records that a function takes, calls it, and takes the one
number out of what comes back. Adapters take SI and give SI.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.published import after, closed, gases, lines, media, plates, pumps, vents, vessels, work

ADAPTERS: dict[str, Callable[..., Any]] = {
    **media.ADAPTERS,
    **vessels.ADAPTERS,
    **plates.ADAPTERS,
    **closed.ADAPTERS,
    **lines.ADAPTERS,
    **vents.ADAPTERS,
    **pumps.ADAPTERS,
    **after.ADAPTERS,
    **work.ADAPTERS,
    **gases.ADAPTERS,
}
