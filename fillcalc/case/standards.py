"""Test pressures, hold times, gauges and distances by standard and edition: to be looked up, never chosen for anyone.

Each row says how it is known: read in the standard, second-hand from a page that quotes it, or not checked against
it. Standards change and the written procedure decides: check your own copy.
"""

from __future__ import annotations

from dataclasses import dataclass

from fillcalc.case.provenance import Provenance, describe

MINUTE, HOUR = 60.0, 3600.0
READ, SECOND_HAND, MEMORY = Provenance.READ, Provenance.SECOND_HAND, Provenance.MEMORY
CHECK = "Check your own copy. The written procedure and the local code decide; editions differ."


@dataclass(frozen=True)
class Row:
    """One thing that a standard says."""

    subject: str
    """valve, vessel, piping, pipeline, tank, leak, gauge, distance, water, metal."""
    what: str
    """test pressure, hold, ..."""
    standard: str
    edition: str
    says: str
    provenance: Provenance
    """Computed is not among them."""
    quoted_in: str = ""
    """The page that quotes it, where it is second-hand."""

    @property
    def known(self) -> str:
        """How it is known, in words for a user."""
        return describe(self.provenance, self.quoted_in)


@dataclass(frozen=True)
class ShellHold:
    """Least time of a valve's shell test: sizes to this DN (the last has no end), and s."""

    standard: str
    edition: str
    kinds: str
    to_dn: tuple[float, ...]
    hold: tuple[float, ...]
    provenance: Provenance
    quoted_in: str = ""


CODES = "a piping handbook's table of codes"

SHELL_HOLDS = (
    ShellHold("EN 12266-1", "2012", "all valves", (50, 150, 300), (15, 60, 120, 300), SECOND_HAND,
              "a valve maker's table"),
    ShellHold("EN 12266-1", "2003", "all valves", (50, 200), (15, 60, 180), MEMORY),
    ShellHold("ISO 5208", "2008, 2015", "not check valves", (50, 150, 300), (15, 60, 120, 300), MEMORY),
    ShellHold("ISO 5208", "2008, 2015", "check valves", (50, 150, 300), (60, 60, 120, 120), MEMORY),
    ShellHold("ISO 5208", "1993", "all valves", (50, 200), (15, 60, 180), MEMORY),
    ShellHold("API 598", "6th, 1990", "all valves", (50, 150, 300), (15, 60, 120, 300), SECOND_HAND,
              "a valve maker's table"),
    ShellHold("API 598", "9th, 10th", "not check valves", (50, 150, 300), (15, 60, 120, 300), MEMORY),
    ShellHold("API 598", "9th, 10th", "check valves", (50, 150, 300), (60, 60, 120, 120), MEMORY),
    ShellHold("API 6D", "edition not known", "all valves", (100, 250, 450), (120, 300, 900, 1800), MEMORY),
)

ROWS = (
    Row("valve", "test pressure", "ISO 5208, API 598, EN 12266-1, ASME B16.34", "several",
        "shell 1.5 x the cold working pressure, seat 1.1 x", SECOND_HAND, "a comparison of valve standards"),
    Row("valve", "test pressure", "API 598", "several", "shell pressure rounded up to the next 25 psi",
        SECOND_HAND, "valve makers' tables, which the rule fits"),
    Row("valve", "hold", "API 6A", "edition not known", "body 3 min, down to zero, then 15 min", MEMORY),
    Row("valve", "accuracy", "ISO 5208", "2015, 4.4", "measured within 5 % of the required test pressure",
        SECOND_HAND, "a page with parts of its text"),
    Row("vessel", "test pressure", "ASME VIII-1 UG-99(b)", "since the 1999 addenda",
        "1.3 x MAWP x lowest stress ratio", SECOND_HAND, "training slides"),
    Row("vessel", "test pressure", "ASME VIII-1 UG-99(b)", "before the 1999 addenda", "1.5 x",
        SECOND_HAND, "an article on UG-99"),
    Row("vessel", "inspection", "ASME VIII-1 UG-99", "current", "at no less than test pressure / 1.3",
        SECOND_HAND, "training slides"),
    Row("vessel", "hold", "ASME VIII-1 UG-99", "current",
        "none stated: until inspected; 10 min, 30 min and 1 h are owners' rules", MEMORY),
    Row("vessel", "test pressure", "ASME VIII-2", "edition not known",
        "the greater of 1.43 x MAWP and 1.25 x MAWP x ratio", MEMORY),
    Row("vessel", "test pressure", "ASME I", "edition not known", "1.5 x, no more than 90 % of yield",
        SECOND_HAND, CODES),
    Row("vessel", "hold", "ASME I", "edition not known", "not stated; 1 h is typical", SECOND_HAND, CODES),
    Row("vessel", "test pressure", "PED Annex I 7.4", "97/23/EC; 2014/68/EU not checked",
        "the greater of 1.43 x PS and 1.25 x the loading at highest pressure and temperature",
        SECOND_HAND, "an engineers' discussion of 97/23/EC"),
    Row("vessel", "test pressure", "EN 13445-5 10.2.3.3", "edition not known",
        "the greater of 1.25 x design x stress ratio and 1.43 x design", MEMORY),
    Row("vessel", "hold", "EN 13445-5", "edition not known",
        "30 min in one account, none in another", MEMORY),
    Row("vessel", "hold", "Danish in-service rule", "edition not known",
        "1.3 x set pressure or more for 10 min; liquid no warmer than 40 °C; above 100 bar let down before looking",
        SECOND_HAND, "a certification body's page"),
    Row("piping", "test pressure", "ASME B31.3 345.4", "edition not known",
        "1.5 x P x stress ratio, not over yield", SECOND_HAND, CODES),
    Row("piping", "hold", "ASME B31.3 345.2.2", "edition not known", "time to inspect, 10 min at least",
        SECOND_HAND, CODES),
    Row("piping", "with a vessel", "ASME B31.3 345.4.3(b)", "2016",
        "the vessel's test pressure at least 77 % of the piping's", READ),
    Row("piping", "air test", "ASME B31.3 345.5", "2016",
        "1.1 x P; relief at test + the lesser of 50 psi and 10 %", READ),
    Row("piping", "test pressure", "ASME B31.1", "edition not known", "1.5 x; examined at design pressure",
        SECOND_HAND, CODES),
    Row("piping", "hold", "ASME B31.1", "edition not known", "10 min", SECOND_HAND, CODES),
    Row("piping", "test pressure", "EN 13480-5 9.3.2", "2002",
        "the greater of 1.43 x PS and 1.25 x PS x stress ratio", MEMORY),
    Row("piping", "hold", "EN 13480-5 9.3.2.2.2", "2002",
        "to 50 %, then steps of 10 %; 30 min at least; then design pressure and a close look", READ),
    Row("vessel", "gas test", "ASME VIII-1 UG-100", "edition not known",
        "1.1 x MAWP x lowest stress ratio; to half, then steps of a tenth; inspected at test / 1.1", MEMORY),
    Row("piping", "gas steps", "ASME B31.3 345.5.5", "edition not known",
        "a first check at the lesser of half and 170 kPa, then in steps; inspected at design pressure", MEMORY),
    Row("valve", "gas seat test", "API 598", "edition not known", "air or gas at 4 to 7 bar", MEMORY),
    Row("valve", "gas seat test", "EN 12266-1", "2012", "gas at 6 bar, or 1.1 x if that is less", MEMORY),
    Row("leak", "seat, gas", "ISO 5208, EN 12266-1", "several",
        "rate A none seen; B 0.3, C 3, D 30 mm3/s for each mm of DN", MEMORY),
    Row("leak", "seat, gas", "API 598", "edition not known",
        "soft seats none; metal seats DN65 to 150 24, DN200 to 300 40 bubbles a minute", MEMORY),
    Row("leak", "seat, gas", "ANSI/FCI 70-2, class VI", "edition not known",
        "DN25 0.15, DN50 0.45, DN80 0.90, DN100 1.70, DN150 4.0 mL/min; 1, 3, 6, 11, 27 bubbles a minute", MEMORY),
    Row("pipeline", "hold", "49 CFR 195", "as amended",
        "4 h at 1.25 x MOP, and 4 h at 1.10 x if it cannot be seen", SECOND_HAND, "the regulator's notes on the rule"),
    Row("pipeline", "hold", "49 CFR 192", "since 1970", "8 h", SECOND_HAND, "a trade journal"),
    Row("pipeline", "hold", "AS/NZS 2885.5", "edition not known", "24 h where a leak is judged by correlation",
        SECOND_HAND, "a poor copy of its text"),
    Row("pipeline", "air left", "DNV-OS-F101, DNV-ST-F101", "several", "0.2 % of the fill volume", MEMORY),
    Row("tank", "hold", "API 650, API 620", "edition not known",
        "filled to the design level; about 24 h is practice", MEMORY),
    Row("gauge", "full scale", "ASME VIII-1 UG-102", "current",
        "about 2 x test pressure; never under 1.5 x or over 4 x", SECOND_HAND, "a calibration laboratory's procedure"),
    Row("gauge", "full scale", "EN 837-2", "edition not known",
        "steady pressure no more than 75 % of full scale", MEMORY),
    Row("distance", "with water", "BS 8010-2.8, 8.2.1", "withdrawn",
        "15 m from the section", SECOND_HAND, "an extract of its text"),
    Row("distance", "with water", "an operator's rule", "edition not known", "50 ft (15 m) from the section",
        Provenance.COMMON_PRACTICE),
    Row("distance", "with gas", "ASME PCC-2, art. 5.1", "2008",
        "30 m to 135.5 MJ, 60 m to 271 MJ, and 20 × (kg of TNT)^(1/3) m at least", READ),
    Row("distance", "with gas", "ASME PCC-2, art. 501", "later editions", "20 × (2 × kg of TNT)^(1/3) m", MEMORY),
    Row("metal", "temperature", "ASME VIII-1 UG-99(h)", "current",
        "17 °C (30 °F) above the MDMT; need not pass 48 °C", MEMORY),
    Row("water", "chloride, stainless", "API 6D", "edition not known", "30 ppm by mass",
        SECOND_HAND, "a valve maker's page"),
    Row("water", "chloride, stainless", "API 650 and many owners", "several", "50 ppm", MEMORY),
    Row("water", "chloride, stainless", "API 598, ISO 5208", "several", "100 ppm", MEMORY),
)
"""What was gathered; a subject that is missing here is not free of rules."""


def rows(word: str = "") -> tuple[Row, ...]:
    """The rows that hold a word anywhere, in any case; all of them for no word. Shell holds are rows too."""
    wanted = word.casefold()
    return tuple(row for row in (*ROWS, *_hold_rows()) if wanted in _shown(row).casefold())


def _shown(row: Row) -> str:
    return " ".join((row.subject, row.what, row.standard, row.edition, row.says, row.known))


def _hold_rows() -> tuple[Row, ...]:
    said = []
    for table in SHELL_HOLDS:
        ends = [f"to DN{end:g}" for end in table.to_dn] + [f"above DN{table.to_dn[-1]:g}"]
        holds = [f"{hold:g} s" if hold < 2 * MINUTE else f"{hold / MINUTE:g} min" for hold in table.hold]
        said.append(Row("valve", f"shell hold, {table.kinds}", table.standard, table.edition,
                        ", ".join(f"{end} {hold}" for end, hold in zip(ends, holds, strict=True)),
                        table.provenance, table.quoted_in))
    return tuple(said)


def shell_hold(table: ShellHold, dn: float) -> float:
    """Least shell hold of a valve of a nominal size DN in a table, s."""
    return next((hold for end, hold in zip(table.to_dn, table.hold, strict=False) if dn <= end), table.hold[-1])
