"""What an estimate says of a test with gas: one record for each stage of the work, each answer declared once."""

from __future__ import annotations

from dataclasses import dataclass

from fillcalc.arrays import Array, Flags
from fillcalc.estimation.answers import answer, part


@dataclass(frozen=True, eq=False, repr=False)
class BottleAnswer:
    """Whether the supply can do it, for one load of pieces."""

    reached: Flags
    """Whether test pressure can be reached at all, bottles without end."""
    enough: Flags
    """Whether the bottles that there are reach the reading."""
    followed: Flags
    """Whether the rise was worked out to its end; one of very many bottles, or by a drip, is not."""
    needed: Array = answer("count", "bottles needed", "less")
    there: Array = answer("count", "bottles at hand", shown="some")
    ends_gauge_pa: Array = answer("pressure", "the bottles at hand run out at", "more", shown="some")
    left_gauge_pa: Array = answer("pressure", "left in the last bottle needed", "more")
    given_kg: Array = answer("mass", "gas needed", "less")
    all_kg: Array = answer("mass", "gas for all loads", "less", shown="some")
    all_needed: Array = answer("count", "bottles for all loads, at most", "less", shown="some")
    free_m3: Array = answer("air_volume", "gas needed, as free gas", "less")
    coldest_k: Array = answer("temperature", "coldest gas in a bottle")
    outlet_k: Array = answer("temperature", "coldest gas behind the regulator")


@dataclass(frozen=True, eq=False, repr=False)
class RaiseAnswer:
    """From the open valve to test pressure, then until the gauge may be read."""

    time_s: Array = answer("duration", "to test pressure, stops included", "less")
    pause_s: Array = answer("duration", "of that, at stops", shown="data")
    change_s: Array = answer("duration", "changing bottles", "less", shown="some")
    hottest_k: Array = answer("temperature", "warmest gas inside")
    settle_s: Array = answer("duration", "wait at test pressure before the hold", "less")
    read_s: Array = answer("duration", "from opening the valve to the reading", "less")
    fall_pa: Array = answer("pressure_change", "falls by cooling if nobody tops up")
    fallen_gauge_pa: Array = answer("pressure", "and ends at")


@dataclass(frozen=True, eq=False, repr=False)
class GasStops:
    """The steps of pressure on the way up, stops on the first axis; the last is the test pressure."""

    gauge_pa: Array = answer("pressure", "stop at", listed=True)
    pause_s: Array = answer("duration", "for", listed=True)


@dataclass(frozen=True, eq=False, repr=False)
class GasHold:
    """What the gauge does while test pressure stands."""

    per_kelvin_pa: Array = answer("pressure_per_kelvin", "each degree of warming adds")
    kelvin_hides_free_m3_s: Array = answer("leak", "leak that one degree hides, as free gas")
    leak_per_division_free_m3_s: Array = answer("leak", "leak that loses one division in the hold, as free gas")
    leak_per_division_m3_s: Array = answer("leak", "the same at test pressure")
    leak_per_division_pa_m3_s: Array = answer("throughput", "or, as pressure times volume")
    bubbles_s: Array = answer("bubbles", "or, as bubbles under water")
    cooling_left_pa: Array = answer("pressure_change", "cooling left in the hold, at most")


@dataclass(frozen=True, eq=False, repr=False)
class LetOffAnswer:
    """Letting the gas off down to half a bar."""

    time_s: Array = answer("duration", "down to half a bar", "less")
    coldest_k: Array = answer("temperature", "coldest gas inside")
    wall_k: Array = answer("temperature", "coldest metal on average; colder at the vent")


@dataclass(frozen=True, eq=False, repr=False)
class GasEnergy:
    """At test pressure, all pieces on the manifold together. The formulas in use differ by two.

    The distances are NaN where a screen is enough.
    """

    isentropic_j: Array = answer("energy", "real gas, isentropic")
    ideal_j: Array = answer("energy", "ideal gas, isentropic (ASME PCC-2)")
    constant_volume_j: Array = answer("energy", "(p - p0) V/(k - 1), by Brode")
    isothermal_j: Array = answer("energy", "the most, isothermal")
    water_j: Array = answer("energy", "the same vessel full of water")
    times_water: Array = answer("ratio", "gas over water")
    distance_m: Array = answer("distance", "distance to keep (ASME PCC-2, 2008)")
    distance_later_m: Array = answer("distance", "by its later editions (not checked)")


@dataclass(frozen=True, eq=False, repr=False)
class GasHistory:
    """The pressure as it rises, nodes on the first axis; for charts and the picture."""

    time_s: Array = answer("duration", "time", listed=True)
    pressure_gauge_pa: Array = answer("pressure", "pressure", listed=True)
    gas_k: Array = answer("temperature", "gas inside", listed=True)
    bottle_gauge_pa: Array = answer("pressure", "in the bottles that are open", listed=True)
    opened: Array = answer("count", "bottles or groups of them opened", listed=True)
    flow_m3_s: Array = answer("air_flow", "flow into the vessel, as free gas", listed=True)
    doing: Array = answer("count", "rising 0, at a stop 1, topped up 2, changing bottles 5", listed=True)


@dataclass(frozen=True, eq=False, repr=False)
class LetOffHistory:
    """The pressure as it is let off, nodes on the first axis."""

    time_s: Array = answer("duration", "time", listed=True)
    pressure_gauge_pa: Array = answer("pressure", "pressure", listed=True)
    gas_k: Array = answer("temperature", "gas inside", listed=True)
    flow_m3_s: Array = answer("air_flow", "flow out, as free gas", listed=True)


@dataclass(frozen=True, eq=False, repr=False)
class GasAnswer:
    """Everything that is said of a test with gas."""

    medium: str
    supply: str
    """Bottles, air line or booster."""
    test_gauge_pa: Array = answer("pressure", "test pressure", shown="data")
    bottles: BottleAnswer = part()
    rise: RaiseAnswer = part()
    hold: GasHold = part()
    off: LetOffAnswer = part()
    energy: GasEnergy = part()
    stops: GasStops = part()
    history: GasHistory = part()
    off_history: LetOffHistory = part()
