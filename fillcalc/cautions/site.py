"""Cautions of the site: weight, temperature and the water itself."""

from __future__ import annotations

from fillcalc.case.records import ByVolume
from fillcalc.cautions.rule import Rule, above

HEAVY = 500.0
"""kg of water from which the supports are worth a caution; judgement."""
COLD, HOT, FROST = 280.15, 313.15, 276.15
"""K: house rules for water and metal 7 and 40 °C (published ones: 5 or 7 °C, 40 or 48 °C); frost from 3 °C."""
SWEATS = 5.0
"""Air minus water temperature, K, from which a shell may sweat; judgement, as the dew point is unknown."""
VALVE_SIZED = 10e-3
"""m3 below which a vessel given by its volume may be a valve, whose work takes less time: that of a DN150; common
practice, no source."""
STAINLESS = ("stainless steel", "duplex steel")

SITE: tuple[Rule, ...] = (
    Rule("heavy", "warning", lambda case, e: above(e.fill.water_kg, HEAVY),
         lambda case, e, say: f"The water alone weighs {say(e.fill.water_kg, 'mass')}; add the weight of the metal. "
         "Check that floor, saddles and supports carry both."),
    Rule("cold metal", "warning",
         lambda case, e: above(COLD, case.water.temperature) or above(COLD, case.surroundings.temperature),
         lambda case, e, say: f"Water or metal is below {say(COLD, 'temperature')} (a house rule). Cold steel is "
         "brittle: check the lowest metal temperature."),
    Rule("scald", "warning", lambda case, e: above(case.water.temperature, HOT),
         lambda case, e, say: f"The water is above {say(HOT, 'temperature')} and can scald. "
         "UG-99 and others limit it (40 or 48 °C; check your own copy)."),
    Rule("frost", "warning", lambda case, e: above(FROST, case.surroundings.temperature),
         lambda case, e, say: f"The air is at {say(case.surroundings.temperature, 'temperature')}. Drain every low leg "
         "before it freezes and bursts."),
    Rule("chlorides", "caution", lambda case, e: case.vessel.material in STAINLESS,
         lambda case, e, say: "Chloride in the water attacks stainless steel. The limits differ: 30 ppm "
         "(API 6D, second-hand), 50 (API 650) or 100 (API 598, ISO 5208; neither checked). Check your own copy."),
    Rule("sweating", "notice",
         lambda case, e: above(case.surroundings.temperature - case.water.temperature, SWEATS),
         lambda case, e, say: "The water is "
         f"{say(case.surroundings.temperature - case.water.temperature, 'temperature_change')} "
         "colder than the air. The shell may sweat and hide leaks: wait until it is dry."),
    Rule("quoted as a vessel", "notice",
         lambda case, e: isinstance(case.vessel, ByVolume) and above(VALVE_SIZED, case.vessel.volume),
         lambda case, e, say: "The time on site is that of a vessel, yet "
         f"{say(case.vessel.volume, 'volume')} is the size of a valve. For one, choose valve body: it takes less."),  # type: ignore[attr-defined]
)
"""The rules of the site, heaviest first."""
