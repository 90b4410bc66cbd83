"""The answers on the screen: which lines stand there, in plain words, and the panel that shows them.

The lines are made by plain functions from an estimate; the panel only lays them out. An answer that
belongs to an older text carries the word "was".
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

if TYPE_CHECKING:
    from fillcalc.answers import Caution, Estimate
    from tui.session import Session

WEIGHTS = {"danger": "DANGER", "care": "Care", "note": "Note"}
ORDER = ("danger", "care", "note")
SAFETY = "For planning only. The written procedure and a competent person decide."


@dataclass(frozen=True)
class Line:
    """One line of answers: what it is, the figure that counts, and what stands beside it."""

    label: str
    value: str
    beside: str = ""
    heading: bool = False


Show = Callable[[Any, str], str]


def shown_in(units: str) -> Show:
    """How figures are written: value in SI and its family to text; a dash for what cannot be had."""
    from fillcalc.units import show as written

    def figure(value: Any, family: str) -> str:
        value = first(value)
        if value is None or not math.isfinite(value):
            return "–"
        return written(value, family, units)

    return figure


def first(value: Any) -> float | None:
    """The case as written: the number itself, or the first of an array over tries."""
    if value is None:
        return None
    flat = getattr(value, "flat", None)
    return float(flat[0] if flat is not None else value)


def known(value: Any) -> bool:
    number = first(value)
    return number is not None and math.isfinite(number)


def counted(value: Any) -> str:
    """Strokes as one counts them: up to the next whole one."""
    number = first(value)
    if number is None or not math.isfinite(number):
        return "–"
    whole = math.ceil(number - 1e-9)
    return f"{whole:,}".replace(",", " ") + (" stroke" if whole == 1 else " strokes")


def times(value: Any) -> str:
    number = first(value)
    if number is None or not math.isfinite(number):
        return "–"
    return f"{number:.1f} times" if number < 99.95 else f"{number:.0f} times"


# --- the main lines, in sight whatever is edited ------------------------------------------------

def main_lines(estimate: Estimate, units: str) -> list[Line]:
    """Fill time, pump-up, and what the air adds."""
    show = shown_in(units)
    return [_fill(estimate, show), _pump_up(estimate, show), _air(estimate, show)]


def on_site(estimate: Estimate | None, units: str) -> Line:
    """Time on site, low, middle and high; None while it is being worked out."""
    if estimate is None:
        return Line("On site", "working…", "low, middle and high take a moment")
    return _on_site(estimate, shown_in(units))


def _fill(estimate: Estimate, show: Show) -> Line:
    fill = estimate.fill
    flows = f"{show(fill.flow_start_m3_s, 'flow')} falling to {show(fill.flow_end_m3_s, 'flow')}"
    if not known(fill.time_s):
        return Line("Fill", "never full", f"stops at {show(fill.filled_share, 'share')} · starts with "
                                          f"{show(fill.flow_start_m3_s, 'flow')}")
    return Line("Fill", show(fill.time_s, "duration"), f"{show(fill.water_m3, 'volume')} · {flows}")


def _pump_up(estimate: Estimate, show: Show) -> Line:
    up = estimate.pressurise
    if known(up.time_s):
        needle = f" · needle lifts after {counted(up.strokes_before_needle)}" if known(up.strokes_before_needle) else ""
        strokes = f" · {counted(up.strokes)}" if known(up.strokes) else ""
        return Line("Pump up", show(up.time_s, "duration"), f"{show(up.water_m3, 'volume')}{strokes}{needle}")
    if known(up.stall_gauge_pa) and known(up.water_m3):
        return Line("Pump up", "stalls", f"at {show(up.stall_gauge_pa, 'pressure')}, test pressure "
                                         f"{show(up.test_gauge_pa, 'pressure')} · {show(up.water_m3, 'volume')}")
    return Line("Pump up", "–", "not before the vessel is full")


def _air(estimate: Estimate, show: Show) -> Line:
    up = estimate.pressurise
    amount = f"{show(estimate.trapped_share, 'share')} trapped, {show(estimate.trapped_air_m3, 'volume')}"
    if not known(up.times_air_free):
        return Line("Air adds", "–", amount)
    return Line("Air adds", times(up.times_air_free), f"{amount} · {show(up.water_no_air_m3, 'volume')} without air")


def _on_site(estimate: Estimate, show: Show) -> Line:
    visit = estimate.visit
    if visit is None or not known(visit.as_written_s):
        return Line("On site", "–", "not before every stage can be done")
    if not known(visit.middle_s):
        return Line("On site", show(visit.as_written_s, "duration"), "as written")
    low, middle, high = (show(v, "duration") for v in (visit.low_s, visit.middle_s, visit.high_s))
    return Line("On site", middle, f"middle · low {low} · high {high}")


def worst(cautions: Iterable[Caution]) -> list[Caution]:
    """The cautions, gravest first."""
    return sorted(cautions, key=lambda c: ORDER.index(c.weight) if c.weight in ORDER else 0)


# --- the rest, where there is room --------------------------------------------------------------

def more_lines(estimate: Estimate, units: str) -> list[Line]:
    """What stands below the main lines on a larger screen."""
    show = shown_in(units)
    return [*_filling(estimate, show), *_pumping(estimate, show), *_afterwards(estimate, show)]


def _filling(estimate: Estimate, show: Show) -> list[Line]:
    fill = estimate.fill
    lines = [Line("Filling", "", heading=True), Line("Vessel holds", show(estimate.volume_m3, "volume"),
                                                     f"water weighs {show(fill.water_kg, 'mass')}")]
    parts = lost_where(estimate)
    if parts:
        lines.append(Line("Held back by", f"{parts[0][0]}, {parts[0][1]:.0%}".replace("%", " %"),
                          " · ".join(f"{name} {share * 100:.0f} %" for name, share in parts[1:4] if share > 0.005)))
    if known(fill.air_peak_gauge_pa):
        lines.append(Line("Air at the vent", show(fill.air_peak_gauge_pa, "pressure"), "at most, while filling"))
    if known(fill.top_up_m3) and (first(fill.top_up_m3) or 0.0) > 0.0:
        lines.append(Line("Tap tops up", show(fill.top_up_m3, "volume"), show(fill.top_up_s, "duration")))
    return lines


def lost_where(estimate: Estimate) -> list[tuple[str, float]]:
    """Shares of the driving pressure by part, largest first."""
    from fillcalc.answers import answers

    shares = estimate.fill.shares
    found = [(said.label, first(getattr(shares, name))) for name, said in answers(type(shares)).items()]
    return sorted(((label, v) for label, v in found if v is not None and math.isfinite(v)), key=lambda p: -abs(p[1]))


def _pumping(estimate: Estimate, show: Show) -> list[Line]:
    up, regulator = estimate.pressurise, estimate.regulator
    lines = [Line("Pumping", "", heading=True)]
    if known(up.free_air_m3):
        lines.append(Line("Free air", show(up.free_air_m3, "volume"), "for the pump"))
    if known(up.stall_gauge_pa):
        beside = f"no friction {show(up.stall_no_friction_gauge_pa, 'pressure')}" \
            if known(up.stall_no_friction_gauge_pa) else ""
        lines.append(Line("Pump stalls at", show(up.stall_gauge_pa, "pressure"), beside))
    if regulator is not None:
        lowest, highest = regulator.lowest_gauge_pa, regulator.highest_gauge_pa
        if first(regulator.window):
            lines.append(Line("Regulator", f"{show(lowest, 'pressure')} to {show(highest, 'pressure')}",
                              f"limit {show(regulator.limit_gauge_pa, 'pressure')}"))
        elif known(regulator.limit_gauge_pa):
            lines.append(Line("Regulator", "no safe setting", f"needs {show(lowest, 'pressure')}, safe up to "
                                                              f"{show(highest, 'pressure')}"))
        else:
            lines.append(Line("Regulator", f"from {show(lowest, 'pressure')}", "no limit given, so no upper end"))
    return lines


def _afterwards(estimate: Estimate, show: Show) -> list[Line]:
    lines = [Line("Holding and after", "", heading=True)]
    if estimate.settle is not None and known(estimate.settle.drop_water_pa):
        lines.append(Line("Settling falls", show(estimate.settle.drop_water_pa, "pressure_change"),
                          f"air, at most {show(estimate.settle.drop_air_pa, 'pressure_change')}"))
    if estimate.hold is not None and known(estimate.hold.pressure_per_kelvin_pa):
        beside = f"a division lost means {show(estimate.hold.leak_per_division_m3_s, 'flow')}" \
            if known(estimate.hold.leak_per_division_m3_s) else ""
        lines.append(Line("Each degree", show(estimate.hold.pressure_per_kelvin_pa, "pressure_change"), beside))
    if estimate.release is not None and known(estimate.release.time_s):
        lines.append(Line("Release", show(estimate.release.time_s, "duration")))
    if estimate.drain is not None and known(estimate.drain.time_s):
        low = estimate.drain.lowest_abs_pa
        lines.append(Line("Drain", show(estimate.drain.time_s, "duration"),
                          f"lowest inside {show(low, 'pressure_abs')}" if known(low) else ""))
    if estimate.energy is not None and known(estimate.energy.air_j):
        energy = estimate.energy
        stored = sum(first(v) or 0.0 for v in (energy.water_j, energy.wall_j, energy.air_j))
        lines.append(Line("Stored energy", show(stored, "energy"),
                          f"air {show(energy.air_j, 'energy')} · all gas {show(energy.all_gas_j, 'energy')}"))
    return lines if len(lines) > 1 else []


# --- the panel ----------------------------------------------------------------------------------

SMALL_COLUMNS, WIDE_COLUMNS = (11, 11), (14, 15)
"""Width of the label and of the figure."""
WAS = 4


class Answers(Widget):
    """The answers of a session: six rows on a small screen, all of them on a larger one."""

    COMPONENT_CLASSES = {"answers--value", "answers--label", "answers--old", "answers--danger", "answers--heading",
                         "answers--beside"}

    waiting: reactive[bool] = reactive(False)
    """Something was typed that the session has not seen yet."""

    def __init__(self, session: Session, units: str, id: str | None = None) -> None:
        super().__init__(id=id)
        self.session = session
        self.units = units
        self.full = False

    def render(self) -> Content:
        return Content("\n").join(self.rows(self.size.width, self.size.height))

    def rows(self, width: int, height: int) -> list[Content]:
        session = self.session
        answered = session.answered
        if answered is None or answered.estimate is None:
            return self._nothing(width)
        old = self.waiting or session.state != "now"
        main = [(line, old) for line in main_lines(answered.estimate, self.units)]
        ranged = session.ranged
        main.append((on_site(ranged.estimate if ranged else None, self.units),
                     ranged is not None and (old or ranged.number != answered.number)))
        if not self.full:
            return [*(self._row(line, width, old) for line, old in main), *self._cautions(width, 2)]
        rows = [Content("")]
        for line, aged in main:
            rows += self._rows(line, width, aged)
        said = self._cautions(width, 99)
        more = [row for line in more_lines(answered.estimate, self.units) for row in self._rows(line, width, old)]
        most_said = max(5, height - len(rows) - len(more) - 2)
        if len(said) > most_said:
            said = self._cautions(width, most_said)
        room = max(0, height - len(rows) - len(said) - 2)
        return [*rows, Content(""), *said, Content(""), *more[:room]]

    def _nothing(self, width: int) -> list[Content]:
        problems = self.session.problems
        if not problems:
            return [Content(" Working it out…")]
        from fillcalc.shown import shown

        return [Content(f" No answers yet: {_inputs(len(problems))} to mend.").stylize("bold"),
                *(Content(shown(f" ! {p.path or f'line {p.line}'}: {p.expected or p.hint}")[:width])
                  for p in problems[:5])]

    def _row(self, line: Line, width: int, old: bool) -> Content:
        """One line of answers in one row, cut where it does not fit."""
        return self._start(line, old).append(self._beside(line, old)).truncate(max(1, width), ellipsis=True)

    def _rows(self, line: Line, width: int, old: bool) -> list[Content]:
        """One line of answers, what stands beside it going on in the rows below."""
        if line.heading:
            return [Content.styled(f" {line.label}", self._style("answers--heading"))]
        start, beside = self._start(line, old), self._beside(line, old)
        indent = start.cell_length
        if indent + beside.cell_length <= width or width - indent < 16:
            return [start.append(beside).truncate(max(1, width), ellipsis=True)]
        parts = beside.wrap(width - indent)
        return [start.append(parts[0]), *(Content(" " * indent) + part for part in parts[1:])]

    def _start(self, line: Line, old: bool) -> Content:
        label, value = WIDE_COLUMNS if self.full else SMALL_COLUMNS
        return Content.assemble(
            (f" {line.label:<{label}}", self._style("answers--label")),
            (f"{'was' if old else '':<{WAS}}", self._style("answers--old")),
            (f"{line.value:<{value}} ", self._style("answers--old" if old else "answers--value")))

    def _beside(self, line: Line, old: bool) -> Content:
        return Content.styled(line.beside, self._style("answers--old" if old else "answers--beside"))

    def _cautions(self, width: int, rows: int) -> list[Content]:
        """The gravest cautions in words, in so many rows; what does not fit is counted."""
        answered = self.session.answered
        said = worst(answered.cautions) if answered else []
        if not said:
            return [Content.styled(f" {SAFETY}", self._style("answers--label"))]
        lines: list[Content] = []
        left = len(said)
        for caution in said:
            word = WEIGHTS.get(caution.weight, caution.weight)
            style = self._style("answers--danger") if caution.weight == "danger" else ""
            body = Content.assemble((f"{word}: ", style), caution.text)
            wrapped = [Content(" ") + part for part in body.wrap(max(8, width - 2))]
            if len(lines) + len(wrapped) > rows:
                if lines:
                    break
                wrapped = wrapped[:rows]
                wrapped[-1] = wrapped[-1].truncate(max(1, width - 8), ellipsis=True)
            lines += wrapped
            left -= 1
        if left > 0:
            more = f" (+{left} more)"
            last = lines[-1].truncate(max(1, width - len(more) - 1), ellipsis=True)
            lines[-1] = Content.assemble(last, (more, self._style("answers--label")))
        return lines

    def _style(self, name: str) -> Any:
        return self.get_visual_style(name)


def _inputs(number: int) -> str:
    return "1 input" if number == 1 else f"{number} inputs"
