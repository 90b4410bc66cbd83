"""The other way round: which hose, how little air and which drive pressure a given time allows."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

from fillcalc.units.printable import shown
from tui.widgets.dialogs import Ask, Pages

if TYPE_CHECKING:
    from fillcalc.case.records import Case
    from tui.places.host import Host

QUESTION = "Time for the fill; time for the pump-up"
HINT = "Such as 20 min; 60 s\nThe fill only: 20 min\nThe pump-up only, with the semicolon before it: ; 60 s"


async def ask_within(host: Host) -> None:
    """Ask for the times, work out what they allow off the screen's thread, and show it."""
    await host.settle()
    answered = host.session.answered
    if host.session.state != "now" or answered is None or answered.case is None:
        host.say("First correct what is marked.")
        return
    if answered.estimate is not None and answered.estimate.gas is not None:
        host.say("A test with gas has no fill and no pump-up to keep within a time.")
        return
    typed, wrong = "", ""
    while True:
        typed = await host.ask(Ask(QUESTION, typed, wrong=wrong, hint=HINT))
        if not typed:
            return
        try:
            fill_s, pump_s = times_of(typed)
            break
        except ValueError as problem:
            wrong = shown(str(problem))
    host.say("Trying hoses, air and drive pressures…")
    printed = await asyncio.to_thread(_worked_out, answered.case, fill_s, pump_s, host.units)
    host.say("Worked out.")
    await host.ask(Pages(printed))


def times_of(typed: str) -> tuple[float | None, float | None]:
    """The two times of a typed line, s; None for one that is not asked. Raises UnitProblem, which is a ValueError."""
    from fillcalc.units import read_quantity

    first, _, second = typed.partition(";")
    return tuple(read_quantity(part.strip(), "duration")[0] if part.strip() else None  # type: ignore[return-value]
                 for part in (first, second))


def _worked_out(case: Case, fill_s: float | None, pump_s: float | None, units: str) -> str:
    from fillcalc.formats.text import wrapped
    from fillcalc.present.choices import sought_sentences
    from fillcalc.questions.choices.sought import sought

    sentences = sought_sentences(sought(case, fill_s, pump_s), units)
    return "\n".join(["What a time allows, at this case", "", *(line for one in sentences for line in wrapped(one))])
