"""The set-up drawn part by part: water source, hoses, vessel, vent, pump, gauge, relief valve, drain; or with gas.

Places and sizes are for the eye; the vessel is in true proportions within 1:4, its level is to scale, and trapped air
that would be too thin to see is drawn larger, by a whole factor which the notes tell.
"""

from __future__ import annotations

from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate
from fillcalc.present.picture import fill_side, gas_side, pressure_side, vessel_side
from fillcalc.present.picture.dangers import dangers
from fillcalc.present.picture.figures import Figures
from fillcalc.present.picture.ground import Ground
from fillcalc.present.picture.records import GasMoment, Moment, Picture

WIDE = 1.6
"""Width over height of a picture where nobody asks for another."""


def picture(case: Case, estimate: Estimate, moment: Moment | GasMoment | None = None, units: str = "metric", *,
            wide: float = WIDE, raised: frozenset[str] | None = None) -> Picture:
    """The set-up of a case at a moment of its own history; None is the set-up before the work.

    Case and estimate are at likely values. `wide` is the width over the height of the drawing; `raised` are the parts
    that `dangers` names, worked out here where they are not given.
    """
    parts = dangers(case, estimate) if raised is None else raised
    if estimate.gas is not None:
        gas = moment if isinstance(moment, GasMoment) else None
        on = Ground(Figures(case, estimate, None, units, gas), wide, parts)
        return gas_side.picture(on)
    assert not isinstance(moment, GasMoment)
    figures = Figures(case, estimate, moment, units)
    on = Ground(figures, wide, parts)
    for draw in (vessel_side.water, vessel_side.vessel, vessel_side.vent, fill_side.source, fill_side.hoses,
                 pressure_side.pump, pressure_side.gauge, pressure_side.relief, vessel_side.drain):
        draw(on)
    return on.sheet.picture(figures.caption(), vessel_side.notes(on), case.title)
