"""The commented case to start from, made from the declarations."""

from __future__ import annotations

from collections.abc import Iterator

from fillcalc.case import records
from fillcalc.case.fields import Input
from fillcalc.case.names import in_units
from fillcalc.case.records import Case
from fillcalc.case.shape_of import Child, children_of, input_at, leaves_of, offered, word_of

_START = {
    "vessel": records.ByVolume, "tap": records.Tap, "pump": records.AirDrivenPump,
}
"""The shape and kinds of the case to start from."""

_ACTIVE = frozenset({
    "vessel.volume", "vessel.material", "tap.pressure", "tap.open_flow", "fill.from",
    "fill.hose.length", "fill.hose.bore", "fill.hose.couplings", "vent.bore", "test.pressure", "test.hold",
    "pump.ratio", "pump.drive_pressure", "pump.stroke", "pump.flow_at_zero",
})
"""Inputs that stand in the case to start from; all others are there behind a #, above all what somebody's safety hangs
on: nobody's limit is a limit of another piece."""

_WRITTEN = {"vessel.wall": "0.1 %", "pump.regulator_pressure": "2.8 bar"}
_COLUMN = 34
_TITLES = {  # of tables that choose nothing and do not speak for themselves
    "fill": "the line from the tap to the vessel", "fill.hose": "one for each hose, in order from the tap",
    "test_hose": "the high-pressure hose", "labour.visit": "once", "labour.each": "per piece",
    "reading": "what was seen while pumping", "took": "what the finished job took; the next estimate learns from it",
    "gas_line": "a test with gas: regulator, needle valve and hose", "gas_vent": "where the gas is let off",
    "vessel.crest": "pipe run: each high point where air sits", "test.steps": "stops on the way up",
}


def template(units: str = "metric") -> str:
    """A commented case of a vessel known by its volume that reads without a problem; every key stands in it.

    `units`, metric or us, are those of its figures.
    """
    lines = ["format = 1", 'title = "New case"', f'# note = "{leaves_of(Case)["note"].example}"', "",
             "# All figures are examples: put your own in their place.",
             "# Every quantity is written with its unit: \"25 m\", \"1 1/2 in\", \"3,5 bar\", \"80 psi\", \"0.5 %\".",
             "# Pressures are gauge. What stands behind a # is left out; take the # away to use it.", ""]
    for key, child in children_of(Case).items():
        lines += _table(key, child, units)
    bores = ", ".join(f'"{in_units(bore, input_at("vent.bore"), units)}"' for bore in ("6 mm", "8 mm", "10 mm"))
    lines += ["# [ranges]                           # any quantity above, by its path",
              '# "tap.pressure" = "±15 %"', f'# "vent.bore" = [{bores}]', ""]
    return "\n".join(lines)


def _table(path: str, child: Child, units: str) -> Iterator[str]:
    record = _START.get(path, child.records[0])
    active = any(f"{path}.{key}" in _ACTIVE for key in leaves_of(record))
    mark = "" if active or not (child.optional or child.many) else "# "
    head = f"[[{path}]]" if child.many else f"[{path}]"
    yield _line(f"{mark}{head}", child.declared.help if child.declared else _TITLES.get(path, ""))
    if child.word:
        words = " · ".join(offered(child))
        yield _line(f'{mark}{child.word} = "{word_of(record, child)}"', words)
    for key, declared in leaves_of(record).items():
        yield _key(f"{path}.{key}", key, declared, mark, units)
    yield from _other_kinds(path, record, child, units)
    yield ""
    for key, inner in children_of(record).items():
        yield from _table(f"{path}.{key}", inner, units)
    for other in child.records:
        for key, inner in children_of(other).items():
            if key not in children_of(record):
                yield from _table(f"{path}.{key}", inner, units)


def _other_kinds(path: str, record: type, child: Child, units: str) -> Iterator[str]:
    """The keys that another shape or kind has in place of these."""
    for other in child.records:
        if not getattr(other, "offered", True):
            continue
        new = {key: declared for key, declared in leaves_of(other).items() if leaves_of(record).get(key) != declared}
        if new:
            yield f"# {word_of(other, child)}:"
            for key, declared in new.items():
                yield _key(f"{path}.{key}", key, declared, "# ", units)


def _key(path: str, key: str, declared: Input, mark: str, units: str) -> str:
    mark = "" if path in _ACTIVE and not mark else "# "
    bare = declared.form in ("number", "count", "flag", "points", "pair")
    value = in_units(_WRITTEN.get(path, declared.example), declared, units)
    left_out = f"; left out: {in_units(declared.default.text, declared, units)}" \
        if declared.default and mark and "left out" not in declared.help else ""
    return _line(f"{mark}{key} = {value}" if bare else f'{mark}{key} = "{value}"', f"{declared.help}{left_out}")


def _line(code: str, comment: str) -> str:
    return f"{code.ljust(_COLUMN)} # {comment}" if comment else code
