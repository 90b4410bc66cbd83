"""The case: data only. One record for each table of the file, vessel shape and pump kind.

A leaf that holds a quantity is a float in SI, or an array with one value for each sample (that at likely values
is then the first). Pressures are gauge unless the family is `pressure_abs`; shares are fractions of one. A leaf that
may be a word ("rigid", "tap", "unlimited") is that word as a string.

A leaf whose type has no None is there in every job with water: it was given, stands in by default, or is worked out
from another (see `fillcalc.job.resolve`). Before that, and in a test with gas what only water needs, it may be None;
the reader, the defaults and the checks go by path and ask. None elsewhere: nothing was given and nothing is assumed.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from math import nan
from typing import TYPE_CHECKING, Any, ClassVar

from fillcalc.arrays import first
from fillcalc.case.fields import (
    AS_DEFAULT,
    Default,
    Input,
    Number,
    Typed,
    Word,
    called,
    choice,
    flag,
    moment,
    number,
    quantity,
    table,
    text,
    whole,
)
from fillcalc.case.practice import BY_VOLUME, HORIZONTAL, OTHER, RUN, RUN_WITH_CRESTS, VALVE, VESSEL, Practice
from fillcalc.case.stages import STAGE_KEYS

if TYPE_CHECKING:
    from fillcalc.model import shapes

KV_OVER_CV = 0.864978
"""IEC 60534-1."""
OF_KV = f"m3/h at 1 bar: Cv over {1.0 / KV_OVER_CV:.3f}"
"""What a Kv is, and how it is had from a Cv."""
BAR = 1e5
LITRE = 1e-3
MINUTE = 60.0
PER_MINUTE = LITRE / MINUTE
MOST_BAR = 2500 * BAR

MATERIALS = (
    "carbon steel", "stainless steel", "duplex steel", "cast iron", "ductile iron",
    "aluminium", "copper", "brass", "bronze", "titanium", "nickel alloy",
)
PLASTICS = ("polyethylene", "polypropylene", "pvc", "grp", "plastic", "rubber-lined")
HOSE_SIZES = tuple(f"{size} mm" for size in (
    6.3, 8, 9, 9.5, 10, 12, 12.7, 13, 15, 16, 19, 20, 25.4, 30, 31.5, 35, 38, 40, 45, 50.8, 52, 60, 63, 65, 70, 75, 76))
"""Inside diameters of hose in mm: ISO 1307 (from memory) with the inch sizes and those of fire hose beside them."""
GASES = ("nitrogen", "air")
"""What a test with gas may be done with."""
MOST_GAS_BAR = 399
"""Pressure, bar gauge, up to which the properties of the gases are known."""
BUCKET = Typed(0.9, 1.1)
"""A flow timed with a bucket and a watch; judgement."""
LABOUR = Typed(0.75, 1.5)
"""A time that somebody said the work takes; judgement."""
ENDS = ("flat", "hemispherical", "elliptical 2:1", "dished")


# --- vessel -----------------------------------------------------------------------------------

@dataclass(frozen=True)
class Crest:
    """A high point of a pipe run where a pocket of air sits."""

    group: ClassVar[str] = "vessel"
    slope: Number = quantity("angle", "slope of the leg downstream of the crest", "10 deg",
                             low=0.0, high=1.5707963267948966, required=True, label="crest{n} slope")


@dataclass(frozen=True)
class Vessel(ABC):
    """What every vessel has, whatever its shape."""

    group: ClassVar[str] = "vessel"
    shape: ClassVar[str] = ""
    word: ClassVar[Word] = Word()
    """What the shape is called, where that is not the word of the file."""
    offered: ClassVar[bool] = True
    """False for an old name, which is read but not offered."""
    dimensions: ClassVar[tuple[str, ...]] = ()
    """What its shape is given by; its volume may stand for one of them."""
    usual: ClassVar[Practice] = VESSEL

    wall: Number | str | None = quantity(("bore", "share"),
                                         "wall thickness, or the share of its volume that the vessel "
                                         "gains at test pressure", "6 mm", words=("rigid",), low=0.0, high=1.0,
                                         usual=("0.8 mm", "300 mm"), label="vessel wall")
    material: str | None = choice((*MATERIALS, *PLASTICS), "what the wall is made of",
                                  default=Default("carbon steel", "most test pieces are"), label="vessel material")
    young: Number = quantity("stress", "Young's modulus, instead of a material", "207 GPa", low=1e9, high=1e12,
                             usual=("60 GPa", "230 GPa"), label="Young's modulus")
    poisson: Number = number("Poisson's ratio, instead of a material", "0.30", low=0.0, high=0.5,
                             label="Poisson's ratio")
    expansion: Number = quantity("expansion", "linear thermal expansion, instead of a material",
                                 "11.7e-6 /K", low=0.0, high=1e-3, usual=("7e-6 /K", "25e-6 /K"),
                                 label="wall expansion")
    anchored: bool = flag("cannot grow lengthwise", "false", default=Default("false", "free to grow"), label="anchored")
    internals: Number = quantity("share", "share of the volume taken by tubes and the like", "30 %",
                                 low=0.0, high=0.95, default=Default("0 %", "nothing inside"), label="internals")
    design: Number | None = quantity("pressure", "design pressure", "16 bar", low=0.0, high=MOST_BAR,
                                     usual=("0.1 bar", "1000 bar"), label="design pressure", group="limits")
    never_above: Number | None = quantity("pressure", "the most the weakest part may ever see", "29 bar", low=0.0,
                                          high=MOST_BAR,
                                          recipe="the maker's or the procedure's maximum at test, not the plate "
                                                 "pressure",
                                          usual=("0.1 bar", "1500 bar"), label="pressure limit", group="limits",
                                          main=17)
    count: int = whole("pieces like this one", "2", low=1, high=10000, default=Default("1", "one piece"),
                       label="pieces", group="job")
    at_once: int = whole("pieces on one manifold at once", "1", low=1, high=1000,
                         default=Default("1", "one at a time"), label="pieces at once", group="job")

    empty_weight: Number = quantity("mass", "weight of the empty vessel; its metal takes up heat of the gas", "450 kg",
                                    low=1e-3, high=1e7, recipe="on the plate or the drawing",
                                    usual=("0.5 kg", "200 t"), label="empty weight", group="gas",
                                    typed=Typed(0.95, 1.05))

    @abstractmethod
    def inside(self) -> shapes.Shape:
        """Its shape inside, with nothing in it; every dimension is needed (see `solid.sized`)."""

    def practice(self) -> Practice:
        """What is usual for it where nobody said better."""
        return self.usual

    def high_points(self) -> tuple[Crest, ...]:
        """The crests in which air stays."""
        return ()


def _ends() -> Any:
    return choice(ENDS, "the two ends; most pressure vessels have dished ones, which add their volume to that between",
                  default=Default("flat", "nothing else was said; dished ends would add their own volume"),
                  label="vessel ends")


def _end_wall() -> Any:
    return quantity("bore", "thickness of flat ends", "30 mm", words=("rigid",), low=1e-4, high=2.0,
                    usual=("2 mm", "500 mm"), label="end thickness")


def _end_fixity() -> Any:
    return number("how far the shell holds the rim of a flat end: 1 clamped, 0 free to turn", "0.7", low=0.0, high=1.0,
                  default=Default("0.7", "a welded flat end is between clamped (1) and simply supported (0)",
                                  ("0", "0.7", "1")), label="end rim held")


@dataclass(frozen=True)
class StandingCylinder(Vessel):
    """An upright cylinder on its lower end."""

    shape: ClassVar[str] = "standing cylinder"
    word: ClassVar[Word] = Word("vertical cylinder", "vertical cyl.", "vertical vessel")
    dimensions: ClassVar[tuple[str, ...]] = ("diameter", "height")
    diameter: Number = quantity("bore", "inside diameter", "620 mm", low=1e-3, high=200.0,
                                recipe="circumference / 3.14 less two walls", usual=("50 mm", "5 m"),
                                label="vessel diameter", main=5)
    height: Number = quantity("length", "inside height between the tangent lines", "1.9 m", low=1e-3, high=200.0,
                              usual=("0.1 m", "30 m"), label="vessel height", main=6)
    volume: Number | None = quantity("volume", "inside volume, in the place of the diameter or the height", "570 L",
                                     low=1e-9, high=1e6, usual=("0.5 L", "300 m3"), label="vessel volume", main=8)
    ends: str = _ends()
    end_wall: Number | str | None = _end_wall()
    end_fixity: Number | None = _end_fixity()

    def inside(self) -> shapes.Shape:
        """As `Vessel.inside`."""
        from fillcalc.model import shapes

        return shapes.VerticalCylinder(self.diameter, self.height, shapes.HEADS[self.ends or "flat"])


@dataclass(frozen=True)
class LyingCylinder(Vessel):
    """A cylinder on its side."""

    shape: ClassVar[str] = "lying cylinder"
    word: ClassVar[Word] = Word("horizontal cylinder", "horizontal cyl.", "horizontal vessel")
    dimensions: ClassVar[tuple[str, ...]] = ("diameter", "length")
    usual: ClassVar[Practice] = HORIZONTAL
    diameter: Number = quantity("bore", "inside diameter", "1.2 m", low=1e-3, high=200.0,
                                recipe="circumference / 3.14 less two walls", usual=("50 mm", "5 m"),
                                label="vessel diameter", main=5)
    length: Number = quantity("length", "inside length between the tangent lines", "3 m", low=1e-3, high=1000.0,
                              usual=("0.1 m", "50 m"), label="vessel length", main=7)
    volume: Number | None = quantity("volume", "inside volume, in the place of the diameter or the length", "3400 L",
                                     low=1e-9, high=1e6, usual=("0.5 L", "300 m3"), label="vessel volume", main=8)
    ends: str = _ends()
    end_wall: Number | str | None = _end_wall()
    end_fixity: Number | None = _end_fixity()

    def inside(self) -> shapes.Shape:
        """As `Vessel.inside`."""
        from fillcalc.model import shapes

        return shapes.HorizontalCylinder(self.diameter, self.length, shapes.HEADS[self.ends or "flat"])


@dataclass(frozen=True)
class Sphere(Vessel):
    """A ball."""

    shape: ClassVar[str] = "sphere"
    dimensions: ClassVar[tuple[str, ...]] = ("diameter",)
    diameter: Number = quantity("bore", "inside diameter", "1 m", low=1e-3, high=200.0, usual=("50 mm", "20 m"),
                                label="vessel diameter", main=5)
    volume: Number | None = quantity("volume", "inside volume, in the place of the diameter", "520 L", low=1e-9,
                                     high=1e6, usual=("0.5 L", "5000 m3"), label="vessel volume", main=8)

    def inside(self) -> shapes.Shape:
        """As `Vessel.inside`."""
        from fillcalc.model import shapes

        return shapes.Sphere(self.diameter)


@dataclass(frozen=True)
class PipeRun(Vessel):
    """A length of pipe, filled from its low end."""

    shape: ClassVar[str] = "pipe run"
    dimensions: ClassVar[tuple[str, ...]] = ("diameter", "length")
    usual: ClassVar[Practice] = RUN
    length: Number = quantity("length", "length of the run", "120 m", low=1e-2, high=1e6, usual=("0.5 m", "20 km"),
                              label="pipe length", main=7)
    diameter: Number = quantity("bore", "inside diameter; or give size and schedule", "102.3 mm", low=1e-3, high=5.0,
                                usual=("6 mm", "1.5 m"), label="pipe bore", us_label="pipe ID", main=5)
    size: str | None = text("nominal size instead of a diameter", "DN100", us_example="4 in",
                           label="nominal size", main=2)
    schedule: str | None = text("pipe schedule that goes with the size", "40", label="pipe schedule", main=3)
    volume: Number | None = quantity("volume", "inside volume, in the place of the length or the diameter", "980 L",
                                     low=1e-9, high=1e6, usual=("0.5 L", "5000 m3"), label="pipe volume", main=8)
    rise: Number = quantity("length", "far end above the inlet", "3 m", low=0.0, high=5000.0,
                            default=Default("0 m", "level run"), usual=("0 m", "200 m"), label="pipe rise")
    crest: tuple[Crest, ...] = ()

    def inside(self) -> shapes.Shape:
        """As `Vessel.inside`."""
        from fillcalc.model import shapes

        return shapes.PipeRun(self.diameter, self.length, 0.0 if self.rise is None else self.rise)

    def practice(self) -> Practice:
        """As `Vessel.practice`; crests hold more air."""
        return RUN_WITH_CRESTS if self.crest else self.usual

    def high_points(self) -> tuple[Crest, ...]:
        """As `Vessel.high_points`."""
        return self.crest


@dataclass(frozen=True)
class ValveBody(Vessel):
    """A valve on the bench, known by its volume."""

    shape: ClassVar[str] = "valve body"
    usual: ClassVar[Practice] = VALVE
    volume: Number = quantity("volume", "inside volume", "0.9 L", low=1e-7, high=1e6, required=True,
                              recipe="weigh it empty and full; or DN25 0.2, DN50 0.8, DN80 2, DN100 4, DN150 10 L",
                              usual=("5 mL", "1000 L"), label="valve volume", main=4)
    height: Number | None = quantity("length", "inside height; left out: from the volume", "0.15 m", low=0.0,
                                     high=100.0, usual=("0 m", "3 m"), label="valve height", main=6)

    def inside(self) -> shapes.Shape:
        """As `Vessel.inside`."""
        from fillcalc.model import shapes

        return shapes.KnownVolume(self.volume, 0.0 if self.height is None else self.height)


@dataclass(frozen=True)
class ByVolume(Vessel):
    """A vessel of any shape, known by its volume, with a nozzle at its top."""

    shape: ClassVar[str] = "by volume"
    usual: ClassVar[Practice] = BY_VOLUME
    volume: Number = quantity("volume", "inside volume", "570 L", low=1e-7, high=1e6, required=True,
                              recipe="on the plate or the drawing; or weigh it empty and full",
                              usual=("0.1 L", "300 m3"), label="vessel volume", main=4)
    height: Number | None = quantity("length", "inside height; left out: from the volume", "1.9 m", low=0.0, high=200.0,
                                     usual=("0 m", "30 m"), label="vessel height", main=6)

    def inside(self) -> shapes.Shape:
        """As `Vessel.inside`."""
        from fillcalc.model import shapes

        return shapes.KnownVolume(self.volume, 0.0 if self.height is None else self.height)


@dataclass(frozen=True)
class OtherVessel(ByVolume):
    """The same under the name that it has in older files; its default for trapped air is that of a flush vent."""

    shape: ClassVar[str] = "other"
    usual: ClassVar[Practice] = OTHER
    offered: ClassVar[bool] = False


VESSEL_SHAPE = Input("what is under test", "by volume", form="choice", required=True, label="vessel", group="vessel",
                     main=1)
VESSELS: tuple[type[Vessel], ...] = (ByVolume, StandingCylinder, LyingCylinder, Sphere, PipeRun, ValveBody, OtherVessel)


# --- water, surroundings, tap -----------------------------------------------------------------

@dataclass(frozen=True)
class Water:
    """The water that is filled in."""

    group: ClassVar[str] = "source"
    temperature: Number = quantity("temperature", "temperature of the water", "15 degC", low=273.16, high=333.15,
                                   default=Default("15 degC", "mains water, common practice",
                                                   ("8 degC", "15 degC", "20 degC")), usual=("2 degC", "40 degC"),
                                   label="water temperature")


@dataclass(frozen=True)
class Surroundings:
    """Air, metal and site."""

    group: ClassVar[str] = "source"
    pressure: Number = quantity("pressure_abs", "air pressure on site", "1013 mbar abs", low=4e4, high=1.2e5,
                                usual=("700 mbar abs", "1050 mbar abs"), label="site air pressure")
    altitude: Number | None = quantity("length", "height above sea level, instead of a pressure", "850 m",
                                       low=-430.0, high=6000.0, default=Default("0 m", "sea level"),
                                       usual=("-100 m", "3000 m"), label="altitude")
    temperature: Number = quantity("temperature", "temperature of the air and the metal", "15 degC",
                                   low=223.15, high=333.15,
                                   default=Default("15 degC", "a mild day, common practice",
                                                   ("5 degC", "15 degC", "30 degC")), usual=("-10 degC", "45 degC"),
                                   label="air temperature")


@dataclass(frozen=True)
class WaterSource:
    """Where the water comes from: shut-off pressure, and a fall with the square of the flow."""

    group: ClassVar[str] = "source"
    kind: ClassVar[str] = "tap"
    word: ClassVar[Word] = Word()
    pressure: Number | None = quantity("pressure", "pressure with nothing flowing", "3.2 bar", low=1e3, high=200 * BAR,
                                       default=Default("3 bar", "usual mains pressure, common practice", ("1.5 bar",
                                                                                                          "3 bar",
                                                                                                          "5 bar")),
                                       recipe="screw a gauge on the tap, nothing else running", usual=("0.5 bar",
                                                                                                       "10 bar"),
                                       label="tap pressure", us_label="hose bib pressure", main=10, typed=Typed(0.95,
                                                                                                                1.05))
    open_flow: Number | str | None = quantity("flow", "flow wide open, with no hose on it", "28 L/min",
                                              words=("unlimited",), low=0.01 * PER_MINUTE, high=1e6 * PER_MINUTE,
                                              default=Default("30 L/min", "a wash-down tap, common practice",
                                                              ("15 L/min", "30 L/min", "60 L/min")),
                                              recipe="10 L bucket: L/min = 600 / seconds; 5 US gal: gpm = 300 / "
                                                     "seconds",
                                              usual=("3 L/min", "150 L/min"), label="tap open flow",
                                              us_label="hose bib open flow", us_short="hose bib flow", main=11,
                                              typed=BUCKET)
    points: tuple[tuple[float, float], ...] | None = table(
        "points", ("pressure", "flow"), "pressure against flow, instead of the two above",
        '[["3.2 bar", "0 L/min"], ["1.9 bar", "20 L/min"]]', label="source curve")
    height: Number = quantity("height", "source above (+) or below (-) the bottom of the vessel", "0 m",
                              low=-500.0, high=500.0, default=Default("0 m", "level with the vessel's bottom"),
                              usual=("-20 m", "50 m"), label="tap height", us_label="hose bib height")
    contents: Number | None = quantity("volume", "water that the source, or the container it draws from, holds",
                                       "1000 L", low=1e-4, high=1e6, usual=("5 L", "50 m3"), label="source contents")
    area: Number | None = quantity("area", "plan area of that container: its level falls by the water given over the "
                                   "area", "1.2 m2", low=1e-3, high=1e6,
                                   default=Default("1.2 m2", "plan of a usual tote, common practice; measure a "
                                                   "drum or a tub", ("1.0 m2", "1.2 m2", "1.4 m2")),
                                   usual=("0.05 m2", "100 m2"), label="source plan area")
    name: str | None = text("what this source is called: its own flow is then learned from finished jobs",
                            "pump hall, east wall", label="source name")


class Tap(WaterSource):
    """A tap on the mains."""

    kind: ClassVar[str] = "tap"
    word: ClassVar[Word] = Word(us_label="hose bib")


GREAT_FLOWS = ("3 L/min", "3000 L/min")
"""What hydrants and transfer pumps usually give; a tap of an inch has passed its most at 150 L/min."""


@dataclass(frozen=True)
class Hydrant(WaterSource):
    """A hydrant."""

    kind: ClassVar[str] = "hydrant"
    pressure: Number | None = called(WaterSource, "pressure", "hydrant pressure")
    open_flow: Number | str | None = called(WaterSource, "open_flow", "hydrant open flow", usual=GREAT_FLOWS)
    height: Number = called(WaterSource, "height", "hydrant height")


@dataclass(frozen=True)
class TransferPump(WaterSource):
    """A pump that fills, from its shut-off pressure to its largest flow."""

    kind: ClassVar[str] = "transfer pump"
    pressure: Number | None = called(WaterSource, "pressure", "transfer pump shut-off pressure", "shut-off pressure")
    open_flow: Number | str | None = called(WaterSource, "open_flow", "transfer pump open flow", "open flow",
                                              GREAT_FLOWS)
    height: Number = called(WaterSource, "height", "transfer pump height", "fill pump height")


@dataclass(frozen=True)
class HeaderTank(WaterSource):
    """A tank whose water level drives the fill."""

    kind: ClassVar[str] = "header tank"
    pressure: Number | None = quantity("pressure", "air pressure on the water, if it is closed", "0 bar",
                                       low=0.0, high=200 * BAR, default=Default("0 bar", "open to the air"),
                                       usual=("0 bar", "10 bar"),
                                       label="header tank pressure", short="tank air pressure", main=10,
                                       typed=Typed(0.95, 1.05))
    open_flow: Number | str | None = quantity("flow", "flow with its outlet wide open and no hose on it", "60 L/min",
                                              words=("unlimited",), low=0.01 * PER_MINUTE, high=1e6 * PER_MINUTE,
                                              default=Default("unlimited", "a short wide outlet"), usual=("3 L/min",
                                                                                                          "3000 L/min"),
                                              label="header tank open flow", short="tank open flow", main=11,
                                              typed=BUCKET)
    height: Number = quantity("length", "water level above (+) or below (-) the bottom of the vessel", "4 m",
                              low=-500.0, high=500.0, default=Default("0 m", "level with the vessel's bottom"),
                              usual=("-5 m", "50 m"), label="header tank level")


@dataclass(frozen=True)
class Bucket(HeaderTank):
    """A bucket or small tank that runs out."""

    kind: ClassVar[str] = "bucket"
    pressure: Number | None = called(HeaderTank, "pressure", "bucket air pressure", "air pressure")
    open_flow: Number | str | None = called(HeaderTank, "open_flow", "bucket open flow")
    height: Number = called(HeaderTank, "height", "bucket level")


CONTAINERS = (HeaderTank, Bucket, TransferPump)
"""Sources whose level falls as they give, where it is known what they hold."""

SOURCE_KIND = Input("where the water comes from", "tap", form="choice", default=Default("tap", "nothing else was said"),
                    label="water source", group="source")
WATER_SOURCES: tuple[type[WaterSource], ...] = (Tap, Hydrant, TransferPump, HeaderTank, Bucket)


# --- fill, vent, air --------------------------------------------------------------------------

@dataclass(frozen=True)
class Hose:
    """One length of fill hose with its couplings and tails."""

    group: ClassVar[str] = "hose"
    length: Number = quantity("length", "length of the fill hose", "22 m", low=0.0, high=1e5, required=True,
                              usual=("0 m", "300 m"), label="fill hose{n} length", short="hose{n} length", main=12)
    bore: Number = quantity("bore", "inside diameter of the fill hose", "12.7 mm", low=5e-4, high=1.0, required=True,
                            recipe="printed on the jacket; or drop a drill shank into the tail",
                            usual=("6 mm", "76 mm"), sizes=HOSE_SIZES,
                            label="fill hose{n} bore", us_label="fill hose{n} ID", main=13)
    couplings: int = whole("quick couplings on this hose", "2", low=0, high=100,
                           default=Default("2", "one at each end, common practice"), label="hose{n} couplings")
    coupling_hole: Number = quantity("bore", "smallest hole in a coupling", "9 mm", low=2e-4, high=1.0,
                                     default=Default("8.89 mm", "0.7 of the bore, here of half an inch; quick "
                                                     "couplings narrow a hose, common practice, no source",
                                                     ("7.62 mm", "8.89 mm", "10.8 mm")), usual=("3 mm", "76 mm"),
                                     label="hose{n} coupling hole", short="coupling hole")
    coupling_factor: Number = number("loss of a coupling as a multiple of a plain long hole of that bore", "1.0",
                                     low=0.5, high=10.0,
                                     default=Default("1.4", "1 is a long hole, 2 a thin plate or a poppet (Weisbach; "
                                                     "not checked against the source); 1.4 is their geometric mean",
                                                     ("1", "1.4", "2")), usual=("0.5", "4"),
                                     label="hose{n} coupling factor", short="coupling factor")
    tail_bore: Number | None = quantity("bore", "bore of the crimped tails", "9.5 mm", low=2e-4, high=1.0,
                                        usual=("3 mm", "76 mm"), label="hose{n} tail bore", us_label="hose{n} tail ID")
    roughness: Number = quantity("bore", "roughness of the inside", "0.01 mm", low=0.0, high=0.01,
                                 default=Default("0.0015 mm", "new plastic hose is smooth; as drawn tubing",
                                                 ("0 mm", "0.0015 mm", "0.05 mm")), label="hose{n} roughness")
    extra_k: Number = number("other losses as K at this bore", "0.5", low=0.0, high=1e4,
                             default=Default("0", "nothing else in the line"), usual=("0", "50"),
                             label="hose{n} other losses, K", short="other losses, K")
    reel: Number | None = quantity("bore", "coil diameter when the hose stays on its reel", "450 mm", low=0.05,
                                   high=20.0, usual=("0.15 m", "2 m"), label="hose{n} reel diameter",
                                   short="reel diameter")
    rating: Number | None = quantity("pressure", "working pressure of the fill hose", "20 bar", low=0.0, high=MOST_BAR,
                                     usual=("3 bar", "100 bar"), label="fill hose{n} rating", short="hose{n} rating")


@dataclass(frozen=True)
class FillLine:
    """Everything between the source and the vessel."""

    group: ClassVar[str] = "hose"
    from_: str = choice(("bottom", "top"), "where the water enters", default=Default("bottom", "usual practice"),
                        label="water enters at")
    kv: Number | None = number(f"Kv of the valves in the fill line, {OF_KV}", "4.5", low=1e-3,
                               high=1e5,
                               usual=("0.1", "1000"), label="fill valves, Kv")
    cv: Number | None = number("Cv of the valves in the fill line, instead of Kv", "5.2", low=1e-3, high=1e5,
                               usual=("0.1", "1000"), label="fill valves, Cv")
    through_pump: bool = flag("the vessel is filled through the test pump's own checks", "false",
                              default=Default("false", "a separate fill hose"),
                              label="fill through the pump", short="through the pump")
    measured_flow: Number | None = quantity("flow", "flow measured at the vessel end of the hose; outranks the line",
                                            "19 L/min", low=1e-3 * PER_MINUTE, high=1e6 * PER_MINUTE,
                                            recipe="10 L bucket at the vessel end, at the height of the inlet: "
                                                   "L/min = 600 / seconds", usual=("1 L/min", "3000 L/min"),
                                            label="measured fill flow", short="measured flow", typed=BUCKET)
    run_to_waste: Number = quantity("volume", "water run to waste through the vent at the end", "20 L",
                                    low=0.0, high=1e6, default=Default("0 L", "stopped when the vent runs solid"),
                                    usual=("0 L", "2000 L"), label="run to waste")
    change_over: Number | None = quantity("duration", "from an empty container to the next full one", "10 min",
                                          low=0.0, high=1e7, default=Default("10 min", "common practice, no source",
                                                                             ("5 min", "10 min", "20 min")),
                                          usual=("0 min", "4 h"), label="change-over", typed=LABOUR)
    hose: tuple[Hose, ...] = ()


@dataclass(frozen=True)
class Vent:
    """Where the air leaves."""

    group: ClassVar[str] = "air"
    bore: Number = quantity("bore", "bore of the vent", "8 mm", low=1e-4, high=5.0,
                            default=Default("8 mm", "a quarter-inch plug or valve, common practice",
                                            ("6 mm", "8 mm", "10 mm")),
                            recipe="try it with a drill shank", usual=("1 mm", "100 mm"),
                            label="vent bore", us_label="vent ID", main=14)
    coefficient: Number = number("discharge coefficient of the vent", "0.6", low=0.05, high=1.0,
                                 default=Default("0.60", "sharp hole: 0.56 at no pressure, 0.79 choked (Weisbach)",
                                                 ("0.56", "0.60", "0.79")), label="vent coefficient")
    below_highest_point: Number = quantity("bore", "how far the vent sits below the highest point inside", "0 mm",
                                           low=0.0, high=100.0,
                                           default=Default("0 mm", "flush at the highest point"), usual=("0 mm", "1 m"),
                                           label="vent below the top", short="below the top", typed=Typed(0.75, 1.25))
    shut: bool = flag("the vent is shut while filling", "false", default=Default("false", "open while filling"),
                      label="vent shut")


@dataclass(frozen=True)
class TrappedAir:
    """Air that stays behind."""

    group: ClassVar[str] = "air"
    amount: Number | None = quantity(("share", "volume"), "air left after filling: share of the volume, or free air",
                                     "0.4 %", low=0.0, high=1e6, usual=("0 %", "20 %"), label="trapped air", main=15,
                                     typed=AS_DEFAULT)
    test_hose: str = choice(("bled", "dry"), "whether the test hose was bled before pumping",
                            default=Default("bled", "bled through before connecting"), label="test hose was")


# --- test -------------------------------------------------------------------------------------

@dataclass(frozen=True)
class Step:
    """A stop on the way up; `at` is a gauge pressure in Pa, pause in s."""

    group: ClassVar[str] = "test"
    at: Number = quantity(("share", "pressure"), "where to stop: share of the test pressure, or a pressure", "50 %",
                          low=0.0, high=MOST_BAR, required=True, label="stop{n} at")
    pause: Number = quantity("duration", "how long to stop there", "2 min", low=0.0, high=1e7, required=True,
                             usual=("0 min", "2 h"), label="stop{n} pause")


@dataclass(frozen=True)
class Test:
    """What the procedure asks for."""

    group: ClassVar[str] = "test"
    medium: str | None = choice(("water", *GASES), "what it is tested with; left out: water", example="nitrogen",
                                otherwise="water", label="test medium", main=16)
    why_no_water: str | None = text("why water cannot be used inside; a test with gas asks for it",
                                    "must stay dry inside", label="why no water", group="gas")
    pressure: Number = quantity("pressure", "test pressure", "24 bar", low=100.0, high=MOST_BAR,
                                usual=("0.1 bar", "1000 bar"), label="test pressure", main=16)
    factor_on_design: Number | None = number("test pressure as a multiple of the design pressure", "1.5",
                                             low=0.1, high=4.0, usual=("1", "2"), label="test over design")
    start_pressure: Number | str = quantity("pressure", "what the gauge shows when the pump takes over: the tap's "
                                            "pressure, or that of the vessel just full", "tap", words=("tap", "full"),
                                            low=0.0, high=MOST_BAR,
                                            default=Default("full", "tap shut and vent shut before pumping; the gauge "
                                                            "shows the water that stands above it"),
                                            label="start pressure")
    steps: tuple[Step, ...] = ()
    rise_limit: Number | None = quantity("pressure_rate", "fastest rise allowed", "2 bar/min", low=1.0, high=1e9,
                                         usual=("0.1 bar/min", "1000 bar/min"), label="rise limit")
    hold: Number = quantity("duration", "time at test pressure", "10 min", low=0.0, high=1e7,
                            default=Default("10 min", "usual in works practice: valves less, pressure equipment up to "
                                            "30 min; the procedure decides", ("5 min", "10 min", "30 min")),
                            usual=("10 s", "24 h"), label="hold time")
    assumed_leak: Number | None = quantity("flow", "assumed leak, at test pressure", "5 mL/min", low=0.0,
                                           high=1e4 * PER_MINUTE, usual=("0 L/min", "1 L/min"), label="assumed leak")
    heat_passed: Number = number("heat between gas and metal, as a multiple of still free convection", "1",
                                 low=0.0, high=20.0,
                                 default=Default("1", "free convection by 0.13 Ra^(1/3); a jet stirs it, a baffle "
                                                 "hinders it, judgement", ("0.5", "1", "2")), usual=("0.2", "5"),
                                 label="heat to metal", group="gas")
    heat_outside: Number = number("heat from metal to the air around, W/(m2 K)", "10", low=0.0, high=1000.0,
                                  default=Default("10", "bare metal in still air, common practice; wind doubles it",
                                                  ("5", "10", "20")), usual=("1", "50"),
                                  label="heat to air", group="gas")


@dataclass(frozen=True)
class TestHose:
    """The high-pressure hose between pump and vessel."""

    group: ClassVar[str] = "test_hose"
    length: Number = quantity("length", "length of the high-pressure hose", "5 m", low=0.0, high=1e4, required=True,
                              usual=("0.3 m", "50 m"), label="test hose length")
    bore: Number = quantity("bore", "bore of the high-pressure hose", "6 mm", low=5e-4, high=0.2, required=True,
                            usual=("2 mm", "13 mm"), label="test hose bore", us_label="test hose ID")
    stretch: Number = quantity("hose_stretch", "what it gains per metre and bar", "0.015 mL/m/bar",
                               low=0.0, high=1e-9,
                               default=Default("0.015 mL/m/bar", "wire-braided hose, judgement; brake hose limits "
                                               "(49 CFR 571.106, not checked) are three times that",
                                               ("0.005 mL/m/bar", "0.015 mL/m/bar", "0.05 mL/m/bar")),
                               recipe="plug the end and count the strokes to test pressure",
                               usual=("0 mL/m/bar", "0.1 mL/m/bar"), label="test hose stretch")
    rating: Number | None = quantity("pressure", "working pressure of the test hose", "700 bar", low=0.0, high=MOST_BAR,
                                     usual=("40 bar", "2500 bar"), label="test hose rating")


# --- the gas test -----------------------------------------------------------------------------

@dataclass(frozen=True)
class GasSupply:
    """Where the gas comes from."""

    group: ClassVar[str] = "gas"
    kind: ClassVar[str] = ""
    word: ClassVar[Word] = Word()
    pressure: Number = quantity("pressure", "pressure of a full bottle, or of the air line while it flows", "200 bar",
                                low=0.1 * BAR, high=MOST_GAS_BAR * BAR, required=True, usual=("4 bar", "320 bar"),
                                recipe="read it on the bottle's gauge in the morning",
                                label="supply pressure", main=18, typed=Typed(0.97, 1.03))


@dataclass(frozen=True)
class Bottles(GasSupply):
    """Bottles of one kind, opened one group after the other."""

    kind: ClassVar[str] = "bottles"
    pressure: Number = called(GasSupply, "pressure", "bottle pressure")
    volume: Number = quantity("volume", "water volume of one bottle", "50 L", low=1e-4, high=100.0, required=True,
                              recipe="stamped on its shoulder", usual=("1 L", "80 L"), label="bottle volume", main=17)
    bottles: int = whole("bottles on site", "2", low=1, high=1000, required=True, label="bottles", main=19)
    at_once: int = whole("bottles opened together", "1", low=1, high=100,
                         default=Default("1", "one after the other"), label="bottles at once")
    difference: Number = quantity("pressure_change", "how much more than the vessel a bottle must have to be of use",
                                  "2 bar", low=0.0, high=50 * BAR,
                                  default=Default("2 bar", "what regulator and hose need to flow, common practice",
                                                  ("1 bar", "2 bar", "5 bar")), usual=("0.2 bar", "20 bar"),
                                  label="least difference")
    change_over: Number = quantity("duration", "from an empty bottle to the next full one", "5 min", low=0.0, high=1e6,
                                   default=Default("5 min", "common practice, no source",
                                                   ("3 min", "5 min", "10 min")), usual=("0 min", "1 h"),
                                   label="bottle change", typed=LABOUR)
    heat_passed: Number = number("heat between gas and bottle, as a multiple of still free convection", "1",
                                 low=0.0, high=20.0,
                                 default=Default("1", "free convection by 0.13 Ra^(1/3), judgement",
                                                 ("0.5", "1", "2")), usual=("0.2", "5"), label="heat in bottle")


@dataclass(frozen=True)
class AirLine(GasSupply):
    """A line of compressed air, or of nitrogen from a large store."""

    kind: ClassVar[str] = "air line"
    pressure: Number = called(GasSupply, "pressure", "line pressure")
    flow: Number | None = quantity(("air_flow", "normal_flow"),
                                   "most that the line gives: free air as it stands on site, or "
                                   "an amount in NL/min, Nm3/h or scfm", "260 L/min", low=0.1 * PER_MINUTE,
                                   high=1e6 * PER_MINUTE, usual=("30 L/min", "20000 L/min"), label="line flow",
                                   typed=BUCKET)


@dataclass(frozen=True)
class Booster(Bottles):
    """An air-driven gas booster between bottles and vessel."""

    kind: ClassVar[str] = "booster"
    ratio: Number = number("pressure ratio: air piston area over gas piston area", "30", low=0.5, high=1000.0,
                           required=True, recipe="on the plate", usual=("2", "150"), label="booster ratio", main=20)
    drive_pressure: Number = quantity("pressure", "air pressure at the booster while it runs", "5.5 bar",
                                      low=0.1 * BAR, high=20 * BAR,
                                      default=Default("5.5 bar", "shop air at the machine, common practice",
                                                      ("5 bar", "5.5 bar", "6.5 bar")), usual=("1 bar", "10 bar"),
                                      label="booster drive")
    stroke: Number = quantity("stroke", "gas swept in a stroke", "40 mL", low=1e-8, high=0.1,
                              default=Default("40 mL", "a common small booster; read its sheet",
                                              ("20 mL", "40 mL", "120 mL")), usual=("5 mL", "1 L"),
                              label="booster stroke")
    strokes_per_minute: Number = number("strokes a minute at no load", "60", low=0.1, high=5000.0,
                                        default=Default("60", "common practice; count them", ("40", "60", "100")),
                                        usual=("10", "200"), label="booster rate", typed=Typed(0.9, 1.1))


GAS_KIND = Input("where the gas comes from", "bottles", form="choice", required=True, label="gas supply", group="gas",
                 main=17)
GAS_SUPPLIES: tuple[type[GasSupply], ...] = (Bottles, AirLine, Booster)


@dataclass(frozen=True)
class GasLine:
    """Regulator, needle valve and hose between supply and vessel."""

    group: ClassVar[str] = "gas"
    regulator_pressure: Number = quantity("pressure", "what the regulator on the bottle is set to, flowing", "25 bar",
                                          low=0.01 * BAR, high=MOST_GAS_BAR * BAR, usual=("0.5 bar", "350 bar"),
                                          label="gas regulator", main=20)
    kv: Number = number(f"Kv of regulator, needle valve and hose in series, {OF_KV}", "0.3",
                        low=1e-5, high=1e3,
                        default=Default("0.3", "a bottle regulator and a small needle valve, common practice",
                                        ("0.1", "0.3", "0.6")), usual=("0.005", "20"), label="gas line, Kv",
                        typed=Typed(0.8, 1.2))
    hose_length: Number | None = quantity("length", "length of the gas hose, where it is not in the Kv", "5 m", low=0.0,
                                          high=1e4, usual=("0.3 m", "100 m"), label="gas hose length")
    hose_bore: Number | None = quantity("bore", "bore of the gas hose", "6 mm", low=5e-4, high=0.2, usual=("2 mm",
                                                                                                           "50 mm"),
                                        label="gas hose bore", us_label="gas hose ID")
    choked_drop: Number = number(
        "pressure drop over inlet pressure at which the gas flow through a valve chokes, x_T", "0.7", low=0.1,
        high=1.0, default=Default("0.7", "a globe or needle valve (IEC 60534-2-1, not checked against it)",
                                  ("0.6", "0.7", "0.8")),
        recipe="in the data sheet of the valve, as xT", usual=("0.15", "0.95"), label="choked drop ratio")


@dataclass(frozen=True)
class GasVent:
    """Where the gas is let off."""

    group: ClassVar[str] = "gas"
    kv: Number | None = number(f"Kv of the valve that lets off, {OF_KV}", "0.2", low=1e-5, high=1e3,
                               usual=("0.005", "50"), label="let-off valve, Kv", typed=Typed(0.8, 1.2))
    bore: Number | None = quantity("bore", "bore of a plain hole that lets off, instead of a Kv", "4 mm", low=1e-4,
                                   high=1.0, usual=("0.5 mm", "50 mm"), label="let-off bore", us_label="let-off ID")
    coefficient: Number = number("discharge coefficient of that hole", "0.7", low=0.05, high=1.0,
                                 default=Default("0.7", "a short hole, choked, common practice",
                                                 ("0.6", "0.7", "0.85")), label="let-off factor")


# --- pump, air, devices -----------------------------------------------------------------------

@dataclass(frozen=True)
class Pump:
    """What every test pump has."""

    group: ClassVar[str] = "pump"
    kind: ClassVar[str] = ""
    word: ClassVar[Word] = Word()
    rating: Number | None = quantity("pressure", "highest outlet pressure the pump is built for", "100 bar",
                                     low=0.0, high=2 * MOST_BAR, usual=("5 bar", "3000 bar"), label="pump rating")
    name: str | None = text("what this pump is called: its own curve is then learned from finished jobs", "ten to one",
                            label="pump name")


@dataclass(frozen=True)
class AirDrivenPump(Pump):
    """A pump with an air piston that drives a plunger."""

    kind: ClassVar[str] = "air-driven"
    ratio: Number = number("pressure ratio: air piston area over plunger area", "10", low=0.5, high=1000.0,
                           required=True, recipe="on the plate; or dead-head: outlet pressure / drive pressure",
                           usual=("1", "450"), label="pump ratio", main=18)
    drive_pressure: Number = quantity("pressure", "air pressure at the pump while it runs", "5.5 bar",
                                      low=0.1 * BAR, high=20 * BAR,
                                      default=Default("5.5 bar", "shop air at the machine, common practice",
                                                      ("5 bar", "5.5 bar", "6.5 bar")), usual=("1 bar", "10 bar"),
                                      label="drive pressure", main=19)
    regulator_pressure: Number | None = quantity("pressure", "what the regulator on the pump is set to", "2.8 bar",
                                                 low=0.05 * BAR, high=20 * BAR, usual=("0.5 bar", "10 bar"),
                                                 label="regulator setting", main=20)
    regulator_step: Number = quantity("pressure_change", "how finely the regulator's gauge can be read", "0.1 bar",
                                      low=100.0, high=5 * BAR,
                                      default=Default("0.1 bar", "a small regulator gauge, common practice"),
                                      label="regulator step")
    lock_up: Number = quantity("pressure_change", "how far the regulator creeps above its setting when nothing flows",
                               "0.3 bar", low=0.0, high=5 * BAR,
                               default=Default("0.3 bar", "a small regulator, common practice; limits are compared "
                                               "at the high end", ("0.1 bar", "0.3 bar", "0.7 bar")),
                               recipe="read the regulator's gauge while the pump runs, and again when it has stalled",
                               usual=("0 bar", "1.5 bar"), label="regulator lock-up")
    no_flow_pressure: Number | None = quantity("pressure", "air pressure at the pump when it stalls and nothing flows",
                                               "3.1 bar", low=0.05 * BAR, high=50 * BAR,
                                               recipe="gauge at the pump's air inlet, pump stalled, compressor at "
                                                       "cut-out",
                                               usual=("0.5 bar", "15 bar"), label="no-flow pressure")
    stroke: Number = quantity("stroke", "water per stroke", "60 mL", low=1e-8, high=0.1,
                              default=Default("11 mL", "a common small pump; count it", ("5 mL", "11 mL", "60 mL")),
                              recipe="count strokes to fill a 1 L jug at no pressure: mL = 1000 / strokes",
                              usual=("0.3 mL", "500 mL"), label="pump stroke", main=23)
    strokes_per_litre: Number | None = quantity("strokes_per_volume",
                                                "strokes to a litre at no pressure, instead of the "
                                                "stroke; or to another volume, with its unit", "91 /L", bare="/L",
                                                low=10.0, high=1e9, usual=("2 /L", "3500 /L"),
                                                label="strokes per litre")
    flow_at_zero: Number | None = quantity("flow", "flow with the outlet open at the drive pressure", "4.1 L/min",
                                           low=1e-4 * PER_MINUTE, high=1e4 * PER_MINUTE, usual=("0.1 L/min",
                                                                                                "100 L/min"),
                                           label="flow at no load")
    strokes_per_minute: Number | None = number("strokes a minute with the outlet open, instead of a flow", "145",
                                               low=0.1, high=5000.0,
                                               recipe="count 15 seconds with the outlet open, times 4", usual=("10",
                                                                                                               "400"),
                                               label="strokes a minute", typed=Typed(0.9, 1.1))
    air_strokes: int = whole("strokes of the air piston to one stroke of water", "1", low=1, high=2,
                             default=Default("1", "one stroke of air gives one of water"),
                             recipe="2 where the air piston also works on its way back and the plunger does not",
                             label="air strokes")
    points: tuple[tuple[float, float], ...] | None = table(
        "points", ("pressure", "flow"), "flow against outlet pressure, instead of the flow at zero",
        '[["0 bar", "4.1 L/min"], ["20 bar", "1.9 L/min"]]', label="pump curve")
    mid_curve: Number = number("flow at mid-pressure, measured over estimated from one point", "0.8",
                               low=0.2, high=1.5, label="mid-curve factor")
    stall: tuple[float, float] | None = table(
        "pair", ("pressure", "pressure"), "a dead-head that was seen: drive pressure, outlet pressure",
        '["5.5 bar", "52 bar"]', recipe="only with every part rated for it", label="measured stall")
    friction: Number = quantity("share", "friction, as a share of the pressure that drives the pump", "5 %",
                                low=0.0, high=0.9, usual=("0 %", "20 %"), label="pump friction")
    lowest_drive: Number = quantity("pressure", "drive pressure below which the pump does not shift", "1.2 bar",
                                    low=0.0, high=10 * BAR,
                                    default=Default("1.2 bar", "common practice", ("1 bar", "1.2 bar", "1.5 bar")),
                                    usual=("0.3 bar", "3 bar"), label="lowest drive")


@dataclass(frozen=True)
class HandPump(Pump):
    """A pump worked by hand: no pressure stalls it, the person does."""

    kind: ClassVar[str] = "hand"
    stroke: Number = quantity("stroke", "water per stroke", "10 mL", low=1e-8, high=0.1,
                              default=Default("10 mL", "a common bench pump; count it", ("5 mL", "10 mL", "25 mL")),
                              recipe="count strokes to fill a 1 L jug: mL = 1000 / strokes", usual=("0.5 mL", "200 mL"),
                              label="pump stroke", main=23)
    stroke_rate: Number = quantity("stroke_rate", "strokes a minute", "40 /min", low=0.001, high=20.0,
                                   default=Default("40 /min", "a steady hand, common practice",
                                                   ("20 /min", "40 /min", "60 /min")), usual=("5 /min", "90 /min"),
                                   label="strokes a minute", main=24, typed=Typed(0.9, 1.1))
    power: Number = quantity("power", "what the person at the lever can keep up", "75 W", low=1.0, high=2000.0,
                             default=Default("75 W", "one person for minutes on end, not checked against a source",
                                             ("50 W", "75 W", "120 W")), usual=("30 W", "400 W"),
                             label="power at lever")
    stroke_work: Number = quantity("energy", "the most work that a person puts into one stroke", "150 J",
                                   low=1.0, high=5000.0,
                                   default=Default("150 J", "one person at a long lever, not checked against a source"),
                                   usual=("20 J", "500 J"), label="work per stroke")


@dataclass(frozen=True)
class ElectricPump(Pump):
    """A pump of steady flow up to its relief setting."""

    kind: ClassVar[str] = "electric"
    flow: Number = quantity("flow", "flow of the pump", "6 L/min", low=1e-4 * PER_MINUTE, high=1e4 * PER_MINUTE,
                            required=True, usual=("0.2 L/min", "200 L/min"), label="pump flow", main=21)
    relief: Number = quantity("pressure", "its relief setting", "60 bar", low=0.0, high=2 * MOST_BAR, required=True,
                              usual=("1 bar", "1500 bar"), label="pump relief", main=22)
    stroke: Number | None = quantity("stroke", "water per stroke, if strokes are counted", "10 mL", low=1e-8, high=0.1,
                                     usual=("0.3 mL", "500 mL"), label="pump stroke", main=23)


PUMP_KIND = Input("what pumps the vessel up", "air-driven", form="choice", required=True, label="pump", group="pump",
                  main=17)
PUMPS: tuple[type[Pump], ...] = (AirDrivenPump, HandPump, ElectricPump)


@dataclass(frozen=True)
class AirSupply:
    """The compressor and its receiver."""

    group: ClassVar[str] = "pump"
    flow: Number = quantity(("air_flow", "normal_flow"), "air that the compressor delivers: free air as it stands on "
                            "site, or an amount in NL/min, Nm3/h or scfm", "260 L/min",
                            low=0.1 * PER_MINUTE, high=1e6 * PER_MINUTE, required=True,
                            recipe="0.65 of the plate's swept volume; or time the receiver from 4 to 6 bar, pump off: "
                                   "L/min = 2 x litres x 60 / seconds", usual=("30 L/min", "20000 L/min"),
                            label="compressor flow")
    receiver: Number | None = quantity("volume", "volume of the air receiver", "50 L", low=0.0, high=1e3,
                                       usual=("0 L", "5000 L"), label="receiver volume")
    receiver_pressure: Number | None = quantity("pressure", "pressure of the full receiver", "8 bar", low=0.0,
                                                high=50 * BAR, usual=("4 bar", "15 bar"), label="receiver pressure")


@dataclass(frozen=True)
class ReliefValve:
    """A relief valve on the pressure side."""

    group: ClassVar[str] = "limits"
    set: Number = quantity("pressure", "set pressure of the relief valve", "27 bar", low=0.0, high=MOST_BAR,
                           required=True, usual=("0.1 bar", "1500 bar"), label="relief setting", main=25)
    capacity: Number | None = quantity("flow", "water that the valve passes when fully open", "12 L/min",
                                       low=1e-3 * PER_MINUTE, high=1e5 * PER_MINUTE,
                                       recipe="on the maker's sheet, at the set pressure and a tenth above it",
                                       label="relief capacity")


@dataclass(frozen=True)
class Gauge:
    """The gauge that is read."""

    group: ClassVar[str] = "limits"
    full_scale: Number = quantity("pressure", "full scale of the gauge", "40 bar", low=0.0, high=2 * MOST_BAR,
                                  usual=("0.5 bar", "2500 bar"), label="gauge full scale")
    division: Number = quantity("pressure", "one division of the gauge", "0.5 bar", low=1.0, high=MOST_BAR,
                                usual=("2 mbar", "50 bar"), label="gauge division")
    height: Number = quantity("length", "gauge above the bottom of the vessel", "0 m", low=-500.0, high=500.0,
                              default=Default("0 m", "at the pump, level with the vessel's bottom"),
                              usual=("-20 m", "30 m"), label="gauge height")


@dataclass(frozen=True)
class Release:
    """How the pressure is let down."""

    group: ClassVar[str] = "release"
    kv: Number | None = number(f"Kv of the release valve, {OF_KV}", "0.06", low=1e-5, high=1e3,
                               default=Default("0.05", "a needle valve, common practice", ("0.02", "0.05", "0.2")),
                               usual=("0.003", "10"), label="release valve, Kv")
    rate: Number | None = quantity("pressure_rate", "how fast the procedure lets the pressure down, instead of a Kv",
                                   "5 bar/min", low=10.0, high=1e9, usual=("0.2 bar/min", "200 bar/min"),
                                   label="release rate")


@dataclass(frozen=True)
class Drain:
    """How the water is let out."""

    group: ClassVar[str] = "release"
    bore: Number = quantity("bore", "bore of the drain port; left out: from the volume", "19 mm", low=5e-4, high=2.0,
                            default=Default("25 mm", "a drain of 1 inch, by the vessel's size, straight out of the "
                                            "bottom, common practice; enter bore, hose and fall",
                                            ("15 mm", "25 mm", "40 mm")),
                            usual=("5 mm", "200 mm"), label="drain bore", us_label="drain ID")
    coefficient: Number = number("discharge coefficient of the drain", "0.6", low=0.05, high=1.0,
                                 default=Default("0.60", "a clean sharp hole is 0.60 to 0.62 (Unwin, Encyclopaedia "
                                                 "Britannica 11th ed. 1911)", ("0.5", "0.6", "0.7")),
                                 label="drain coefficient")
    hose_length: Number = quantity("length", "length of the drain hose", "10 m", low=0.0, high=1e4,
                                   default=Default("0 m", "straight out of the port"), usual=("0 m", "100 m"),
                                   label="drain hose length")
    fall: Number = quantity("length", "outlet below the bottom of the vessel", "0.5 m", low=0.0, high=500.0,
                            default=Default("0 m", "outlet level with the vessel's bottom"), usual=("0 m", "20 m"),
                            label="drain fall")
    vent_bore: Number | None = quantity("bore", "bore that lets air in while draining", "8 mm", low=1e-4, high=5.0,
                                        usual=("1 mm", "200 mm"), label="drain vent bore", us_label="drain vent ID")


# --- labour -----------------------------------------------------------------------------------

@dataclass(frozen=True)
class VisitLabour:
    """Once a visit."""

    group: ClassVar[str] = "job"
    wait: Number = quantity("duration", "waiting for permits, isolation, a witness", "15 min", low=0.0, high=1e7,
                            default=Default("15 min", "common practice", ("0 min", "15 min", "60 min")),
                            usual=("0 min", "8 h"), label="wait", typed=LABOUR)
    set_up: Number = quantity("duration", "unloading, walking down, laying out", "35 min", low=0.0, high=1e7,
                              default=Default("35 min", "common practice", ("20 min", "35 min", "75 min")),
                              usual=("0 min", "8 h"), label="set up", typed=LABOUR)
    pack_up: Number = quantity("duration", "packing up and signing off", "20 min", low=0.0, high=1e7,
                               default=Default("20 min", "common practice", ("10 min", "20 min", "30 min")),
                               usual=("0 min", "8 h"), label="pack up", typed=LABOUR)


@dataclass(frozen=True)
class PieceLabour:
    """For each piece."""

    group: ClassVar[str] = "job"
    connect: Number = quantity("duration", "connecting, and closing the openings", "20 min", low=0.0, high=1e7,
                               usual=("0 min", "24 h"), label="connect", typed=LABOUR)
    bleed: Number = quantity("duration", "bleeding and waiting for bubbles", "10 min", low=0.0, high=1e7,
                             usual=("0 min", "8 h"), label="bleed", typed=LABOUR)
    settle: Number = quantity("duration", "settling before the clock starts", "15 min", low=0.0, high=1e7,
                              usual=("0 min", "24 h"), label="settle", typed=LABOUR)
    inspect: Number = quantity("duration", "looking it over", "10 min", low=0.0, high=1e7,
                               usual=("0 min", "8 h"), label="inspect", typed=LABOUR)
    disconnect: Number = quantity("duration", "taking blinds and hoses off", "15 min", low=0.0, high=1e7,
                                  usual=("0 min", "24 h"), label="disconnect", typed=LABOUR)


@dataclass(frozen=True)
class Labour:
    """People and their times."""

    group: ClassVar[str] = "job"
    crew: int = whole("people on the job", "1", low=1, high=100, default=Default("1", "one person"), label="crew")
    closure: str = choice(("bolted blinds", "plugs", "clamps"), "how the openings are closed",
                          default=Default("plugs", "screwed plugs or clamps"), label="closure")
    openings: int = whole("openings to close", "2", low=1, high=100, default=Default("2", "both ends"),
                          label="openings")
    visit: VisitLabour = field(default_factory=VisitLabour)
    each: PieceLabour = field(default_factory=PieceLabour)
    day: Number = quantity("duration", "working day on site, with set-up and pack-up", "8 h", low=3600.0, high=86400.0,
                           default=Default("8 h", "a usual working day, common practice", ("7 h", "8 h", "10 h")),
                           usual=("4 h", "14 h"), label="working day")


@dataclass(frozen=True)
class Rework:
    """A joint that must be made again."""

    group: ClassVar[str] = "job"
    chance: Number = quantity("share", "share of pieces with a joint to re-make", "15 %", low=0.0, high=1.0,
                              default=Default("15 %", "of pieces have a joint to re-make, common practice"),
                              label="re-make chance")
    time: Number = quantity("duration", "time to release, re-make and pump again", "30 min", low=0.0, high=1e7,
                            default=Default("30 min", "common practice", ("15 min", "30 min", "40 min")),
                            usual=("0 min", "8 h"), label="re-make time", typed=LABOUR)


@dataclass(frozen=True)
class Reading:
    """What was seen while pumping."""

    group: ClassVar[str] = "reading"
    pressure: float = quantity("pressure", "gauge reading", "10 bar", low=0.0, high=MOST_BAR, required=True,
                               label="reading{n} pressure", short="pressure")
    strokes: float | None = number("strokes counted so far; left out in the hold", "29", low=0.0, high=1e9,
                                   label="reading{n} strokes", short="strokes")
    water: float | None = quantity("volume", "water pumped so far, instead of strokes", "1.6 L", low=0.0, high=1e6,
                                   label="reading{n} water", short="water")
    time: float | None = quantity("duration", "time of the reading; the air cools in a minute", "3 min", low=0.0,
                                  high=1e7, label="reading{n} time", short="time")
    temperature: float | None = quantity("temperature", "temperature of the water or the wall", "15 degC",
                                         low=223.15, high=333.15, label="reading{n} temperature", short="temperature")


def _taken(help: str, example: str, label: str, most: str = "8 h") -> Any:
    """The time that a stage took."""
    return quantity("duration", help, example, low=0.0, high=1e7, usual=("0 min", most), label=label)


@dataclass(frozen=True)
class Took:
    """What the finished job took, stage by stage as the estimate has them; no answer of its own case hangs on it.

    Connecting, bleeding, inspecting and disconnecting are for each piece, and so is re-making a joint; filling to
    release and drain for each load; waiting, set-up and packing once.
    """

    group: ClassVar[str] = "took"
    date: str | None = moment("the day of the job", "2026-11-20", "date", label="day of the job")
    wait: float | None = _taken("waiting for permits, isolation, a witness", "40 min", "wait taken")
    set_up: float | None = _taken("unloading, walking down, laying out", "35 min", "set-up taken")
    connect: float | None = _taken("connecting a piece and closing its openings", "25 min", "connect taken", "24 h")
    fill: float | None = _taken("filling a load, from the first water to the shut vent", "36 min", "fill taken",
                                "24 h")
    run_to_waste: float | None = _taken("running to waste through the vent", "2 min", "waste run taken")
    top_up: float | None = _taken("topping up from the tap", "1 min", "top-up taken")
    bleed: float | None = _taken("bleeding a piece and waiting for bubbles", "12 min", "bleed taken")
    pump_up: float | None = _taken("pumping a load up, pump running", "2.5 min", "pump-up taken")
    strokes: float | None = number("strokes to test pressure", "74", low=0.0, high=1e9, usual=("1", "5000"),
                                   label="strokes taken")
    raise_: float | None = _taken("raising a load with gas, from the open valve, stops included", "25 min",
                                  "raise taken", "24 h")
    settle: float | None = _taken("settling before the clock starts", "15 min", "settle taken", "24 h")
    hold: float | None = _taken("time at test pressure", "10 min", "hold taken", "24 h")
    inspect: float | None = _taken("looking a piece over", "10 min", "inspect taken")
    release: float | None = _taken("letting the pressure down", "2 min", "release taken")
    let_off: float | None = _taken("letting the gas of a load off", "20 min", "letting off taken", "24 h")
    drain: float | None = _taken("draining a load", "50 min", "drain taken", "24 h")
    disconnect: float | None = _taken("taking blinds and hoses off a piece", "15 min", "disconnect taken", "24 h")
    pack_up: float | None = _taken("packing up and signing off", "20 min", "pack-up taken")
    rework: float | None = _taken("re-making one joint: releasing, re-making, pumping again", "30 min",
                                  "re-making taken")
    on_site: float | None = _taken("from arriving to leaving", "5 h 5 min", "on site taken", "72 h")
    arrived: str | None = moment("when the visit began, by the clock on site", "2026-11-20 08:55:00", label="arrived")
    remade: int | None = whole("joints that had to be done again", "1", low=0, high=10000, label="joints re-made")
    running: str | None = choice(STAGE_KEYS, "the stage that the clock runs on", label="stage now", example="fill")
    first_reading: str | None = moment("when the first reading was taken, by the clock on site", "2026-11-20 11:58:20",
                                       label="first reading")
    since: str | None = moment("when that stage began, by the clock on site", "2026-11-20 11:42:05",
                               label="stage began")


# --- the case ---------------------------------------------------------------------------------

@dataclass(frozen=True)
class Range:
    """low / likely / high of an input in SI; `likely` None is rectangular, else triangular."""

    low: float
    likely: float | None
    high: float
    given: bool
    """True where the person gave it, False where it belongs to a default or to what was typed without one."""

    @property
    def middle(self) -> float:
        """The likely value, or halfway between the ends."""
        return 0.5 * (self.low + self.high) if self.likely is None else self.likely


@dataclass(frozen=True)
class Assumption:
    """An input that nobody gave, what was taken instead, and why."""

    path: str
    value: str
    why: str
    own: bool = False
    """Whether it is a figure of one's own, not a default."""


@dataclass(frozen=True)
class Case:
    """A set-up, as read: every required leaf present and in its legal range."""

    vessel: Vessel
    tap: WaterSource
    fill: FillLine
    test: Test
    pump: Pump
    group: ClassVar[str] = "job"
    format: int = 1
    title: str = text("what the job is called", "Cooler shell", empty="", label="title")
    note: str = text("what else must be known, on as many lines as it takes", "spare key at the gate", empty="",
                     label="note")
    water: Water = field(default_factory=Water)
    surroundings: Surroundings = field(default_factory=Surroundings)
    vent: Vent = field(default_factory=Vent)
    trapped_air: TrappedAir = field(default_factory=TrappedAir)
    test_hose: TestHose | None = None
    gas_supply: GasSupply | None = None
    gas_line: GasLine = field(default_factory=GasLine)
    gas_vent: GasVent = field(default_factory=GasVent)
    air_supply: AirSupply | None = None
    relief_valve: ReliefValve | None = None
    gauge: Gauge = field(default_factory=Gauge)
    release: Release = field(default_factory=Release)
    drain: Drain = field(default_factory=Drain)
    labour: Labour = field(default_factory=Labour)
    rework: Rework = field(default_factory=Rework)
    reading: tuple[Reading, ...] = ()
    took: Took = field(default_factory=Took)
    ranges: Mapping[str, Range] = field(default_factory=dict)
    """By path, such as "fill.hose.2.bore"; given ones and those that come with a default."""
    families: Mapping[str, str] = field(default_factory=dict)
    """Which family a leaf with several was written in, by path."""
    assumptions: tuple[Assumption, ...] = ()
    units: str = "metric"
    """What most of its quantities are written in: metric or us."""

    @property
    def test_gauge(self) -> float:
        """Test pressure at likely values, Pa gauge, whichever way it was given; NaN where it cannot be told."""
        if self.test.pressure is not None:
            return first(self.test.pressure)
        design, factor = self.vessel and self.vessel.design, self.test.factor_on_design
        return nan if factor is None or design is None else first(factor) * first(design)


@dataclass(frozen=True)
class KitHose(Hose):
    """A hose of the kit."""

    name: str = text("what the hose is called", "three-quarter, 25 m", required=True, label="hose{n} name")


@dataclass(frozen=True)
class KitGauge(Gauge):
    """A gauge of the kit."""

    name: str = text("what the gauge is called", "40 bar, 100 mm", required=True, label="gauge name")


@dataclass(frozen=True)
class KitBottles(Bottles):
    """Bottles of one kind in the kit."""

    name: str = text("what the bottles are called", "50 L at 200 bar", required=True, label="bottle name")


@dataclass(frozen=True)
class KitRegulator:
    """A regulator of the kit, with its needle valve and hose."""

    group: ClassVar[str] = "gas"
    name: str = text("what the regulator is called", "50 bar regulator", required=True, label="regulator name")
    pressure: Number = quantity("pressure", "highest pressure that it can be set to", "50 bar", low=0.01 * BAR,
                                high=MOST_GAS_BAR * BAR, required=True, usual=("2 bar", "350 bar"),
                                label="highest outlet")
    kv: Number = called(GasLine, "kv", "regulator, Kv")


@dataclass(frozen=True)
class Kit:
    """What can be taken along. A pump's name stands beside it, its record being one of PUMPS."""

    hose: tuple[KitHose, ...] = ()
    pump: tuple[tuple[str, Pump], ...] = ()
    gauge: tuple[KitGauge, ...] = ()
    bottle: tuple[KitBottles, ...] = ()
    regulator: tuple[KitRegulator, ...] = ()
    assumptions: tuple[Assumption, ...] = ()
    own_ranges: Mapping[str, Range] = field(default_factory=dict)
    """Of figures of one's own, by path, such as "pump.2.mid_curve"."""

    @cached_property
    def assumed(self) -> dict[str, set[str]]:
        """What nobody gave of each item, such as "hose.3"."""
        found: dict[str, set[str]] = {}
        for each in self.assumptions:
            item, _, leaf = each.path.rpartition(".")
            found.setdefault(item, set()).add(leaf)
        return found
