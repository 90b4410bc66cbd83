"""Set-ups of every kind for the tests of the picture, as text of a case, and where the vessel stands in a drawing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from itertools import combinations

import numpy as np

from fillcalc.case.read import read_text
from fillcalc.case.records import Case
from fillcalc.estimation.answers import Estimate, at_likely_values
from fillcalc.estimation.estimate import estimate
from fillcalc.present.picture import Picture
from fillcalc.present.picture.placing import Placed, forms_of
from tests.report.demo import NAMES, demo

VESSELS = {
    "tall": 'shape = "standing cylinder"\ndiameter = "400 mm"\nheight = "3 m"\nends = "hemispherical"',
    "squat": 'shape = "standing cylinder"\ndiameter = "3 m"\nheight = "1.2 m"\nends = "dished"',
    "flat": 'shape = "standing cylinder"\ndiameter = "600 mm"\nheight = "1.2 m"',
    "lying": 'shape = "lying cylinder"\ndiameter = "1 m"\nlength = "2.6 m"\nends = "elliptical 2:1"',
    "long": 'shape = "lying cylinder"\ndiameter = "500 mm"\nlength = "9 m"',
    "sphere": 'shape = "sphere"\ndiameter = "1.4 m"',
    "level run": 'shape = "pipe run"\ndiameter = "100 mm"\nlength = "80 m"',
    "rising run": 'shape = "pipe run"\ndiameter = "100 mm"\nlength = "80 m"\nrise = "5 m"',
    "crests": 'shape = "pipe run"\ndiameter = "100 mm"\nlength = "80 m"\nrise = "2 m"\n'
              + 3 * '[[vessel.crest]]\nslope = "10 deg"\n',
    "valve": 'shape = "valve body"\nvolume = "2 L"',
    "by volume": 'shape = "by volume"\nvolume = "800 L"\nheight = "2 m"',
    "volume alone": 'shape = "by volume"\nvolume = "800 L"',
}
HEIGHTLESS = ("valve", "volume alone")
"""Of which nothing is known but the volume, so that a vent has nothing to sit below."""
SOURCES = {
    "tap": 'kind = "tap"\npressure = "3 bar"\nopen_flow = "30 L/min"\nheight = "1 m"',
    "assumed tap": "",
    "hydrant": 'kind = "hydrant"\npressure = "5 bar"\nopen_flow = "300 L/min"',
    "transfer pump": 'kind = "transfer pump"\npoints = [["4 bar", "0 L/min"], ["1 bar", "80 L/min"]]\nheight = "-1 m"',
    "header tank": 'kind = "header tank"\nheight = "6 m"\ncontents = "1000 L"',
    "bucket": 'kind = "bucket"\nheight = "2.5 m"\nopen_flow = "20 L/min"\ncontents = "60 L"',
}
VENTS = {
    "open": 'bore = "8 mm"', "assumed": "", "small": 'bore = "1 mm"',
    "low": 'bore = "8 mm"\nbelow_highest_point = "30 mm"',
    "shut": "shut = true",
}
HOSE = '[[fill.hose]]\nlength = "25 m"\nbore = "12.7 mm"\nrating = "10 bar"\n'
LINES = {
    "one hose": f"[fill]\n{HOSE}", "two hoses": f"[fill]\n{HOSE}{HOSE}",
    "from the top": f'[fill]\nfrom = "top"\n{HOSE}',
    "through the pump": f"[fill]\nthrough_pump = true\n{HOSE}", "measured": '[fill]\nmeasured_flow = "12 L/min"\n',
}
PUMPS = {
    "air-driven": 'kind = "air-driven"\nratio = 10\nregulator_pressure = "2 bar"\nstroke = "60 mL"',
    "unregulated": 'kind = "air-driven"\nratio = 4\nstroke = "60 mL"',
    "hand": 'kind = "hand"', "electric": 'kind = "electric"\nflow = "6 L/min"\nrelief = "30 bar"',
}


def text(vessel: str = "flat", source: str = "tap", vent: str = "open", line: str = "one hose",
         pump: str = "air-driven", more: str = "") -> str:
    """The text of a case of one kind each."""
    return (f'format = 1\n[tap]\n{SOURCES[source]}\n[vent]\n{VENTS[vent]}\n[test]\npressure = "15 bar"\n'
            f"[pump]\n{PUMPS[pump]}\n{LINES[line]}{more}\n[vessel]\n{VESSELS[vessel]}\n")


Subject = tuple[Case, Estimate]


@cache
def subject(written: str) -> Subject:
    """The case and its estimate, at likely values."""
    case = read_text(written)
    return at_likely_values(case), at_likely_values(estimate(case))


@cache
def of_demo(name: str) -> Subject:
    """The same of a demo case."""
    case, answers = demo(name)
    return at_likely_values(case), at_likely_values(answers)


class EveryKind(Mapping[str, Subject]):
    """All demos, and each kind of part at least once; a case is estimated when it is first asked for."""

    def __init__(self) -> None:
        self.written = {f"vessel: {name}": text(vessel=name) for name in VESSELS}
        self.written |= {f"vessel: {name}, low vent": text(vessel=name, vent="low") for name in VESSELS
                         if name not in HEIGHTLESS}
        self.written |= {f"source: {name}": text(source=name) for name in SOURCES}
        self.written |= {f"vent: {name}": text(vent=name) for name in VENTS}
        self.written |= {f"line: {name}": text(vessel="lying", line=name) for name in LINES}
        self.written |= {f"pump: {name}": text(pump=name) for name in PUMPS}
        self.written["dry hose"] = text("valve", more='[test_hose]\nlength = "10 m"\nbore = "6 mm"\n'
                                        '[trapped_air]\ntest_hose = "dry"\n[relief_valve]\nset = "17 bar"\n')
        self.written["manifold"] = text("valve").replace("[vessel]", "[vessel]\ncount = 24\nat_once = 4")

    def __getitem__(self, name: str) -> Subject:
        return of_demo(name) if name in NAMES else subject(self.written[name])

    def __iter__(self) -> Iterator[str]:
        return iter((*NAMES, *self.written))

    def __len__(self) -> int:
        return len(NAMES) + len(self.written)


def box(picture: Picture) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of the vessel's walls, across in heights of the drawing."""
    walls = np.vstack([line.points for line in picture.lines if line.part == "vessel" and line.kind == "wall"])
    (left, bottom), (right, top) = walls.min(axis=0), walls.max(axis=0)
    return left * picture.wide, bottom, right * picture.wide, top


def ring_area(points: np.ndarray, wide: float) -> float:
    """Area of a closed line of the drawing, in squares of its height."""
    x, y = points[:, 0] * wide, points[:, 1]
    return 0.5 * float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))))


def stand_apart(stands: Sequence[Placed], columns: int, rows: int) -> None:
    """Every label is whole, inside the grid, and two letters or more from others on its row."""
    for one in stands:
        assert 0 <= one.row < rows and one.column >= 0 and one.column + len(one.text) <= columns
        assert one.text in forms_of(one.label)
    for one, other in combinations(stands, 2):
        apart = one.column + len(one.text) + 2 <= other.column or other.column + len(other.text) + 2 <= one.column
        assert one.row != other.row or apart, (one.text, other.text)
