"""The closed tables of units, and the families of quantities that are written and shown in them.

Factors are exact by definition (inch, pound, gallons: BIPM SI Brochure and NIST SP 811, both held
against pint in the tests): foot 0.3048 m, pound 0.45359237 kg, standard gravity 9.80665 m/s2,
US gallon 231 in3, imperial gallon 4.54609 L.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple


class Unit(NamedTuple):
    """SI value = number x factor + offset; only a temperature has an offset."""

    factor: float
    offset: float = 0.0


@dataclass(frozen=True)
class Family:
    """A kind of quantity: its table of units, and the units it is shown in.

    `metric` and `us` are ladders of (smallest SI value, unit), largest first; `usual` and `usual_us`
    are the units of an empty or zero value. `label` and `example` serve the words of a problem.
    """

    dimension: str
    label: str
    example: str
    metric: tuple[tuple[float, str], ...] = ()
    us: tuple[tuple[float, str], ...] = ()
    usual: str = ""
    usual_us: str = ""


INCH, FOOT, POUND, GRAVITY = 0.0254, 0.3048, 0.45359237, 9.80665
US_GALLON, IMPERIAL_GALLON = 231 * INCH**3, 4.54609e-3
PSI = POUND * GRAVITY / INCH**2
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0
FAHRENHEIT = 5 / 9
ATMOSPHERE = 101325.0
WATER_COLUMN = 1000.0 * GRAVITY
"""Pa for each metre of water, at the conventional 1000 kg/m3."""
MERCURY_COLUMN = 13595.1 * GRAVITY
"""Pa for each metre of mercury, at the conventional 13595.1 kg/m3."""
DEGREE = 3.141592653589793 / 180


def _table(*rows: tuple[str, float]) -> Mapping[str, Unit]:
    """Rows of names, divided by |, and the factor that they share."""
    return {name: Unit(factor) for names, factor in rows for name in names.split("|")}


def _each(table: Mapping[str, Unit], ends: Mapping[str, float]) -> Mapping[str, Unit]:
    """Each unit of a table for each time of `ends`, such as L/min."""
    return {f"{name}{end}": Unit(unit.factor / seconds)
            for name, unit in table.items() for end, seconds in ends.items()}


_LENGTH = _table(
    ("m|metre|metres|meter|meters", 1.0), ("mm|millimetre|millimetres|millimeter|millimeters", 1e-3),
    ("cm", 1e-2), ("km", 1e3), ("um|micron|microns", 1e-6), ('in|inch|inches|in.|"|\'\'', INCH),
    ("ft|foot|feet|ft.|'", FOOT), ("yd|yard|yards", 3 * FOOT), ("mi|mile|miles", 5280 * FOOT), ("thou", 1e-3 * INCH))
_AREA = _table(
    ("m2|square metre|square metres|square meter|square meters|sqm", 1.0), ("cm2", 1e-4), ("mm2", 1e-6),
    ("ft2|sq ft|sqft|square foot|square feet", FOOT**2), ("in2|sq in|square inch|square inches", INCH**2))
_METRIC_VOLUME = _table(
    ("m3|cubic metre|cubic metres|cubic meter|cubic meters|cbm", 1.0),
    ("L|l|ltr|ltrs|litre|litres|liter|liters|dm3", 1e-3), ("mL|ml|cc|cm3|ccm|millilitre|milliliter", 1e-6),
    ("cL|cl", 1e-5), ("dL|dl", 1e-4), ("hL|hl", 0.1))
_US_VOLUME = _table(
    ("ft3|cu ft|cuft|cubic foot|cubic feet|cf", FOOT**3), ("in3|cu in|cuin|cubic inch|cubic inches|ci", INCH**3),
    ("US gal|US gals|US gallon|US gallons|USgal|gal US|gal (US)", US_GALLON),
    ("imp gal|imp gals|imp gallon|imp gallons|imperial gallon|imperial gallons|UK gal|UK gallon|UK gallons|gal (imp)",
     IMPERIAL_GALLON),
    ("US qt|US quart|US quarts", US_GALLON / 4), ("US pt|US pint|US pints", US_GALLON / 8),
    ("US fl oz", US_GALLON / 128))
_VOLUME = {**_METRIC_VOLUME, **_US_VOLUME}
_PRESSURE = _table(
    ("Pa", 1.0), ("hPa", 1e2), ("kPa", 1e3), ("MPa", 1e6), ("mbar", 1e2), ("bar|bars", 1e5), ("kbar", 1e8),
    ("psi|lb/in2|lbf/in2|lbs/in2", PSI), ("ksi", 1e3 * PSI), ("kg/cm2|kgf/cm2|kp/cm2", GRAVITY * 1e4),
    ("atm", ATMOSPHERE), ("mH2O|mWC|m H2O|mWS", WATER_COLUMN), ("mmH2O", 1e-3 * WATER_COLUMN),
    ("ftH2O|ft H2O", FOOT * WATER_COLUMN), ("inH2O|in H2O", INCH * WATER_COLUMN),
    ("mmHg", 1e-3 * MERCURY_COLUMN), ("inHg|in Hg", INCH * MERCURY_COLUMN))
_TIMES = {"/s": 1.0, "/sec": 1.0, "/min": MINUTE, "/h": HOUR, "/hr": HOUR, " per second": 1.0,
          " per minute": MINUTE, " per min": MINUTE, " per hour": HOUR}
_FLOW = {
    **_each(_VOLUME, _TIMES),
    **_table(("lpm|LPM", 1e-3 / MINUTE), ("gpm|US gpm|USgpm|gpm US", US_GALLON / MINUTE),
             ("gph|US gph", US_GALLON / HOUR), ("imp gpm|UK gpm|igpm", IMPERIAL_GALLON / MINUTE)),
}
_FREE_AIR = {
    **_FLOW,
    **_table(("cfm|CFM", FOOT**3 / MINUTE)),
}
"""Free air is counted as it stands on site."""
NORMAL, STANDARD_METRIC, STANDARD_US = 273.15, 288.15, 273.15 + (60 - 32) * FAHRENHEIT
"""Temperatures, K, at which a gas is counted, each at one atmosphere (1.01325 bar, 14.696 psi): a normal volume at
0 degC (DIN 1343), a standard cubic metre at 15 degC (ISO 13443), a standard cubic foot at 60 degF (the American gas
trade; compressor plates that follow another standard are within 3 % of it)."""
_STANDARD_FOOT = FOOT**3 * NORMAL / STANDARD_US * (14.696 * PSI) / ATMOSPHERE
_STANDARD_METRE = NORMAL / STANDARD_METRIC
_NORMAL_FLOW = {
    **_each(_table(("NL|Nl", 1e-3), ("Nm3", 1.0), ("Sm3", _STANDARD_METRE), ("scf", _STANDARD_FOOT)), _TIMES),
    **_table(("scfm|SCFM", _STANDARD_FOOT / MINUTE), ("scfh|SCFH", _STANDARD_FOOT / HOUR)),
}
"""Amounts of gas in time, each as the m3/s it would fill at 0 degC and 1.01325 bar."""

UNITS: Mapping[str, Mapping[str, Unit]] = {
    "none": {},
    "length": _LENGTH,
    "area": _AREA,
    "volume": _VOLUME,
    "free air volume": {**_VOLUME, **_table(("NL|Nl", 1e-3), ("scf", FOOT**3))},
    "stroke": {**_VOLUME, **_each(_VOLUME, {"/stroke": 1.0, " per stroke": 1.0})},
    "mass": _table(("kg|kgs|kilogram|kilograms", 1.0), ("g", 1e-3), ("t|tonne|tonnes", 1e3), ("lb|lbs|lbm", POUND),
                   ("US ton|US tons|short ton", 2000 * POUND)),
    "pressure": _PRESSURE,
    "pressure rate": _each(_PRESSURE, _TIMES),
    "pressure per temperature": {
        f"{name}{degree}": Unit(unit.factor / size) for name, unit in _PRESSURE.items()
        for degree, size in (("/K", 1.0), ("/°C", 1.0), ("/°F", FAHRENHEIT))},
    "speed": _table(("m/s", 1.0), ("ft/s", FOOT), ("km/h", 1.0 / 3.6), ("mph", 5280 * FOOT / HOUR)),
    "stress": {**_PRESSURE, **_table(("GPa", 1e9), ("N/mm2", 1e6), ("kN/mm2", 1e9), ("Mpsi", 1e6 * PSI))},
    "temperature": {
        **dict.fromkeys(("°C", "degC", "C", "deg C", "celsius", "Celsius"), Unit(1.0, 273.15)),
        **dict.fromkeys(("°F", "degF", "F", "deg F", "fahrenheit", "Fahrenheit"),
                        Unit(FAHRENHEIT, 273.15 - 32 * FAHRENHEIT)),
        **dict.fromkeys(("K", "kelvin"), Unit(1.0)),
    },
    "temperature change": _table(("K|°C|degC|C|deg C|kelvin", 1.0), ("°F|degF|F|deg F", FAHRENHEIT)),
    "flow": _FLOW,
    "free air": _FREE_AIR,
    "normal air": _NORMAL_FLOW,
    "time": _table(("s|sec|secs|second|seconds", 1.0), ("min|mins|minute|minutes|min.", MINUTE),
                   ("h|hr|hrs|hour|hours", HOUR), ("d|day|days", DAY)),
    "share": _table(("%|percent|per cent|pct", 1e-2), ("‰", 1e-3)),
    "angle": _table(("deg|°|degree|degrees", DEGREE), ("rad", 1.0)),
    "strokes per volume": {
        f"{way}{name}": Unit(1.0 / unit.factor) for name, unit in _VOLUME.items()
        for way in ("/", "1/", "per ", "a ", "strokes/", "strokes per ", "strokes a ")},
    "stroke rate": _table(
        ("/min|1/min|per min|per minute|strokes/min|strokes per minute|strokes a minute|spm|x/min", 1 / MINUTE),
        ("/s|1/s|per second|Hz|strokes/s", 1.0), ("/h|per hour|strokes/h", 1 / HOUR)),
    "hose stretch": {
        **{f"{volume}{way}": Unit(factor) for volume in ("mL", "ml", "cc", "cm3")
           for way, factor in (("/m/bar", 1e-11), ("/(m bar)", 1e-11), ("/m bar", 1e-11), ("/m/MPa", 1e-12),
                               ("/ft/1000 psi", 1e-6 / FOOT / (1000 * PSI)), ("/ft/psi", 1e-6 / FOOT / PSI))},
        "m3/m/Pa": Unit(1.0),
    },
    "expansion": _table(("/K|1/K|/°C|1/°C|/degC|1/degC|/C|per K|per °C|m/m/K", 1.0),
                        ("/°F|1/°F|/degF|1/degF|/F|per °F|in/in/°F|in/in/F", 1 / FAHRENHEIT),
                        ("um/m/K|um/m/°C|um/(m K)|um/m K|ppm/K|ppm/°C", 1e-6), ("ppm/°F", 1e-6 / FAHRENHEIT)),
    "throughput": _table(("Pa m3/s", 1.0), ("mbar L/s", 0.1), ("atm cc/s|atm cm3/s", 1e-6 * ATMOSPHERE)),
    "bubbles": _table(("/min|per minute", 1 / MINUTE), ("/s", 1.0)),
    "power": _table(("W", 1.0), ("kW", 1e3), ("hp", 550 * FOOT * POUND * GRAVITY)),
    "energy": _table(("J", 1.0), ("kJ", 1e3), ("MJ", 1e6), ("GJ", 1e9), ("Wh", 3600.0), ("kWh", 3.6e6),
                     ("ft lbf|ft-lbf|ft lb|ft-lb", FOOT * POUND * GRAVITY),
                     ("million ft lbf", 1e6 * FOOT * POUND * GRAVITY)),
}
"""Units by dimension and name."""

PLAIN = frozenset({"", ":1", "x", "X", "×", "times", "strokes", "stroke"})
"""What may stand behind a plain number."""

_LITRES = ((2.0, "m³"), (1e-3, "L"), (0.0, "mL"))
_GALLONS = ((0.05 * US_GALLON, "US gal"), (0.0, "in³"))
_BARS = ((0.1e5, "bar"), (0.0, "mbar"))
_PSI = ((0.0, "psi"),)
_LITRES_A_MINUTE = ((0.1e-3 / MINUTE, "L/min"), (0.0, "mL/min"))
_FEET = ((FOOT, "ft"), (0.0, "in"))

FAMILIES: Mapping[str, Family] = {
    "length": Family("length", "a length", "22 m", ((1.0, "m"), (0.0, "mm")), _FEET, "m", "ft"),
    "height": Family("length", "a height", "1.5 m", ((0.0, "m"),), ((0.0, "ft"),), "m", "ft"),
    "distance": Family("length", "a distance to keep", "30 m", ((0.0, "m"),), ((0.0, "ft"),), "m", "ft"),
    "bore": Family("length", "a size", "12.7 mm", ((10.0, "m"), (0.0, "mm")), ((0.0, "in"),), "mm", "in"),
    "area": Family("area", "an area", "1.2 m2", ((0.0, "m²"),), ((0.0, "ft²"),), "m2", "ft2"),
    "volume": Family("volume", "a volume", "11.5 L", _LITRES, _GALLONS, "L", "US gal"),
    "air_volume": Family("free air volume", "a volume of free air", "40 L", _LITRES, ((0.0, "ft³"),), "L", "ft³"),
    "stroke": Family("stroke", "a volume for each stroke", "11 mL", ((1e-3, "L"), (0.0, "mL")), ((0.0, "in³"),),
                     "mL", "in³"),
    "mass": Family("mass", "a weight", "500 kg", ((2e3, "t"), (0.0, "kg")), ((0.0, "lb"),), "kg", "lb"),
    "pressure": Family("pressure", "a pressure", "24 bar", _BARS, _PSI, "bar", "psi"),
    "pressure_change": Family("pressure", "a difference of pressure", "0.5 bar", _BARS, _PSI, "bar", "psi"),
    "pressure_abs": Family("pressure", "an absolute pressure", "1013 mbar abs", ((2e5, "bar abs"), (0.0, "mbar abs")),
                           ((0.0, "psi abs"),), "mbar abs", "psi abs"),
    "pressure_rate": Family("pressure rate", "a rise of pressure in time", "2 bar/min",
                            ((0.0, "bar/min"),), ((0.0, "psi/min"),), "bar/min", "psi/min"),
    "pressure_per_kelvin": Family("pressure per temperature", "a pressure for each degree", "1.2 bar/K",
                                  ((0.1e5, "bar/K"), (0.0, "mbar/K")), ((0.0, "psi/°F"),), "bar/K", "psi/°F"),
    "speed": Family("speed", "a speed", "0.8 m/s", ((0.0, "m/s"),), ((0.0, "ft/s"),), "m/s", "ft/s"),
    "stress": Family("stress", "a stress", "207 GPa", ((1e9, "GPa"), (0.0, "MPa")), ((0.0, "ksi"),), "GPa", "ksi"),
    "temperature": Family("temperature", "a temperature", "15 degC", ((0.0, "°C"),), ((0.0, "°F"),), "°C", "°F"),
    "temperature_change": Family("temperature change", "a difference of temperature", "3 K", ((0.0, "K"),),
                                 ((0.0, "°F"),), "K", "°F"),
    "flow": Family("flow", "a flow", "19 L/min", _LITRES_A_MINUTE, ((0.05 * US_GALLON / MINUTE, "gpm"),
                                                                      (0.0, "in³/min")), "L/min", "gpm"),
    "air_flow": Family("free air", "a flow of free air", "260 L/min", ((0.0, "L/min"),), ((0.0, "cfm"),),
                       "L/min", "cfm"),
    "normal_flow": Family("normal air", "an amount of air in time", "240 NL/min", ((0.0, "NL/min"),),
                          ((0.0, "scfm"),), "NL/min", "scfm"),
    "duration": Family("time", "a time", "10 min", ((2 * HOUR, "h"), (90.0, "min"), (0.0, "s")),
                       ((2 * HOUR, "h"), (90.0, "min"), (0.0, "s")), "min", "min"),
    "share": Family("share", "a share", "0.5 %", ((0.0, "%"),), ((0.0, "%"),), "%", "%"),
    "angle": Family("angle", "an angle", "10 deg", ((0.0, "deg"),), ((0.0, "deg"),), "deg", "deg"),
    "stroke_rate": Family("stroke rate", "strokes in a time", "40 /min", ((0.0, "/min"),), ((0.0, "/min"),),
                          "/min", "/min"),
    "strokes_per_volume": Family("strokes per volume", "strokes to a volume", "91 /L", ((0.0, "/L"),),
                                 ((0.0, "/US gal"),), "/L", "/US gal"),
    "hose_stretch": Family("hose stretch", "the stretch of a hose", "0.015 mL/m/bar", ((0.0, "mL/m/bar"),),
                           ((0.0, "cc/ft/1000 psi"),), "mL/m/bar", "cc/ft/1000 psi"),
    "expansion": Family("expansion", "a thermal expansion", "11.7e-6 /K", ((0.0, "/K"),), ((0.0, "/°F"),), "/K", "/°F"),
    "energy": Family("energy", "an energy", "2.6 kJ", ((1e6, "MJ"), (1e3, "kJ"), (0.0, "J")),
                     ((1e6 * FOOT * POUND * GRAVITY, "million ft lbf"), (0.0, "ft lbf")), "kJ", "ft lbf"),
    "power": Family("power", "a power", "75 W", ((0.0, "W"),), ((0.0, "W"),), "W", "W"),
    "number": Family("none", "a plain number", "0.6"),
    "count": Family("none", "a whole number", "2"),
    "ratio": Family("none", "a ratio", "2.7"),
    "throughput": Family("throughput", "a leak as pressure times volume", "0.1 Pa m3/s", ((0.0, "Pa m³/s"),),
                         ((0.0, "atm cc/s"),), "Pa m3/s", "atm cc/s"),
    "leak": Family("free air", "a leak of gas", "20 mL/min", _LITRES_A_MINUTE,
                   ((FOOT**3 / MINUTE, "cfm"), (0.0, "in³/min")), "mL/min", "in³/min"),
    "bubbles": Family("bubbles", "bubbles in a time", "20 /min", ((0.0, "/min"),), ((0.0, "/min"),), "/min", "/min"),
    "strokes": Family("none", "a number of strokes", "70"),
}
"""The kinds of quantity by name."""
