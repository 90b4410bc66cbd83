"""What an estimate says: one record for each stage of the work, each answer declared once.

Every leaf is in SI and its name ends in its unit; a leaf is a float, or an array with one value for
each sample. NaN stands for a quantity that cannot be had, and becomes null in `fillcalc.formats.data`.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import TYPE_CHECKING, Any

from fillcalc.arrays import Array, Codes, Flags
from fillcalc.model.status import Status
from fillcalc.tree import FieldOrNone, Record, mapped

if TYPE_CHECKING:
    from fillcalc.estimation.gas_answers import GasAnswer


@dataclass(frozen=True, eq=False, repr=False)
class Answer:
    """The declaration of one answer: kind of quantity, label, and which way is better."""

    family: str
    label: str
    better: str = ""
    """less, more, or empty where neither is."""
    listed: bool = False
    """A list along the first axis, such as the nodes of a curve; else one number."""
    shown: str = "report"
    """Where it is read: in the report of any case, of some cases only, or in the data alone."""
    figures: int = 0
    """Significant figures that it is told to at the most; 0 for those of its range, or of its unit."""


def answer(family: str, label: str, better: str = "", listed: bool = False, shown: str = "report",
           figures: int = 0) -> Any:
    """A number that the estimate gives, in the SI unit at the end of its name."""
    return field(metadata={"answer": Answer(family, label, better, listed, shown, figures)})


def part() -> Any:
    """A field that is a record of its own or a word, not a quantity; it has no default."""
    return field()


def answers(record: type) -> dict[str, Answer]:
    """The declared answers of a record class by name, in order."""
    return {f.name: f.metadata["answer"] for f in fields(record) if "answer" in f.metadata}


@dataclass(frozen=True, eq=False, repr=False)
class Shares:
    """Where the driving pressure goes, over the fill; the parts sum to one."""

    tap: Array = answer("share", "the tap")
    hose: Array = answer("share", "the hose")
    couplings: Array = answer("share", "couplings and tails")
    valve: Array = answer("share", "valves and other losses")
    exit: Array = answer("share", "the jet at the end")
    height: Array = answer("share", "the height")
    vent: Array = answer("share", "the air in the vessel")


@dataclass(frozen=True, eq=False, repr=False)
class FillHistory:
    """The fill as it goes, nodes on the first axis; for charts and the picture."""

    time_s: Array = answer("duration", "time", listed=True)
    water_m3: Array = answer("volume", "water in the vessel", listed=True)
    level_m: Array = answer("length", "level", listed=True)
    flow_m3_s: Array = answer("flow", "flow", listed=True)
    air_gauge_pa: Array = answer("pressure", "air in the vessel", listed=True)
    gauge_pa: Array = answer("pressure", "gauge", listed=True)


@dataclass(frozen=True, eq=False, repr=False)
class Fill:
    """From the first water to the shut vent, for all pieces on the manifold at once."""

    status: Codes
    finished: Flags
    time_s: Array = answer("duration", "fill time", "less")
    change_over_s: Array = answer("duration", "of that, changing containers", "less", shown="some")
    change_overs: Array = answer("count", "change-overs of the container", "less", shown="some")
    given_m3: Array = answer("volume", "water that the source gives for one load", shown="some")
    run_to_waste_s: Array = answer("duration", "run to waste", "less", shown="data")
    water_m3: Array = answer("volume", "water in the vessel")
    water_kg: Array = answer("mass", "weight of the water")
    filled_share: Array = answer("share", "filled", "more", shown="some")
    top_up_m3: Array = answer("volume", "water to top up", shown="data")
    top_up_s: Array = answer("duration", "topping up", "less", shown="data")
    flow_start_m3_s: Array = answer("flow", "flow at the start", "more")
    flow_end_m3_s: Array = answer("flow", "flow at the end", "more")
    air_peak_gauge_pa: Array = answer("pressure", "most pressure of the air while filling", "less")
    bottom_peak_gauge_pa: Array = answer("pressure", "most pressure at the bottom while filling", "less", shown="data")
    level_m: Array = answer("length", "level reached", shown="data")
    shares: Shares = part()
    history: FillHistory = part()


@dataclass(frozen=True)
class FillPressures:
    """What the vessel stands, and what filling can put on its bottom: the source at its strongest, the vent at its
    smallest. Plain numbers, of the case as written with its ranges."""

    limit_gauge_pa: float = answer("pressure", "what the vessel stands while filling", shown="data")
    limit_is_known: bool = part()
    """The limit was given; else the test pressure stands in for it."""
    water_alone_gauge_pa: float = answer("pressure", "full and open at the top", shown="data")
    source_gauge_pa: float = answer("pressure", "the source with everything shut", shown="data")


@dataclass(frozen=True, eq=False, repr=False)
class WaterParts:
    """Where the pumped water goes; the parts sum to the whole."""

    compression_m3: Array = answer("volume", "water squeezed")
    wall_m3: Array = answer("volume", "wall stretched")
    air_m3: Array = answer("volume", "air squeezed")
    hose_m3: Array = answer("volume", "test hose")


STROKE_MARKS = (0.10, 0.25, 0.50, 0.75, 1.00)
"""Shares of the test pressure at which the strokes are told."""

LADDER = (0.0, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.10)
"""Shares of trapped air for which the pump-up is told."""


@dataclass(frozen=True, eq=False, repr=False)
class PumpCurve:
    """The pump against pressure at its drive, points on the first axis; for charts."""

    pressure_gauge_pa: Array = answer("pressure", "outlet pressure", listed=True)
    flow_m3_s: Array = answer("flow", "pump flow", listed=True)


@dataclass(frozen=True, eq=False, repr=False)
class PumpHistory:
    """The pressure while pumping, nodes on the first axis; for charts and the picture."""

    pressure_gauge_pa: Array = answer("pressure", "pressure", listed=True)
    water_m3: Array = answer("volume", "water pumped", listed=True)
    time_s: Array = answer("duration", "time", listed=True)
    strokes: Array = answer("strokes", "strokes", listed=True)
    air_m3: Array = answer("volume", "trapped air, as it is squeezed", listed=True)
    air_gauge_pa: Array = answer("pressure", "pressure of the trapped air", listed=True)


@dataclass(frozen=True, eq=False, repr=False)
class Pressurise:
    """From the start of the pump to test pressure, or to where it ends before."""

    status: Codes
    reached: Flags
    water_m3: Array = answer("volume", "water to test pressure", "less")
    water_no_air_m3: Array = answer("volume", "water to test pressure without air", shown="data")
    times_air_free: Array = answer("ratio", "times an air-free vessel", "less")
    parts: WaterParts = part()
    time_s: Array = answer("duration", "pump-up time", "less")
    pause_s: Array = answer("duration", "pauses on the way up", shown="data")
    strokes: Array = answer("strokes", "strokes", "less")
    strokes_at: Array = answer("strokes", "strokes at 10, 25, 50, 75, 100 % of test pressure", listed=True)
    strokes_before_needle: Array = answer("strokes", "strokes before the needle lifts one division")
    free_air_m3: Array = answer("air_volume", "free air for the pump", "less")
    curve_residual: Array = answer("share", "misfit of the pump's points")
    full_gauge_pa: Array = answer("pressure", "gauge with the vessel just full")
    start_gauge_pa: Array = answer("pressure", "pressure when the pump takes over")
    stall_gauge_pa: Array = answer("pressure", "stall pressure, on the running air pressure")
    stall_no_friction_gauge_pa: Array = answer("pressure", "highest stall pressure: no friction, air at its highest")
    relief_flow_m3_s: Array = answer("flow", "flow that the relief valve must pass")
    test_gauge_pa: Array = answer("pressure", "test pressure")
    limited_by: Codes = part()
    """pump, air supply, rise limit or leak: what adds most to the time; an index into LIMITS."""
    curve: PumpCurve = part()
    history: PumpHistory = part()




@dataclass(frozen=True, eq=False, repr=False)
class Rung:
    """The pump-up with this share of trapped air in place of the case's own."""

    share: float = answer("share", "trapped air")
    water_m3: float = answer("volume", "water to test pressure", "less")
    time_s: float = answer("duration", "pump-up time", "less")
    strokes: float = answer("strokes", "strokes", "less")
    strokes_before_needle: float = answer("strokes", "strokes before the needle lifts one division")
    times_air_free: float = answer("ratio", "times an air-free vessel", "less")


@dataclass(frozen=True, eq=False, repr=False)
class Regulator:
    """The window of settings of an air-driven pump, as written: enough for the test, safe for every limit."""

    lowest_gauge_pa: float = answer("pressure", "lowest setting that reaches test pressure", shown="data")
    highest_gauge_pa: float = answer("pressure", "highest setting that cannot pass the lowest limit", shown="data")
    advised_gauge_pa: float = answer("pressure", "regulator setting", shown="data")
    window: bool = part()
    """There is a setting that a person can set and that holds the limit."""
    time_s: float = answer("duration", "pump-up time at the advised setting", "less", shown="data")
    limit_gauge_pa: float = answer("pressure", "lowest limit on the line")
    limit_of: str = part()
    """Which part has that limit; empty when none was given."""


@dataclass(frozen=True, eq=False, repr=False)
class Settle:
    """The fall of the first minutes that is no leak."""

    drop_water_pa: Array = answer("pressure_change", "drop while the water cools, if not pumped up again")
    drop_air_pa: Array = answer("pressure_change", "largest drop while the trapped air cools")
    drop_air_left_pa: Array = answer("pressure_change", "of that, still to come in the hold")


@dataclass(frozen=True, eq=False, repr=False)
class Hold:
    """What the gauge does while test pressure stands."""

    pressure_per_kelvin_pa: Array = answer("pressure_per_kelvin", "each degree of warming adds")
    leak_per_division_m3_s: Array = answer("flow", "leak that loses one division in the hold")
    hidden_by_air: Array = answer("ratio", "leak for the same drop, compared with no air")
    drift_pa: Array = answer("pressure_change", "change in the hold as the water nears the air's temperature")
    solution_pa: Array = answer("pressure_change", "largest drop in the hold as air dissolves")
    sun_low_k: Array = answer("temperature_change", "ten minutes of full sun on bright bare metal", figures=2)
    sun_high_k: Array = answer("temperature_change", "ten minutes of full sun on dark bare metal", figures=2)
    sun_high_pa: Array = answer("pressure_change", "pressure rise in ten minutes of full sun, dark metal", figures=2)
    top_gauge_pa: Array = answer("pressure", "top, when the gauge shows test pressure")
    bottom_gauge_pa: Array = answer("pressure", "bottom, when the gauge shows test pressure")
    gauge_for_top_pa: Array = answer("pressure", "gauge, for test pressure at the top")
    gauge_fits: Flags = part()


@dataclass(frozen=True, eq=False, repr=False)
class ReleaseAnswer:
    """Letting the pressure down."""

    time_s: Array = answer("duration", "release", "less")
    time_to_half_bar_s: Array = answer("duration", "release down to half a bar", "less")


@dataclass(frozen=True, eq=False, repr=False)
class DrainAnswer:
    """Emptying the full vessel, and what that pulls inside."""

    time_s: Array = answer("duration", "drain", "less")
    lowest_abs_pa: Array = answer("pressure_abs", "lowest pressure inside, vent open", "more")
    vent_shut_abs_pa: Array = answer("pressure_abs", "lowest pressure inside, vent shut", "more")


@dataclass(frozen=True, eq=False, repr=False)
class Energy:
    """At test pressure. Distances go by ASME PCC-2; its editions differ."""

    water_j: Array = answer("energy", "in the water")
    wall_j: Array = answer("energy", "in the wall")
    air_j: Array = answer("energy", "in the trapped air")
    all_gas_j: Array = answer("energy", "the same vessel filled with gas")
    gas_distance_m: Array = answer("distance", "distance to keep if gas were used (ASME PCC-2, 2008)")
    gas_distance_later_m: Array = answer("distance", "by its later editions (not checked)")


@dataclass(frozen=True, eq=False, repr=False)
class Sweep:
    """One high point of a pipe run: the water's speed against what carries the air away."""

    needed_m_s: Array = answer("speed", "speed that clears the high point", "less")
    speed_m_s: Array = answer("speed", "speed at the end of the fill", "more")
    swept: Flags = part()


@dataclass(frozen=True, eq=False, repr=False)
class Stage:
    """One step of the visit, for one piece or once; s."""

    name: str
    at_likely_values_s: float = answer("duration", "at likely values", "less")
    low_s: float = answer("duration", "low")
    likely_s: float = answer("duration", "likely")
    high_s: float = answer("duration", "high")


@dataclass(frozen=True, eq=False, repr=False)
class Loads:
    """The pieces of a case, and what their loads on the manifold take: one load, and all together."""

    pieces: int = answer("count", "pieces")
    at_once: int = answer("count", "pieces on the manifold at once")
    loads: int = answer("count", "loads")
    time_s: Array = answer("duration", "a load", "less")
    fill_time_s: Array = answer("duration", "fill of all loads", "less")
    pump_up_time_s: Array = answer("duration", "pump-up of all loads", "less")
    water_m3: Array = answer("volume", "water of all loads, from source and pump", "less")
    free_air_m3: Array = answer("air_volume", "free air for the pump, all loads", "less")
    remade_share: Array = answer("share", "pieces with a joint to re-make", "less")
    remade_pieces: Array = answer("number", "pieces with a joint to re-make, expected in the visit", "less")
    remade_time_s: Array = answer("duration", "one re-made joint", "less")


@dataclass(frozen=True, eq=False, repr=False)
class DayWork:
    """What is done on one day of one case."""

    case: int
    """Place of the case, from 1; 0 for what is of no case."""
    first_load: int
    last_load: int
    work: str
    """Empty for all of these loads; else the part of the one load: prepare, pressed or after, or wait, or rework."""
    begun: bool
    """It was begun the day before."""
    goes_on: bool
    """It goes on the next day."""


@dataclass(frozen=True, eq=False, repr=False)
class Day:
    """One day of a visit."""

    time_s: float = answer("duration", "on site that day", shown="some")
    works: tuple[DayWork, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class Shorter:
    """What would take fewer days, and how many then."""

    ways: tuple[str, ...]
    """hands, filled before, fill while holding."""
    days: float = answer("count", "days then", "less", shown="some")


@dataclass(frozen=True, eq=False, repr=False)
class Days:
    """The working days of a visit; low, likely and high as for its time."""

    day_s: float = answer("duration", "working day", shown="some")
    low: float = answer("count", "days, low", shown="some")
    likely: float = answer("count", "days", "less", shown="some")
    high: float = answer("count", "days, high", shown="some")
    plan: tuple[Day, ...] = ()
    """What is done on which day; empty for a visit of one day that is no longer than a working day."""
    shorter: tuple[Shorter, ...] = ()


@dataclass(frozen=True, eq=False, repr=False)
class Never:
    """Samples that stand still for one reason: in which stage, why, and where they stand, likely."""

    stage: str
    status: Status
    share: float = answer("share", "of the samples", "less")
    level_m: float = answer("length", "where the water stops")
    """Of a fill; NaN for the pump-up."""
    gauge_pa: float = answer("pressure", "where the pump stops")
    """Of a pump-up; NaN for the fill."""
    by_hand: bool = False
    """A person drives the pump, whose strength ends there."""
    test_gauge_pa: float = float("nan")
    """Test pressure of a test with gas, Pa gauge; NaN with water."""
    bottles_there: float = float("nan")
    bottles_needed: float = float("nan")
    """Of a test with gas from bottles, at likely values."""


@dataclass(frozen=True, eq=False, repr=False)
class Visit:
    """The time on site. The ends of its stages do not add up to its own: not all go badly at once.

    Samples that never finish count as longer than any that do, so a low, likely or high that falls among them is NaN.
    """

    at_likely_values_s: float = answer("duration", "time on site, every input at its likely value", "less",
                                       shown="data")
    low_s: float = answer("duration", "time on site, low", "less")
    likely_s: float = answer("duration", "time on site", "less")
    high_s: float = answer("duration", "time on site, high", "less")
    never_share: float = answer("share", "samples that never finish", "less")
    rework_s: float = answer("duration", "a re-made joint adds", shown="data")
    never: tuple[Never, ...] = ()
    """Why they never finish, the most frequent first."""
    without: tuple[str, ...] = ()
    """Stages that cannot be worked out; the time on site is without them."""


@dataclass(frozen=True, eq=False, repr=False)
class Swing:
    """How far one input alone moves the time on site, the fill and the pump-up."""

    path: str
    low_s: float = answer("duration", "at its low end")
    high_s: float = answer("duration", "at its high end")
    fill_low_s: float = answer("duration", "fill at its low end")
    fill_high_s: float = answer("duration", "fill at its high end")
    pump_up_low_s: float = answer("duration", "pump-up at its low end")
    pump_up_high_s: float = answer("duration", "pump-up at its high end")


@dataclass(frozen=True, eq=False, repr=False)
class Spread:
    """Low, likely and high of one answer; units are those of the answer.

    Of a time over all samples: one that never finishes counts as longer than any that does, and a low, likely or high
    that falls among those is NaN. Of anything else over the samples that have it.
    """

    path: str
    """Where the answer stands in the estimate, such as "fill.time_s"."""
    low: float = answer("", "low")
    likely: float = answer("", "likely")
    high: float = answer("", "high")
    never_share: float = answer("share", "samples that do not have it", "less")
    finished_only: bool = False
    """Whether samples that do not have it are left out of low, likely and high."""


@dataclass(frozen=True, eq=False, repr=False)
class Span:
    """Low, likely and high, and the single run at likely values; s."""

    at_likely_values: float = answer("duration", "at likely values", "less")
    low: float = answer("duration", "low")
    likely: float = answer("duration", "likely")
    high: float = answer("duration", "high")


@dataclass(frozen=True, eq=False, repr=False)
class Estimate:
    """Everything that is said of a case; blocks that do not apply are None."""

    fill: Fill
    trapped_air_m3: Array = answer("volume", "trapped air", "less")
    trapped_share: Array = answer("share", "trapped air as a share of the volume", "less")
    volume_m3: Array = answer("volume", "volume of the vessel")
    height_m: Array = answer("length", "height inside the vessel", shown="data")
    pressurise: Pressurise = part()
    air_ladder: tuple[Rung, ...] = part()
    regulator: Regulator | None = part()
    fill_pressures: FillPressures | None = None
    settle: Settle | None = None
    hold: Hold | None = None
    release: ReleaseAnswer | None = None
    drain: DrainAnswer | None = None
    energy: Energy | None = None
    gas: GasAnswer | None = None
    """Of a test with gas; the blocks of water are then empty."""
    sweep: tuple[Sweep, ...] = ()
    stages: tuple[Stage, ...] = ()
    visit: Visit | None = None
    loads: Loads | None = None
    days: Days | None = None
    matters: tuple[Swing, ...] = ()
    spreads: tuple[Spread, ...] = ()


@dataclass(frozen=True)
class Caution:
    """A sentence that must be read; weight is danger, warning, caution or notice."""

    code: str
    weight: str
    text: str
    path: str = ""
    """Of the input that it asks about; empty where it is about several."""
    own_gear: bool = False
    """It is about what the technician brings and how it is set: nothing for a customer to read."""


def at_likely_values(record: Record) -> Record:
    """The record with every array over samples cut to its first row: the case as written.

    Works on any dataclass of the package, an `Estimate` as well as a `Case`; a listed answer keeps
    its list. Leaves that are numbers or words already are left as they are.
    """
    return mapped(record, _first)


def _first(value: Any, field: FieldOrNone) -> Any:
    """The first row of a leaf over samples; of a listed answer that of each of its numbers."""
    said: Answer | None = None if field is None else field.metadata.get("answer")
    listed = said is not None and said.listed
    depth = getattr(value, "ndim", 0)
    if depth > (1 if listed else 0):
        return value[..., 0] if listed else value.flat[0]
    return value
