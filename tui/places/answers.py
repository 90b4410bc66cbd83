"""The answers on the screen: which lines stand there, in plain words, and the panel that shows them.

The lines are made by plain functions from an estimate; the panel only lays them out. An answer that
belongs to an older text carries the word "was".
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from fillcalc.case.names import place_of
from tui.widgets.listing import Reversible

if TYPE_CHECKING:
    from fillcalc.case.records import Case
    from fillcalc.estimation.answers import Estimate
    from fillcalc.estimation.regulator import Window
    from fillcalc.questions.readings.answer import ReadingsAnswer
    from tui.state.session import Answered, Session

SAFETY = "For planning only. The written procedure decides."


@dataclass(frozen=True)
class Line:
    """One line of answers: what it is, the figure that counts, and what stands beside it."""

    label: str
    value: str = ""
    beside: tuple[str, ...] = ()
    """What stands beside it, what matters most first; the last ones go where there is no room."""
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


def span(start: str, end: str) -> str:
    """From one figure to another, the unit once where it is the same."""
    number, _, unit = start.partition(" ")
    return f"{number} to {end}" if end.partition(" ")[2] == unit else f"{start} to {end}"


# --- the main lines, in sight whatever is edited ------------------------------------------------

def main_lines(estimate: Estimate, units: str, readings: ReadingsAnswer | None = None) -> list[Line]:
    """Fill time, pump-up, and what the air adds; what the readings of the case tell of that, where it has some."""
    show = shown_in(units)
    pump_up = _pump_up(estimate, show)
    if readings is not None and readings.reached.stop:
        pump_up = replace(pump_up, beside=(_stop(readings), *pump_up.beside))
    return [_fill(estimate, show), pump_up, _air(estimate, show, readings)]


def _stop(readings: ReadingsAnswer) -> str:
    """What the readings say of pumping on, in short."""
    return "STOP: above the pressure limit" if readings.reached.above_limit else "stop: test pressure is reached"


def on_site(estimate: Estimate | None, units: str) -> Line:
    """Time on site, low, likely and high; None while it is being worked out."""
    if estimate is None:
        return Line("On site, middle", "working…", ("low and high take a moment",))
    return _on_site(estimate, shown_in(units), units)


def _fill(estimate: Estimate, show: Show) -> Line:
    fill = estimate.fill
    start = show(fill.flow_start_m3_s, "flow")
    if not known(fill.time_s):
        return Line("Fill", "never full", (f"stops at {show(fill.filled_share, 'share')}", f"starts with {start}"))
    return Line("Fill", show(fill.time_s, "duration"),
                (show(fill.water_m3, "volume"), span(start, show(fill.flow_end_m3_s, "flow"))))


def _pump_up(estimate: Estimate, show: Show) -> Line:
    up = estimate.pressurise
    water = show(up.water_m3, "volume")
    if known(up.time_s):
        strokes = (counted(up.strokes),) if known(up.strokes) else ()
        needle = (f"needle lifts at {show(up.strokes_before_needle, 'strokes')}",) \
            if known(up.strokes_before_needle) else ()
        return Line("Pump up", show(up.time_s, "duration"), (water, *strokes, *needle))
    if known(up.stall_gauge_pa) and known(up.water_m3):
        stops = "stalls" if known(up.stall_no_friction_gauge_pa) else "too hard"
        return Line("Pump up", stops, (f"at {show(up.stall_gauge_pa, 'pressure')}, test pressure "
                                          f"{show(up.test_gauge_pa, 'pressure')}", water))
    return Line("Pump up", "–", ("not before the vessel is full",))


def _air(estimate: Estimate, show: Show, readings: ReadingsAnswer | None) -> Line:
    up = estimate.pressurise
    amount = f"{show(estimate.trapped_share, 'share')}, {show(estimate.trapped_air_m3, 'volume')} of air"
    if readings is not None and known(readings.share.likely):
        read = show(readings.share.likely, "share")
        return Line("Air adds", times(up.times_air_free), (f"{show(estimate.trapped_share, 'share')}; readings {read}",
                                                           f"{show(up.water_no_air_m3, 'volume')} without"))
    if not known(up.times_air_free):
        return Line("Air adds", "–", (amount,))
    return Line("Air adds", times(up.times_air_free), (f"{show(up.water_no_air_m3, 'volume')} without", amount))


def _on_site(estimate: Estimate, show: Show, units: str) -> Line:
    from fillcalc.present.never import visit_sentences

    visit = estimate.visit
    if visit is None:
        return Line("On site", "–", ("not before every stage can be done",))
    low, likely, high = (show(v, "duration") if known(v) else "never"
                         for v in (visit.low_s, visit.likely_s, visit.high_s))
    ends = () if likely == low == "never" else (f"low {low}", f"high {high}")
    told = tuple(sentence.rstrip(".") for sentence in visit_sentences(visit, units))
    return Line("On site, middle", likely, (*ends, *told))


# --- the rest, where there is room --------------------------------------------------------------

def more_lines(case: Case, estimate: Estimate, units: str) -> list[Line]:
    """What stands below the main lines on a larger screen."""
    show = shown_in(units)
    return [*_filling(estimate, show, units), *_pumping(case, estimate, show), *_afterwards(estimate, show)]


def _filling(estimate: Estimate, show: Show, units: str) -> list[Line]:
    from fillcalc.present.sentences import trade

    fill = estimate.fill
    lines = [Line("Filling", heading=True), Line("Vessel holds", show(estimate.volume_m3, "volume"),
                                                 (f"water weighs {show(fill.water_kg, 'mass')}",))]
    parts = lost_where(estimate, units)
    if parts:
        rest = tuple(f"{name} {share * 100:.0f} %" for name, share in parts[1:4] if share > 0.005)
        lines.append(Line("Held back by", f"{parts[0][1] * 100:.0f} %", (parts[0][0], *rest)))
    if known(fill.air_peak_gauge_pa):
        lines.append(Line("Air at the vent", show(fill.air_peak_gauge_pa, "pressure"), ("at most, while filling",)))
    if known(fill.top_up_m3) and (first(fill.top_up_m3) or 0.0) > 0.0:
        lines.append(Line(f"{trade('Tap', units)} tops up", show(fill.top_up_m3, "volume"),
                          (show(fill.top_up_s, "duration"),)))
    return lines


def lost_where(estimate: Estimate, units: str = "metric") -> list[tuple[str, float]]:
    """Shares of the driving pressure by part, largest first."""
    from fillcalc.estimation.answers import answers
    from fillcalc.present.sentences import trade

    shares = estimate.fill.shares
    found = [(trade(said.label, units), first(getattr(shares, name))) for name, said in answers(type(shares)).items()]
    return sorted(((label, v) for label, v in found if v is not None and math.isfinite(v)), key=lambda p: -abs(p[1]))


def _pumping(case: Case, estimate: Estimate, show: Show) -> list[Line]:
    from fillcalc.cautions.rule import setting_window

    up = estimate.pressurise
    lines = [Line("Pumping", heading=True)]
    if known(up.strokes_before_needle):
        lines.append(Line("Needle lifts at", show(up.strokes_before_needle, "strokes"),
                          ("strokes; until then it stands still",)))
    if known(up.free_air_m3) and up.free_air_m3 > 0:
        lines.append(Line("Free air", show(up.free_air_m3, "air_volume"), ("for the pump",)))
    if known(up.stall_gauge_pa):
        steady = known(up.stall_no_friction_gauge_pa)
        beside = (f"at most {show(up.stall_no_friction_gauge_pa, 'pressure')}",) if steady else ("does not stall",)
        lines.append(Line("Pump stalls at" if steady else "Hand pump up to", show(up.stall_gauge_pa, "pressure"),
                          beside))
    window = setting_window(case, estimate)
    if window is not None:
        lines.append(_regulator_line(window, show))
    return lines


def _regulator_line(window: Window, show: Show) -> Line:
    """The one setting of the regulator, and what it lies between."""
    lowest = show(window.lowest, "pressure")
    if not math.isfinite(window.advised):
        highest = show(max(window.highest, 0.0), "pressure")
        return Line("Set regulator", "no setting", (f"needs {lowest}, safe up to {highest}",))
    if not math.isfinite(window.highest):
        beside = (f"above {lowest}", "no limit given")
    elif window.relies:
        beside = (f"above {lowest}", "only the relief valve guards")
    else:
        beside = (f"{lowest} to {show(window.highest, 'pressure')}",
                  "relief valve" if window.relief else f"limit {show(window.limit, 'pressure')}")
    return Line("Set regulator", show(window.advised, "pressure"), beside)


def _afterwards(estimate: Estimate, show: Show) -> list[Line]:
    lines = [Line("Holding and after", heading=True)]
    settle, hold, drain, energy = estimate.settle, estimate.hold, estimate.drain, estimate.energy
    if settle is not None and known(settle.drop_water_pa):
        lines.append(Line("Settling falls", show(settle.drop_water_pa, "pressure_change"),
                          (f"air, at most {show(settle.drop_air_pa, 'pressure_change')}",)))
    if hold is not None and known(hold.pressure_per_kelvin_pa):
        beside = (f"one division lost: {show(hold.leak_per_division_m3_s, 'flow')}",) \
            if known(hold.leak_per_division_m3_s) else ()
        lines.append(Line("Each degree", show(hold.pressure_per_kelvin_pa, "pressure_change"), beside))
    if estimate.release is not None and known(estimate.release.time_s):
        lines.append(Line("Release", show(estimate.release.time_s, "duration")))
    if drain is not None and known(drain.time_s):
        low = drain.lowest_abs_pa
        lines.append(Line("Drain", show(drain.time_s, "duration"),
                          (f"lowest inside {show(low, 'pressure_abs')}",) if known(low) else ()))
    if energy is not None and known(energy.air_j):
        stored = sum(first(v) or 0.0 for v in (energy.water_j, energy.wall_j, energy.air_j))
        lines.append(Line("Stored energy", show(stored, "energy"),
                          (f"air {show(energy.air_j, 'energy')}", f"all gas {show(energy.all_gas_j, 'energy')}")))
    return lines if len(lines) > 1 else []


# --- the panel ----------------------------------------------------------------------------------

LABEL, WAS, VALUE, KEPT = 16, 4, 11, 13
"""Columns of the label, of the word "was", of the figure, and of a figure that is kept."""


class Answers(Reversible, Widget):
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
        ranged = session.ranged
        on_site_old = ranged is not None and (old or ranged.number != answered.number)
        if session.kept is not None:
            main = self._kept(session.kept, width, old)
        else:
            main = [self._row(line, width, old) for line in main_lines(answered.estimate, self.units,
                                                                               answered.readings)]
            main.append(self._row(on_site(ranged.estimate if ranged else None, self.units), width, on_site_old))
        if not self.full:
            return [*main, *self._cautions(width, 2)]
        assert answered.case is not None  # there is an estimate
        more = [self._row(line, width, old) for line in more_lines(answered.case, answered.estimate, self.units)]
        said = self._cautions(width, max(5, height - len(main) - len(more) - 3))
        safety = Content.styled(f" {SAFETY}", self._style("answers--label")).truncate(max(1, width), ellipsis=True)
        rows = [safety, *main, Content(""), *said, Content(""), *more]
        if len(rows) + 4 <= height:
            rows.append(Content(""))
            for sentence in answered.sentences:
                rows += [Content(f" {part}") for part in Content(sentence).wrap(max(8, width - 2))]
        return rows[:max(1, height)]

    def _nothing(self, width: int) -> list[Content]:
        problems = self.session.problems
        if not problems:
            return [Content(" Working it out…")]
        from fillcalc.units.printable import shown
        from tui.places.field_help import problem_words

        to_do = "must be given" if all((p.expected or "").startswith("needed") for p in problems) else "to mend"
        return [Content(f" No answers yet: {_inputs(len(problems))} {to_do}.").stylize("bold"),
                *(Content(shown(f" ! {place_of(p.path) if p.path else f'line {p.line}'}: ")
                          + problem_words(p, self.units)).truncate(max(1, width), ellipsis=True)
                  for p in problems[:5])]

    def _kept(self, kept: Answered, width: int, old: bool) -> list[Content]:
        """The main answers, kept and now, with the difference."""
        from tui.places.compare import main_pairs

        session = self.session
        if kept.estimate is None or session.answered is None or session.answered.estimate is None:
            return []
        now = session.answered.estimate
        if session.ranged is not None and session.ranged.number == session.answered.number:
            now = session.ranged.estimate or now
        label = self._style("answers--label")
        rows = [Content.styled(f" {'':<{LABEL}}{'Kept':<{KEPT}}{'Was' if old else 'Now':<{KEPT}}Difference", label)]
        style = self._style("answers--old" if old else "answers--value")
        rows += [Content.assemble((f" {p.label:<{LABEL}}", label), f"{p.kept:<{KEPT}}", (f"{p.now:<{KEPT}}", style),
                                  p.difference).truncate(max(1, width), ellipsis=True)
                 for p in main_pairs(kept.estimate, now, self.units)]
        return rows

    def _row(self, line: Line, width: int, old: bool) -> Content:
        """One line of answers in one row, without the last things beside it where there is no room."""
        if line.heading:
            return Content.assemble(" ", (line.label, self._style("answers--heading")))
        start = Content.assemble(
            (f" {line.label:<{LABEL}}", self._style("answers--label")),
            (f"{'was' if old else '':<{WAS}}", self._style("answers--old")),
            (f"{line.value:<{VALUE}} ", self._style("answers--old" if old else "answers--value")))
        beside = line.beside
        while len(beside) > 1 and start.cell_length + len(" · ".join(beside)) > width:
            beside = beside[:-1]
        words = Content.styled(" · ".join(beside), self._style("answers--old" if old else "answers--beside"))
        return start.append(words).truncate(max(1, width), ellipsis=True)

    def _cautions(self, width: int, rows: int) -> list[Content]:
        """The gravest cautions in words, in so many rows; what does not fit is counted."""
        answered = self.session.answered
        said = answered.cautions if answered else ()
        if not said:
            return [] if self.full else [Content.styled(f" {SAFETY}", self._style("answers--label"))]
        lines: list[Content] = []
        left = len(said)
        for caution in said:
            word = caution.weight.upper()
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
            more = f" (+{left} more: Esc R)"
            last = lines[-1].truncate(max(1, width - len(more) - 1), ellipsis=True)
            lines[-1] = Content.assemble(last, (more, self._style("answers--label")))
        return lines

    def _style(self, name: str) -> Any:
        return self.get_visual_style(name)


def _inputs(number: int) -> str:
    return "1 input" if number == 1 else f"{number} inputs"
