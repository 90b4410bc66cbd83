"""Text to SI and back, from closed tables of units; nothing a person types is ever evaluated.

A *dimension* is a table of units. A *family* is a kind of quantity as the trade speaks of it: it
names its dimension and the units it is shown in, so that a bore and a length share one table and
read differently on the screen.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import SupportsFloat

from fillcalc.arrays import Array
from fillcalc.units.nearest import nearest
from fillcalc.units.numerals import MOST_TEXT, VULGAR, NumberProblem, is_fraction, leading_number
from fillcalc.units.printable import shown
from fillcalc.units.tables import FAMILIES, PLAIN, UNITS, Family, Unit

__all__ = ["FAMILIES", "UNITS", "Axis", "Family", "Unit", "UnitProblem", "axis", "read_number", "read_quantity",
           "restate", "show", "show_short", "takes", "to_figures", "with_us_gallons", "write", "zero_needs_no_unit"]


@dataclass
class UnitProblem(ValueError):
    """A text that is not the quantity that was asked for."""

    found: str
    expected: str
    hint: str = ""

    def __post_init__(self) -> None:
        self.found, self.expected, self.hint = shown(self.found, 80), shown(self.expected, 300), shown(self.hint, 300)
        super().__init__(str(self))

    def __str__(self) -> str:
        return f'"{self.found}": {self.expected}' + (f" ({self.hint})" if self.hint else "")


# --- numbers ----------------------------------------------------------------------------------

_SAME = str.maketrans({
    "−": "-", "–": "-", "º": "°", "˚": "°", "³": "3", "²": "2", "₂": "2", "µ": "u", "μ": "u", "″": '"', "”": '"',
    "“": '"', "′": "'", "’": "'", "∕": "/", "℃": "°C", "℉": "°F",
})
"""The typographic forms of one sign within a unit."""
_PRODUCT = re.compile(r"(?<=\w)[·⋅](?=\w)")


def _plain(unit: str) -> str:
    return " ".join(_PRODUCT.sub(" ", unit.translate(_SAME)).split())


def _leading_number(text: str, whole: str, expected: str) -> tuple[float, str]:
    """The number at the front of a text, and the unit behind it as it stands."""
    try:
        value, rest = leading_number(text)
    except NumberProblem as problem:
        readings = " or ".join(f'"{reading}"' for reading in problem.readings)
        raise UnitProblem(whole, f"write {readings}" if readings else expected, problem.why) from None
    return value, rest


def read_number(text: str) -> float:
    """A plain number without a unit: "0.6", "0,6", "3/4", "1e-3"; "10:1" is 10. Raises UnitProblem."""
    if len(text) > MOST_TEXT:
        raise UnitProblem(text, "write a plain number", "far too long for a number")
    value, rest = _leading_number(text, text, "write a plain number, such as 0.6")
    if rest.replace(" ", "") in PLAIN:
        return value
    raise UnitProblem(text, "write a plain number without a unit, such as 0.6")


def without_unit(text: str) -> bool:
    """Whether a text is one plain number and nothing else: what a unit may be put behind."""
    try:
        return bool(text.strip()) and not leading_number(text)[1]
    except NumberProblem:
        return False


def unit_behind(text: str, families: str | Iterable[str]) -> str:
    """The unit behind the one number of a quantity, as it is written; "" where there is none or there are several."""
    try:
        read_quantity(text, families)
        unit = leading_number(text)[1]
    except (UnitProblem, NumberProblem):
        return ""
    return "" if re.search(r"\s[0-9]", unit) else unit


def takes(unit: str, number: str) -> bool:
    """Whether a unit may be put behind a plain number: a fraction of a length is one of an inch or a foot, never of a
    millimetre or a metre, which are counted in decimals; common practice, no source."""
    length = UNITS["length"].get(_plain(unit))
    return length is None or not is_fraction(number) or length in [UNITS["length"][name] for name in ("in", "ft")]


# --- quantities -------------------------------------------------------------------------------

_NAME = re.compile(f"[^0-9 {''.join(VULGAR)}]+")
_REFERENCE = re.compile(r"^(.*?) ?\(?(gauge|g|absolute|abs\.?|a)\)?$", re.IGNORECASE)
_CASE_COUNTS = frozenset({"ml", "mbar", "mpa", "mj", "ml/min", "ml/s", "ml/h", "ml/m/bar", "mpa/min", "mbar/min"})
_STARTS = frozenset("0123456789").union(VULGAR)
"""What a further part of a value in parts begins with."""
_SMALL_AND_LARGE = {"time": ("d", "h", "min", "s"), "length": ("ft", "in")}


@cache
def _folded(dimension: str) -> Mapping[str, Unit]:
    """Units by their name in small letters, where a capital changes nothing."""
    return {name.casefold(): unit for name, unit in UNITS[dimension].items() if name.casefold() not in _CASE_COUNTS}


def _unit(name: str, dimension: str) -> Unit | None:
    table, name = UNITS[dimension], _plain(name)
    for spelling in (name, name.replace(" /", "/").replace("/ ", "/").replace("° ", "°")):
        if spelling in table:
            return table[spelling]
        if spelling.casefold() in _folded(dimension):
            return _folded(dimension)[spelling.casefold()]
    return None


@dataclass(frozen=True)
class _Ask:
    """What was typed and what it should have been, for the words of a problem."""

    text: str
    families: tuple[str, ...]

    @property
    def expected(self) -> str:
        kinds = " or ".join(f'{FAMILIES[f].label}, such as "{FAMILIES[f].example}"' for f in self.families)
        return f"write {kinds}"

    def problem(self, hint: str = "", expected: str = "") -> UnitProblem:
        return UnitProblem(self.text, expected or self.expected, hint)


def read_quantity(text: str, families: str | Iterable[str]) -> tuple[float, str]:
    """The value in SI and the family it was written in, of a text such as "1 1/2 in" or "3,5 bar".

    `families` are the kinds it may be, the unit decides. A decimal comma is taken; "1,200 L", a bare
    "gal", a missing unit, a gauge pressure where an absolute one is wanted and the reverse are refused,
    each in words; a bare "0" is zero where it is that in every unit. Raises UnitProblem, whatever the text.
    """
    names = (families,) if isinstance(families, str) else tuple(families)
    ask = _Ask(text, names)
    if len(text) > MOST_TEXT:
        raise ask.problem("far too long for a quantity")
    for name in names:
        if FAMILIES[name].dimension == "none":
            return read_number(text), name
    value, rest = _leading_number(text, text, ask.expected)
    if not rest:
        if value == 0 and all(map(zero_needs_no_unit, names)):
            return 0.0, names[0]
        raise _no_unit(value, ask)
    for name in names:
        found = _value(value, rest, name, ask)
        if found is not None:
            if not math.isfinite(found):
                raise ask.problem("too large for any quantity")
            return found, name
    raise _unknown(rest, ask)


def _no_unit(value: float, ask: _Ask) -> UnitProblem:
    """The problem of a number alone; a fraction of a length with what it may be."""
    family = FAMILIES[ask.families[0]]
    if family.dimension == "length" and is_fraction(ask.text):
        number = " ".join(ask.text.split())
        return ask.problem("the unit is missing", f'write "{number} {family.usual_us}" or "{value:.6g} {family.usual}"')
    return ask.problem("the unit is missing")


def zero_needs_no_unit(family: str) -> bool:
    """Whether zero is the same in every unit of a family: not for a temperature or an absolute pressure."""
    return family != "pressure_abs" and not any(unit.offset for unit in UNITS[FAMILIES[family].dimension].values())


_BARE_GALLONS = re.compile(r"(?<!US )(?<!imp )(?<!UK )(?<!imperial )(?<![A-Z])"
                           r"(?=gal(?:s|lons?)?\b(?! ?\(?(?:US|imp|UK)\b))", re.IGNORECASE)


def with_us_gallons(text: str) -> str:
    """The text with each gallon that says no country as a US one: "0.2 gal/min" is "0.2 US gal/min"."""
    return _BARE_GALLONS.sub(lambda at: " US " if text[:at.start()][-1:].isdigit() else "US ", text)


def _value(number: float, rest: str, family: str, ask: _Ask) -> float | None:
    """The SI value in this family, or None where its dimension has no such unit."""
    dimension = FAMILIES[family].dimension
    if dimension == "pressure":
        return _pressure(number, rest, family, ask)
    unit = _unit(rest, dimension)
    if unit is not None:
        return number * unit.factor + unit.offset
    return _compound(number, rest, dimension) if dimension in _SMALL_AND_LARGE else None


def _compound(number: float, rest: str, dimension: str) -> float | None:
    """A value in parts, large to small, such as "1 h 20 min" or "6 ft 3 in"."""
    order = [UNITS[dimension][name] for name in _SMALL_AND_LARGE[dimension]]
    total, amount, above, left = 0.0, number, None, rest
    while True:
        named = _NAME.match(left)
        unit = _unit(named[0].removesuffix("-"), dimension) if named else None
        if named is None or unit is None or unit not in order or amount < 0:
            return None
        if above and amount >= round(above.factor / unit.factor):
            return None
        total, left = total + amount * unit.factor, left[named.end():].strip()
        hyphen = named[0].endswith("-")
        if not left:
            return None if hyphen else total
        if amount != int(amount) or left[0] not in _STARTS or (hyphen and dimension != "length"):
            return None
        order, above = order[order.index(unit) + 1:], unit
        try:
            amount, left = leading_number(left)
        except NumberProblem:
            return None


def _pressure(number: float, rest: str, family: str, ask: _Ask) -> float | None:
    """A pressure with its reference: gauge unless it says abs."""
    unit, reference = _unit(rest, "pressure"), ""
    if unit is None:
        split = _REFERENCE.match(_plain(rest))
        unit = _unit(split.group(1), "pressure") if split else None
        reference = split.group(2)[0].casefold() if split else ""
    if unit is None:
        return None
    if family == "pressure_abs" and reference != "a":
        raise ask.problem("a pressure without abs is taken as gauge",
                          'an absolute pressure is wanted: write it with abs, such as "1013 mbar abs"')
    if family == "pressure" and reference == "a":
        raise ask.problem("absolute pressure less the air pressure, about 1.013 bar at sea level",
                          "a gauge pressure is wanted: write it without abs")
    if family not in ("pressure", "pressure_abs") and reference:
        raise ask.problem("a difference of pressure is neither gauge nor absolute")
    return number * unit.factor


def _reads(text: str, families: tuple[str, ...]) -> bool:
    try:
        read_quantity(text, families)
    except UnitProblem:
        return False
    return True


def _unknown(rest: str, ask: _Ask) -> UnitProblem:
    """The problem of a unit that none of the families has, with the nearest one."""
    rest = _plain(rest)
    small = rest.casefold().replace(".", "")
    known = {name for family in ask.families for name in UNITS[FAMILIES[family].dimension]}
    us = with_us_gallons(ask.text)
    if us != ask.text and _reads(us, ask.families):
        return ask.problem("a US gallon is 3.785 L, an imperial one 4.546 L",
                           f'write "{us}" or "{us.replace("US ", "imp ", 1)}"')
    if re.match(r":[0-9]", rest):
        return ask.problem("a time with a colon can mean two things")
    capital = next((name for name in sorted(known) if name.casefold() == small), "")
    if capital:
        return ask.problem(f"small and capital letters count here: {capital}")
    near = nearest(rest, known) or nearest(small, map(str.casefold, known))
    if near:
        return ask.problem(f'the unit "{shown(rest, 30)}" is not known; nearest is {near}')
    return ask.problem(f'the unit "{shown(rest, 30)}" does not fit')


# --- showing ----------------------------------------------------------------------------------

@dataclass(frozen=True)
class Axis:
    """A unit for a whole chart or column: shown = (si - offset) / factor."""

    unit: str
    factor: float
    offset: float = field(default=0.0)


def _digits(value: float, significant: int = 3) -> str:
    """At least this many significant digits, four from a thousand up, without an exponent or idle zeros."""
    if value == 0:
        return "0"
    size = math.floor(math.log10(abs(value)))
    if not -12 < size < 15:
        return f"{value:.{significant}g}"
    places = significant - 1 - size if size < significant else min(significant - size, 0)
    rounded = round(value, places)
    text = f"{rounded:.{max(places, 0)}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def axis(family: str, units: str = "metric", largest: float | Array = math.nan) -> Axis:
    """The unit in which values up to `largest` (SI) are best shown; the family's usual one where it is NaN."""
    record = FAMILIES[family]
    ladder = record.us if units == "us" else record.metric
    if not ladder:
        return Axis("", 1.0)
    chosen = next((name for low, name in ladder if low <= abs(float(largest))), ladder[-1][1])
    if math.isnan(largest) or largest == 0:
        chosen = record.usual_us if units == "us" else record.usual
    name = chosen.removesuffix(" abs")
    unit = UNITS[record.dimension][name.translate(_SAME)]
    return Axis(chosen, unit.factor, unit.offset)


def to_figures(value: SupportsFloat, figures: int = 2) -> float:
    """The value rounded to so many significant figures; NaN and what is infinite as they are."""
    return float(f"{float(value):.{figures}g}")


FEW_STROKES = 10.0
"""Below so many a tenth of a stroke is told."""


def show(value: SupportsFloat, family: str, units: str = "metric") -> str:
    """The value for people, in trade words and sensible digits: "19.2 L/min", "1 h 02 min", "24 bar".

    `units` is "metric" or "us". NaN is "–" and an infinite value "no end". Strokes are rounded up, to a tenth
    where each one counts; a distance to keep is rounded up to a metre or to five feet.
    """
    si = float(value)
    if math.isnan(si):
        return "–"
    if math.isinf(si):
        return "no end"
    if family == "duration":
        return _duration(si)
    if family == "count":
        return str(round(si))
    if family == "strokes":
        return str(math.ceil(si - 1e-9)) if si >= FEW_STROKES else f"{math.ceil(10.0 * si - 1e-9) / 10.0:.3g}"
    chosen = axis(family, units, si)
    number = (si - chosen.offset) / chosen.factor
    if family == "distance":
        step = 5 if units == "us" else 1
        return f"{step * math.ceil(number / step - 1e-9)} {chosen.unit}"
    if family == "temperature":
        return f"{_digits(round(number, 1), 4)} {chosen.unit}"
    if family == "expansion":
        return f"{_digits(number * 1e6)}e-6 {chosen.unit}"
    if family == "ratio":
        return f"{_digits(float(f'{number:.3g}'))} times"
    return f"{_digits(number)} {chosen.unit}".rstrip()


def show_short(seconds: SupportsFloat, units: str = "metric") -> str:
    """A time as `show` has it, whole hours without their minutes: "8 h", "8 h 30 min"."""
    return show(seconds, "duration", units).removesuffix(" 00 min")


def write(value: SupportsFloat, family: str, units: str = "metric") -> str:
    """The value as one would write it into a case, to six digits; reading it gives it back to 1e-5."""
    si = float(value)
    if FAMILIES[family].dimension == "none":
        return _digits(si, 6)
    chosen = axis(family, units, si)
    number = (si - chosen.offset) / chosen.factor
    if family == "expansion":
        return f"{_digits(number * 1e6, 6)}e-6 {chosen.unit}"
    return f"{_digits(number, 6)} {chosen.unit}"


EXACT, SURE = 1e-6, 5e-4
"""How near, in proportion, a printed value comes to one that was typed so, and to one typed in another unit."""


def restate(value: SupportsFloat, family: str, units: str = "metric") -> str:
    """What somebody typed, for people, in five digits at most: as it was typed where these were its units, else with
    as few digits, three at least, as come within half a thousandth of it."""
    si = float(value)
    free = FAMILIES[family].dimension == "none"
    if free or family in ("expansion", "temperature", "duration"):
        return write(value, family, units)
    chosen = axis(family, units, si)
    number = (si - chosen.offset) / chosen.factor
    texts = [_digits(number, digits) for digits in (3, 4, 5)]
    found = next((text for near in (EXACT, SURE) for text in texts if abs(float(text) - number) <= near * abs(number)),
                 texts[-1])
    return f"{found} {chosen.unit}"


IN_HOURS = 200
"""h; a time below this is not told in days, for a working day is no day of 24 hours."""


def _duration(seconds: float) -> str:
    """Seconds for people: "4.2 s", "45 s", "2.5 min", "30 min", "2 h 40 min", "67 h", "10 d 4 h"."""
    if seconds < 0:
        return f"-{_duration(-seconds)}"
    if seconds < 9.95:
        return f"{_digits(round(seconds, 1))} s"
    if seconds < 89.5:
        return f"{round(seconds)} s"
    if seconds < 597:
        return f"{_digits(round(seconds / 60, 1))} min"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h {minutes % 60:02d} min"
    hours = round(seconds / 3600)
    if hours < IN_HOURS:
        return f"{hours} h"
    return f"{hours // 24} d {hours % 24} h" if hours < 100 * 24 else f"{round(hours / 24)} d"
