"""The place Cautions: all that this case raises, the worst first; then what was assumed, and how to find it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from tui.places.place import Place, joined

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject


class Cautions(Place):
    """What can hurt someone or spoil the job."""

    def parts(self, now: Subject, ranged: Subject | None, width: int, height: int) -> Sequence[Content]:
        from fillcalc.present.gas import gas_safety
        from fillcalc.present.sentences import safety

        gas = now.estimate.gas is not None
        title = "True of every test with gas" if gas else "True of every job"
        said = gas_safety(now.units, now.case) if gas else safety(now.units)
        return joined([*self.heading("Cautions of this case", width), *self._raised(width)], self._assumed(now, width),
                      self.said(title, said[1:], width))

    def _raised(self, width: int) -> list[Content]:
        from fillcalc.case.names import name_of

        answered = self.host.session.answered
        lines: list[Content] = []
        for caution in answered.cautions if answered is not None else ():
            grave = "danger" if caution.weight == "danger" else "strong"
            by = f" Raised by: {name_of(caution.path, self.host.units)}." if caution.path else ""
            lines += self.led(f"{caution.weight.upper()}: ", grave, caution.text, width, by)
        return lines or [Content(" None.")]

    def _assumed(self, now: Subject, width: int) -> list[Content]:
        """What nobody gave: the value taken, why, and how the true one is found."""
        from fillcalc.case.names import capital, declared_at
        from fillcalc.present.inputs import as_read, assumed, assumed_value, read_out
        from fillcalc.units.printable import shown

        doubtful, usual = assumed(now.case)
        lines: list[Content] = []
        for item in (*doubtful, *usual):
            said = declared_at(item.path, now.case)
            find = f" To find it: {said.recipe}." if said is not None and said.recipe else ""
            value = read_out(assumed_value(now.case, item, now.units))
            name, value = as_read(now.case, item.path, value, now.units)
            lines += self.led(f"{capital(name)} ", "strong", f"{value}: {shown(item.why)}.", width, find)
        return [*self.heading("Assumed, because the case does not say", width), *lines] if lines else []
