"""Which bottles and which regulator of a kit to take to a test with gas, the best first."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np

from fillcalc.arrays import Array
from fillcalc.case.records import AirLine, Booster, Bottles, Case, Kit
from fillcalc.estimation.answers import Estimate, answer, at_likely_values
from fillcalc.estimation.gas import answered
from fillcalc.estimation.gas_limits import (
    EXACT,
    can_pass_limit,
    gas_limit,
    relief_holds,
    setting_reach,
    supply_reach,
)
from fillcalc.job.gas import gas_job
from fillcalc.job.samples import Samples, assign, keys, samples
from fillcalc.model.gas.raising import raise_pressure
from fillcalc.questions.choices.ranking import assumed_ranges
from fillcalc.questions.percentiles import low_likely_high
from fillcalc.questions.ranges import GAS_DRAWS

OVER_TEST = 1.1
"""A regulator is of use where it can be set to so much of the test pressure; judgement."""
AS_IT_IS = "as the case has it"
"""The regulator of the case, where the kit holds none."""
OWN = {AirLine.kind: "own air line", Bottles.kind: "own bottles", Booster.kind: "own booster"}
OWN_REGULATOR = "own regulator"
"""What the supply of the case, by its kind, and its regulator are called among those of the kit."""
TOO_LOW = "the regulator cannot be set above the test pressure"
PASSES = "a failed regulator passes the pressure limit, and no relief valve holds it"
SET_AT_LIMIT = "the regulator is set at or above the pressure limit"
ENDS = "the gas runs out before the reading"


@dataclass(frozen=True)
class GasChoice:
    """One kind of bottle, or the supply of the case, behind one regulator."""

    bottle: str
    regulator: str
    own: bool
    """Whether it is what the case has."""
    can: bool
    """Whether nothing can pass the pressure limit, and half of all samples and more reach the reading."""
    there: int
    """Bottles that there are; none of an air line."""
    case: Case
    """The case with them in place of its own."""
    estimate: Estimate | None
    """Its answers at likely values, letting off left out; None where it is not of use before any gas flows."""
    turns_above: bool
    """Whether the regulator can be turned above the pressure limit, so that only the relief valve holds it."""
    needed: float = answer("count", "bottles needed", "less")
    most_needed: float = answer("count", "bottles needed in nine tests of ten", "less")
    ends_gauge_pa: float = answer("pressure", "the bottles run out at", "more")
    read_low_s: float = answer("duration", "reading, low", "less")
    read_s: float = answer("duration", "reading", "less")
    read_high_s: float = answer("duration", "reading, high", "less")
    why: str = ""
    """What keeps it from being of use; empty where nothing does."""


@dataclass(frozen=True)
class _Offer:
    """One choice before it is marched: its names, the case with it, and the highest setting of its regulator."""

    bottle: str
    regulator: str
    case: Case
    own: bool = False
    highest: float = np.nan
    """Pa gauge; NaN where the regulator is that of the case."""

    @property
    def turns_above(self) -> bool:
        """Whether the regulator can be turned above the pressure limit while the supply has that much."""
        return min(self.highest, supply_reach(self.case)) > gas_limit(self.case) * EXACT

    @property
    def there(self) -> int:
        """Bottles that there are."""
        return int(self.case.gas_supply.bottles) if isinstance(self.case.gas_supply, Bottles) else 0

    def same_gas(self, other: _Offer) -> bool:
        """Whether the same gas flows through both: they differ in name, or in how far the regulator could be turned."""
        return ((self.case.gas_supply, self.case.gas_line, self.case.ranges)
                == (other.case.gas_supply, other.case.gas_line, other.case.ranges))

    def wrong(self) -> str:
        """What keeps it from being of use whatever gas flows; empty where nothing does."""
        limit = gas_limit(self.case)
        if self.highest < OVER_TEST * self.case.test_gauge:
            return TOO_LOW
        if np.isfinite(limit) and can_pass_limit(self.case) and not relief_holds(self.case):
            return PASSES
        return SET_AT_LIMIT if setting_reach(self.case) * EXACT >= limit else ""


@dataclass(frozen=True)
class _Marched:
    """One choice that is marched: its samples, and their answers."""

    offer: _Offer
    sampled: Samples
    estimate: Estimate


def gas_choices(case: Case, kit: Kit) -> tuple[GasChoice, ...]:
    """Return the supply of the case and every kind of bottle behind every regulator of a kit, the best first: those
    that do it, the surest first, then those whose regulator cannot be turned above the pressure limit, then with the
    fewest bottles, then the quickest.

    What can pass the pressure limit without a relief valve that holds it cannot be taken. A kit without regulators
    leaves the case's own. Each is marched with the samples of its estimate, those that differ in name alone once, and
    none beyond the bottles that there are.
    """
    offers = [_Offer(OWN[case.gas_supply.kind], OWN_REGULATOR, case, own=True)] if case.gas_supply else []
    offers += [_Offer(kit.bottle[bottle].name, AS_IT_IS if regulator is None else kit.regulator[regulator].name,
                      _with(case, kit, bottle, regulator),
                      highest=np.nan if regulator is None else float(kit.regulator[regulator].pressure))
               for bottle in range(len(kit.bottle)) for regulator in (range(len(kit.regulator)) or (None,))]
    if not kit.bottle:
        return ()
    judged = [(offer, offer.wrong()) for offer in offers]
    useless = [_useless(offer, why) for offer, why in judged if why]
    marched: list[_Marched] = []
    for offer in (offer for offer, why in judged if not why):
        alike = next((one for one in marched if one.offer.same_gas(offer)), None)
        marched.append(_one(offer) if alike is None else replace(alike, offer=offer))
    found = [_choice(one) for one in marched]
    return tuple(sorted([*found, *useless], key=lambda one: (
        not one.can, not _sure(one), one.turns_above, _known(one.needed) if one.there else 0.0, _known(one.read_s))))


def _known(value: float) -> float:
    return float(value) if np.isfinite(value) else np.inf


def _sure(one: GasChoice) -> bool:
    """Whether nine tests of ten reach the reading."""
    return bool(np.isfinite(one.read_high_s))


def _useless(offer: _Offer, why: str) -> GasChoice:
    return GasChoice(offer.bottle, offer.regulator, offer.own, False, offer.there, offer.case, None, offer.turns_above,
                     np.nan, np.nan, np.nan, np.nan, np.nan, np.nan, why)


def _one(offer: _Offer) -> _Marched:
    sampled = samples(offer.case, assign(keys(offer.case), GAS_DRAWS), ends=False)
    job = gas_job(sampled.case)
    done = raise_pressure(replace(job.raising, further=False))
    return _Marched(offer, sampled, answered(job, replace(done, history=())))


def _choice(one: _Marched) -> GasChoice:
    estimate, offer = one.estimate, one.offer
    gas = estimate.gas
    assert gas is not None
    needed, read, ends = (_drawn(one.sampled, each) for each in (
        gas.bottles.needed, gas.rise.read_s, gas.bottles.ends_gauge_pa))
    low, likely, high = _likely(gas.rise.read_s, read)
    counts = _likely(gas.bottles.needed, needed)
    stands = ends[np.isfinite(ends)]
    can = bool(np.isfinite(likely))
    return GasChoice(offer.bottle, offer.regulator, offer.own, can, offer.there, offer.case,
                     at_likely_values(estimate), offer.turns_above, counts[1], counts[2],
                     float(np.median(stands)) if stands.size else np.nan, low, likely, high, "" if can else ENDS)


def _likely(values: Array, drawn: Array) -> list[float]:
    """Low, likely and high of the samples `drawn`, of rows whose first is the run at likely values."""
    return [float(each) for each in low_likely_high(np.ravel(values)[0], drawn)]


def _drawn(sampled: Samples, values: Array) -> Array:
    return sampled.drawn(np.atleast_1d(np.asarray(values, float)))


def _with(case: Case, kit: Kit, place: int, regulator_place: int | None) -> Case:
    """The case with these bottles and this regulator of the kit in place of its own, and their ranges; its booster
    stays."""
    bottle, own, line = kit.bottle[place], case.gas_supply, case.gas_line
    given = {each.name: getattr(bottle, each.name) for each in fields(Bottles)}
    supply = replace(own, **given) if isinstance(own, Booster) else Bottles(**given)
    stays = {each.name for each in fields(Booster)} - set(given) if isinstance(own, Booster) else set()
    ranges = {path: asked for path, asked in case.ranges.items()
              if not path.startswith("gas_supply.") or path.rpartition(".")[2] in stays}
    ranges |= {f"gas_supply.{leaf}": asked
               for leaf, asked in assumed_ranges(kit, f"bottle.{place + 1}", bottle).items()}
    if regulator_place is not None:
        regulator = kit.regulator[regulator_place]
        ranges.pop("gas_line.kv", None)
        ranges |= {f"gas_line.{leaf}": asked
                   for leaf, asked in assumed_ranges(kit, f"regulator.{regulator_place + 1}", regulator).items()}
        setting = line.regulator_pressure
        line = replace(line, kv=regulator.kv, regulator_pressure=None if setting is None
                       else np.minimum(setting, regulator.pressure))
    return replace(case, gas_supply=supply, gas_line=line, ranges=ranges)
