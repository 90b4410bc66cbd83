"""Which one: every hose, every two hoses in a row and every pump of a kit, ranked for one case."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations
from typing import Generic, TypeAlias, TypeVar

import numpy as np

from fillcalc.arrays import Array, drawn, first, take
from fillcalc.case.assume import ranges_alone, typed_alone
from fillcalc.case.fields import inputs
from fillcalc.case.kit import kit_for
from fillcalc.case.medium import is_gas
from fillcalc.case.no_flow import no_flow
from fillcalc.case.records import AirDrivenPump, Case, ElectricPump, HandPump, Hose, Kit, Pump, Range
from fillcalc.estimation.answers import Span, answer, part
from fillcalc.estimation.limits import far_above, lowest_rating
from fillcalc.estimation.regulator import window_of
from fillcalc.job.distribution import quantile
from fillcalc.job.job import job_of
from fillcalc.job.points import DRAWS
from fillcalc.job.samples import assign, key, keys
from fillcalc.job.setup import worst
from fillcalc.model.pump import flow
from fillcalc.model.status import LIMITS, Status
from fillcalc.questions.choices.options import Base, Fills, PumpUps, base_of, fills_of, on_site, pump_ups_of
from fillcalc.questions.days import rank
from fillcalc.questions.likely import likely_span
from fillcalc.questions.percentiles import low_likely_high
from fillcalc.questions.ranges import STANDS
from fillcalc.questions.setting import why_no_setting
from fillcalc.tree import Record, put_all
from fillcalc.units import show, to_figures

SHORTER, REACHES = "shorter than the line of the case", 0.01
"""What is said of a line that is shorter than the case's own by more than this share: it may not reach."""
MOST_LINES = 16
"""Lines of hoses that are worked out."""
MOST_IN_PAIRS = 16
"""Hoses of a kit of which any two in a row are tried."""
LONGEST_BY_HAND = 2 * 3600.0
"""s of pumping by hand from which a hand pump is none; judgement."""
NEVER_STALLS = "does not stall; watch the gauge"


@dataclass(frozen=True)
class Choice:
    """One hose, or two in a row, with one pump at one setting of its regulator."""

    hose: str
    pump: str
    regulator_gauge_pa: float = answer("pressure", "regulator")
    reach_gauge_pa: float = answer("pressure", "can reach")
    """Without friction, the air at its highest when nothing flows; infinite for a hand pump, which does not stall."""
    can: bool = part()
    why: str = part()
    """Why it cannot; else what there is to know of it, or nothing."""
    of_hose: str = part()
    of_pump: str = part()
    """The parts of `why` that the hose, and the pump at this setting, are the reason of."""
    fill_s: Span = part()
    pump_up_s: Span = part()
    visit_s: Span = part()
    never_share: float = answer("share", "samples that never finish", "less")
    days: float = answer("count", "working days", "less")
    hose_places: tuple[int, ...] = ()
    """Of its hoses in the kit, from 1."""
    pump_place: int = 0
    """Of its pump in the kit, from 1."""


Drawn = TypeVar("Drawn")


@dataclass(frozen=True)
class _Option(Generic[Drawn]):
    """A line of hoses or a pump: its name, its records drawn over the rows, and what speaks against it."""

    name: str
    drawn: Drawn
    setting: float = float("nan")
    reach: float = float("nan")
    cannot: tuple[str, ...] = ()
    note: tuple[str, ...] = ()


_Line: TypeAlias = _Option[tuple[Hose, ...]]
_Pump: TypeAlias = _Option[Pump]


def choices(case: Case, kit: Kit, units: str = "metric", draws: int = DRAWS) -> tuple[Choice, ...]:
    """Every line and every pump of the kit in the place of the case's own, the best first.

    Lines are the hoses, and any two of a kit of up to 16 in a row, the wider end at the vessel. A pump stands at the
    one setting of its regulator that is advised: one that can pass neither the lowest limit on the line nor the
    relief valve, the lowest that gets there where the vessel's limit was not given. Ranked by
    what can be done at all; where the vessel's limit is not known, by what cannot go far above the test; then by the
    likely time on site and its high as they are told, and of those that read the same by the smaller hose. The
    samples are those of every estimate, so each choice has the figures of the case with it in its place; fills and
    pump-ups are computed apart and summed sample by sample. Of a large kit 16 lines are worked out: see
    `_most_likely`. `units` is that of the sentences; fewer `draws` do as in `ranges.with_ranges`.
    """
    if is_gas(case):
        raise ValueError("a test with gas takes no hose and pump; `fillcalc choices` compares its bottles")
    kit, lines = kit_for(kit, case.units), lines_of(kit)
    if len(lines) > MOST_LINES:
        lines = _most_likely(case, kit, lines)
    columns = assign(keys(case), draws)
    base = base_of(case, columns)
    hoses = [_hose_option(base, kit, members, columns, units) for members in lines]
    pumps = [option for index in range(len(kit.pump)) for option in _pump_options(base, kit, index, columns, units)]
    if not hoses or not pumps:
        return ()
    fills = fills_of(base, [option.drawn for option in hoses])
    ups = pump_ups_of(base, [option.drawn for option in pumps])
    hoses = [_with_doubt(_with_fill(option, fills.status[index, 0]), fills.status[index], "the fill stands still")
             for index, option in enumerate(hoses)]
    pumps = [_with_doubt(_with_pump_up(option, ups, index, units), ups.status[index], "it stalls")
             for index, option in enumerate(pumps)]
    each = zip(lines, _of_lines(base, (hoses, fills), (pumps, ups)), strict=True)
    found = [replace(one, hose_places=tuple(index + 1 for index in members)) for members, some in each for one in some]
    return ranked(found, case, kit, units)


# --- lines ------------------------------------------------------------------------------------

def _most_likely(case: Case, kit: Kit, lines: Sequence[tuple[int, ...]]) -> list[tuple[int, ...]]:
    """The lines of a large kit to work out: first those that can be taken and reach, then single hoses, then those
    that fill soonest at likely values."""
    columns = assign(keys(case), 1)
    base = base_of(case, columns)
    hoses = [_hose_option(base, kit, members, columns, case.units) for members in lines]
    times = fills_of(base, [option.drawn for option in hoses]).time[:, 0]
    order = sorted(range(len(lines)), key=lambda at: (
        bool(hoses[at].cannot), bool(hoses[at].note), len(lines[at]), _last(float(times[at]))))
    return [lines[at] for at in sorted(order[:MOST_LINES])]


def lines_of(kit: Kit) -> list[tuple[int, ...]]:
    """Places of the hoses in each line of a kit, from 0."""
    single = [(index,) for index in range(len(kit.hose))]
    if len(single) > MOST_IN_PAIRS:
        return list(single)
    pairs = (sorted(pair, key=lambda index: _end(kit.hose[index])) for pair in combinations(range(len(single)), 2))
    return [*single, *((first, last) for first, last in pairs)]


def _size(hoses: Sequence[Hose]) -> tuple[int, float, float]:
    """How much there is to carry and to empty: hoses, the widest bore, m, and the length in all, m."""
    return len(hoses), max(first(hose.bore) for hose in hoses), sum(float(hose.length) for hose in hoses)


def _end(hose: Hose) -> float:
    """The bore at the vessel end of a hose, m."""
    narrow = hose.tail_bore if hose.tail_bore is not None else hose.coupling_hole if hose.couplings else hose.bore
    return first(narrow)


def _hose_option(base: Base, kit: Kit, indices: Sequence[int], columns: Mapping[str, Array], units: str) -> _Line:
    hoses = [kit.hose[index] for index in indices]
    drawn = tuple(
        _drawn(hose, assumed_ranges(kit, f"hose.{index + 1}", hose), f"fill.hose.{order}", columns)
        for order, (index, hose) in enumerate(zip(indices, hoses, strict=True), 1))
    tap = base.job.case.tap
    shut_off = tap.points[0][0] if tap.points else tap.pressure
    assert shut_off is not None
    source = first(shut_off)
    cannot = [f"{hose.name} is built for {show(float(hose.rating), 'pressure', units)}; "
              f"the {tap.kind} gives {show(source, 'pressure', units)}"
              for hose in hoses if hose.rating is not None and float(hose.rating) < source]
    way = sum(first(hose.length) for hose in base.job.case.fill.hose)
    short = way - sum(float(hose.length) for hose in hoses)
    note = (f"{show(short, 'length', units)} {SHORTER}",) if short > REACHES * way else ()
    return _Option(" + ".join(hose.name for hose in hoses), drawn, cannot=tuple(cannot), note=note)


def _with_fill(option: _Line, status: int) -> _Line:
    why = {Status.AIR_SHUT_IN: "the fill stands still: the air cannot leave",
           Status.HEAD_TOO_HIGH: "the fill stands still: the source cannot lift the water"}.get(Status(int(status)))
    return replace(option, cannot=(*option.cannot, why)) if why else option


def _with_doubt(option: _Option[Drawn], status: Array, cause: str) -> _Option[Drawn]:
    """What keeps some of the samples from finishing, where it does not keep the case as written from it."""
    share = float(np.mean(np.isin(status[1:], STANDS)))
    reason = f"{cause} in {max(1, round(100 * share))} of 100"
    return replace(option, note=(*option.note, reason)) if share > 0.0 and not option.cannot else option


# --- pumps ------------------------------------------------------------------------------------

def _pump_options(base: Base, kit: Kit, index: int, columns: Mapping[str, Array], units: str) -> list[_Pump]:
    name, given = kit.pump[index]
    assumed = assumed_ranges(kit, f"pump.{index + 1}", given)
    drawn = _drawn(given, assumed, "pump", columns)
    case = replace(base.job.case, pump=given)
    test = first(base.job.case.test.pressure)
    part_of, limit = lowest_rating(case)
    cannot = []
    if given.rating is not None and float(given.rating) < test:
        cannot.append(f"the pump is built for {show(float(given.rating), 'pressure', units)} only")
    elif limit < test:
        cannot.append(f"{part_of} is {show(limit, 'pressure', units)}, below the test pressure")
    if isinstance(given, HandPump):
        return [_Option(name, drawn, reach=np.inf, cannot=tuple(cannot), note=(NEVER_STALLS,))]
    passes = "can reach {}, above {} of " + show(limit, "pressure", units)
    if isinstance(given, ElectricPump):
        relief = float(given.relief)
        over = (passes.format(show(relief, "pressure", units), part_of),) if relief > limit else ()
        return [_Option(name, drawn, reach=relief, cannot=(*cannot, *over), note=_unjudged(case, relief, units))]
    assert isinstance(drawn, AirDrivenPump)
    return [_regulated(base, kit, index, _Judged(case, drawn, tuple(cannot), part_of, limit), units)]


@dataclass(frozen=True)
class _Judged:
    """An air-driven pump of the kit: the case with it, its record over the rows, and what speaks against it already;
    the part with the lowest limit, and that limit, Pa gauge."""

    case: Case
    drawn: AirDrivenPump
    cannot: tuple[str, ...]
    part_of: str
    limit: float


def _regulated(base: Base, kit: Kit, index: int, judged: _Judged, units: str) -> _Pump:
    """An air-driven pump at the one setting of its regulator that is advised, or at the least that gets there."""
    name, given = kit.pump[index]
    assert isinstance(given, AirDrivenPump)
    assumed, own = assumed_ranges(kit, f"pump.{index + 1}", given), base.job.case.pump
    available = np.asarray(judged.drawn.drive_pressure)
    if isinstance(own, AirDrivenPump):
        available = np.minimum(own.drive_pressure, available)
    alone = replace(given, drive_pressure=np.asarray(first(available)), regulator_pressure=None)
    case = _with_pump(judged.case, alone, assumed)
    window = window_of(case, _relief_flow(case))
    assert window is not None
    safe = np.isfinite(window.advised)
    least = float(np.ceil(window.lowest / window.step - 1e-6) * window.step)
    setting = window.advised if safe else min(least, first(available))
    stands = replace(alone, regulator_pressure=np.asarray(setting))
    reaches = no_flow(replace(case, pump=stands))[1] * first(given.ratio)
    cannot, note = list(judged.cannot), list(_unjudged(case, reaches, units))
    if window.none_safe or (window.guarded and not safe):
        cannot.append(f"no setting is safe: {why_no_setting(window, partial(show, units=units))}")
    elif reaches > judged.limit * (1.0 + 1e-9) and not window.guarded:
        cannot.append(f"can reach {show(reaches, 'pressure', units)}, above {judged.part_of} of "
                      f"{show(judged.limit, 'pressure', units)}")
    if note and window.shifts:
        note.append("less drive does not shift it")
    if window.guarded:
        note.append("only the relief valve guards the vessel")
    elif case.relief_valve is not None and reaches > first(case.relief_valve.set) * (1.0 + 1e-9):
        note.append(f"can lift the relief valve, set at {show(first(case.relief_valve.set), 'pressure', units)}")
    if setting < window.shifting:
        note.append(f"may not shift below {show(window.shifting, 'pressure', units)}")
    regulated = replace(judged.drawn, regulator_pressure=np.minimum(setting, available))
    return _Option(name, regulated, setting, reaches, tuple(cannot), tuple(note))


def _with_pump(case: Case, pump: AirDrivenPump, assumed: Mapping[str, Range]) -> Case:
    """The case with a pump of the kit in the place of its own, and with the ranges of what nobody gave of it."""
    others = {path: asked for path, asked in case.ranges.items() if not path.startswith("pump.")}
    return replace(case, pump=pump, ranges={**others, **{f"pump.{leaf}": asked for leaf, asked in assumed.items()}})


def _relief_flow(case: Case) -> float:
    """What the pump can give at the set pressure of the relief valve, m3/s; NaN where its capacity is not known."""
    if case.relief_valve is None or case.relief_valve.capacity is None:
        return float("nan")
    job = job_of(take(case, slice(0, 1)))
    return first(flow(worst(job.case, job.driver), np.array([first(case.relief_valve.set)]))[0])


def _unjudged(case: Case, reaches: float, units: str) -> tuple[str, ...]:
    """What is said of a pump where nobody knows what the vessel stands."""
    if case.vessel.never_above is not None:
        return ()
    times = show(to_figures(reaches / first(case.test.pressure)), "ratio", units)
    return (f"the vessel's limit was not given; it can reach {show(reaches, 'pressure', units)}, {times} the test "
            "pressure",)


def _with_pump_up(option: _Pump, ups: PumpUps, index: int, units: str) -> _Pump:
    status = Status(int(ups.status[index, 0]))
    if status == Status.PUMP_STALLS:
        stall = show(float(ups.stall_gauge[index, 0]), "pressure", units)
        return replace(option, cannot=(*option.cannot, f"stalls at {stall}"))
    if status == Status.LEAK_BALANCES:
        return replace(option, cannot=(*option.cannot, "the leak takes all that it gives"))
    if isinstance(option.drawn, HandPump) and ups.time[index, 0] > LONGEST_BY_HAND:
        strokes = round(to_figures(ups.time[index, 0] * first(option.drawn.stroke_rate)))
        return replace(option, cannot=(*option.cannot, f"some {strokes} strokes by hand"))
    if LIMITS[int(ups.limited_by[index, 0])] == "air supply":
        return replace(option, note=(*option.note, "the compressor sets the pace"))
    return option


# --- drawing ----------------------------------------------------------------------------------

def assumed_ranges(kit: Kit, base: str, record: object) -> dict[str, Range]:
    """Ranges of the leaves of a record of the kit that nobody gave, and of those that are not exact though given."""
    leaves = kit.assumed.get(base, ())
    typed = {leaf: spread for leaf, spread in typed_alone(record).items() if leaf not in leaves}
    own = {leaf: kit.own_ranges[path] for leaf in leaves if (path := f"{base}.{leaf}") in kit.own_ranges}
    return typed | {leaf: spread for leaf, spread in ranges_alone(record).items() if leaf in leaves} | own


def _drawn(record: Record, ranges: Mapping[str, Range], base: str, columns: Mapping[str, Array]) -> Record:
    """The record with its ranged leaves over the rows, as written first."""
    changes = {}
    for leaf, asked in ranges.items():
        declared = inputs(type(record))[leaf]
        values = np.clip(quantile(asked, columns[key(f"{base}.{leaf}")]), declared.low, declared.high)
        changes[leaf] = np.concatenate([[float(getattr(record, leaf))], values])
    drawn: Record = put_all(record, changes)
    return drawn


# --- ranking ----------------------------------------------------------------------------------

def _of_lines(base: Base, lines: tuple[list[_Line], Fills],
              pumps: tuple[list[_Pump], PumpUps]) -> Iterator[list[Choice]]:
    """The choices with each line, the pumps in their order."""
    (hoses, fills), (drives, ups) = lines, pumps
    fill_spans, up_spans = _spans(fills.time), _spans(ups.time)
    for index, hose in enumerate(hoses):
        total, days = on_site(base, fills, index, ups)
        never = np.mean(~np.isfinite(drawn(total)), axis=-1)
        found = []
        for each, (drive, whole) in enumerate(zip(drives, _spans(total), strict=True)):
            cannot = (*hose.cannot, *drive.cannot)
            why = "; ".join(cannot or (*hose.note, *drive.note))
            found.append(Choice(
                hose.name, drive.name, drive.setting, drive.reach, not cannot, why, "; ".join(hose.cannot or hose.note),
                "; ".join(drive.cannot or drive.note), fill_spans[index], up_spans[each], whole, float(never[each]),
                rank(drawn(days[each]), 0.5), pump_place=each + 1))
        yield found


def ranked(found: Iterable[Choice], case: Case, kit: Kit, units: str) -> tuple[Choice, ...]:
    """The choices of a kit, the best first: see `choices`."""
    test = first(case.test.pressure)

    def order(one: Choice) -> tuple[object, ...]:
        visit = likely_span(one.visit_s, units)
        return (not one.can, far_above(case, one.reach_gauge_pa, test), _last(visit.likely), _last(visit.high),
                _size([kit.hose[place - 1] for place in one.hose_places]), _last(one.visit_s.likely))

    return tuple(sorted(found, key=order))


def _last(value: float) -> float:
    return value if np.isfinite(value) else float("inf")


def _spans(values: Array) -> list[Span]:
    ends = low_likely_high(values[..., 0], drawn(values))
    return [Span(*row) for row in np.stack([values[..., 0], *ends], axis=-1).tolist()]


def steps_up(found: Iterable[Choice]) -> list[tuple[Choice, float]]:
    """With the best pump: each line that can do it, the slowest first, and what it saves over the one before, in
    s of the likely time on site; the first saves nothing."""
    able = [one for one in found if one.can]
    if not able:
        return []
    best = able[0]
    ladder = sorted((one for one in reversed(able) if (one.pump, str(one.regulator_gauge_pa))
                     == (best.pump, str(best.regulator_gauge_pa))), key=lambda one: -_last(one.visit_s.likely))
    before = [ladder[0], *ladder]
    return [(one, float(last.visit_s.likely) - float(one.visit_s.likely))
            for one, last in zip(ladder, before, strict=False)]

