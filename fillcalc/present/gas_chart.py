"""The chart of a test with gas: pressure and gas temperature from the open valve to the reading."""

from __future__ import annotations

import numpy as np

from fillcalc.present.charts import AT_LIKELY_VALUES, Chart, Curve, Subject, nodes
from fillcalc.present.sentences import shower
from fillcalc.units import axis

TITLE = "Raise and settle"


def raising(subject: Subject) -> Chart | None:
    """Pressure and temperature of the gas over the time, at likely values; None where there is nothing to draw."""
    gas, units, say = subject.estimate.gas, subject.units, shower(subject.units)
    if gas is None:
        return None
    time, pressure, warm = (nodes(values) for values in (gas.history.time_s, gas.history.pressure_gauge_pa,
                                                         gas.history.gas_k))
    if time.size < 2 or not all(np.isfinite(each).all() for each in (time, pressure, warm)):
        return None
    above = warm - warm[0]
    t, p, k = (axis(family, units, float(np.max(np.abs(values)))) for family, values in (
        ("duration", time), ("pressure", pressure), ("temperature_change", above)))
    top, most = float(pressure.max()), max(float(above.max()), 1e-3)
    curves = (
        Curve("a", "pressure", time / t.factor, pressure / p.factor, f"{say(top, 'pressure')} at most",
              f"pressure, {p.unit}", top / p.factor, own=True),
        Curve("b", "temperature", time / t.factor, above / k.factor,
              f"{say(most, 'temperature_change')} warmer at most", f"warmer, {k.unit}", most / k.factor))
    return Chart(TITLE, f"time, {t.unit}", "% of the most", curves, notes=(AT_LIKELY_VALUES,))
