"""Fill, vent and pump-time estimates for hydrostatic pressure tests with a portable pump.

A plain library: no printing, no terminal, no clock, no global state. What it does stands here by name and is
loaded when it is first used:

>>> import fillcalc
>>> case = fillcalc.read('''
... format = 1
... [vessel]
... shape = "standing cylinder"
... diameter = "500 mm"
... height = "1.4 m"
... wall = "6 mm"
... [tap]
... pressure = "3 bar"
... open_flow = "30 L/min"
... [[fill.hose]]
... length = "25 m"
... bore = "12.7 mm"
... [test]
... pressure = "15 bar"
... [pump]
... kind = "air-driven"
... ratio = 10
... drive_pressure = "5.5 bar"
... regulator_pressure = "1.9 bar"
... stroke = "60 mL"
... ''')
>>> answer = fillcalc.estimate(case)
>>> answer.fill.finished, answer.volume_m3.round(4), answer.fill.time_s.shape
(array([ True]), array([0.2749]), (1,))

Answers are arrays: one value here, one for each value of a sweep. A wider hose fills sooner:

>>> bores = fillcalc.sweep(case, "fill.hose.1.bore", ["1/2 in", "3/4 in", "1 in"])
>>> minutes = bores.fill.time_s / 60
>>> bool((minutes[:-1] > minutes[1:]).all())
True

How sure that is, as plain floats: nine samples in ten take less than the high.

>>> sure = fillcalc.with_ranges(case)
>>> sure.visit.low_s < sure.visit.likely_s < sure.visit.high_s
True

The same answers with their units, as pint quantities by their path:

>>> answers = fillcalc.quantities(sure)
>>> f"{answers['volume_m3'].to('litre'):.1f}, {answers['pressurise.test_gauge_pa'].to('psi'):.1f}"
'274.9 liter, 217.6 pound_force_per_square_inch'

Two cases in one visit, and what the readings of a case tell of its air:

>>> day, estimates = fillcalc.visit([case, case])
>>> day.total_s.likely < 2 * sure.visit.likely_s
True
>>> fillcalc.readings(case).why
'There are no readings yet.'

What a recorder's file tells of a hold. The sun on this vessel hides a leak, in m3/s:

>>> import cases
>>> cooler = fillcalc.read_file(f"{cases.__path__[0]}/cooler-shell.toml")
>>> log = fillcalc.read_log(f"{cases.__path__[0]}/cooler-shell-record.csv")
>>> found = fillcalc.hold(cooler, log)
>>> found.change_pa > 0.0, found.fit.shows, found.fit.leak.low_m3_s < 5e-6 / 60 < found.fit.leak.high_m3_s
(True, True, True)

Which hose and which pump of a kit to take, the best first:

>>> kit = fillcalc.read_kit('''
... [[hose]]
... name = "garden hose"
... length = "25 m"
... bore = "1/2 in"
... [[hose]]
... name = "wide hose"
... length = "25 m"
... bore = "3/4 in"
... [[pump]]
... name = "ten to one"
... kind = "air-driven"
... ratio = 10
... drive_pressure = "5.5 bar"
... stroke = "60 mL"
... ''')
>>> ranked = fillcalc.choices(case, kit)
>>> ranked[0].hose, ranked[0].pump, ranked[0].visit_s.likely < ranked[-1].visit_s.likely
('wide hose', 'ten to one', True)

The bottles and regulators of a kit for a test with gas, the best first, and why one cannot be taken:

>>> gas = fillcalc.read_file(f"{cases.__path__[0]}/gas-valve-seat.toml")
>>> ranked = fillcalc.gas_choices(gas, fillcalc.read_kit_file(f"{cases.__path__[0]}/kit.toml"))
>>> ranked[0].bottle, ranked[0].can, ranked[-1].why
('own air line', True, 'a failed regulator passes the pressure limit, and no relief valve holds it')

What finished jobs took over what was estimated, and what the next estimate starts from because of them:

>>> folder = fillcalc.read_folder(cases.__path__[0] + "/finished")
>>> record = fillcalc.track(folder.cases)
>>> record.jobs, record.whole.inside_low < 0.8 < record.whole.inside_high
(12, True)
>>> taught = fillcalc.learn(folder.cases)
>>> {entry.name: entry.why for entry in taught.own.source if entry.name}["yard tap, Ashmere"]
'5 jobs, 2026-03 to 2026-11'
>>> text = fillcalc.own_text(taught.own)
>>> next_case = fillcalc.read(open(cases.__path__[0] + "/finished/" + folder.files[0]).read(), own=taught.own)
>>> [each.path for each in next_case.assumptions if each.own][:2]
['tap.open_flow', 'pump.mid_curve']
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fillcalc.case.folder import read_folder as read_folder
    from fillcalc.case.kit import read_kit_file as read_kit_file
    from fillcalc.case.kit import read_kit_text as read_kit
    from fillcalc.case.own_file import own_text as own_text
    from fillcalc.case.own_file import read_own_file as read_own
    from fillcalc.case.problems import CaseProblems as CaseProblems
    from fillcalc.case.read import read_file as read_file
    from fillcalc.case.read import read_text as read
    from fillcalc.estimation.estimate import estimate as estimate
    from fillcalc.formats.quantities import quantities as quantities
    from fillcalc.questions.choices.gas import gas_choices as gas_choices
    from fillcalc.questions.choices.ranking import choices as choices
    from fillcalc.questions.jobs.learn import learn as learn
    from fillcalc.questions.jobs.track import track as track
    from fillcalc.questions.ranges import with_ranges as with_ranges
    from fillcalc.questions.readings.answer import readings as readings
    from fillcalc.questions.recording.hold import hold as hold
    from fillcalc.questions.sweep import sweep as sweep
    from fillcalc.questions.visit import visit as visit
    from fillcalc.recorder.read import read_log as read_log

_PLACES = {
    "CaseProblems": "fillcalc.case.problems:CaseProblems",
    "choices": "fillcalc.questions.choices.ranking:choices",
    "estimate": "fillcalc.estimation.estimate:estimate",
    "gas_choices": "fillcalc.questions.choices.gas:gas_choices",
    "hold": "fillcalc.questions.recording.hold:hold",
    "learn": "fillcalc.questions.jobs.learn:learn",
    "own_text": "fillcalc.case.own_file:own_text",
    "quantities": "fillcalc.formats.quantities:quantities",
    "read": "fillcalc.case.read:read_text",
    "read_file": "fillcalc.case.read:read_file",
    "read_folder": "fillcalc.case.folder:read_folder",
    "read_kit": "fillcalc.case.kit:read_kit_text",
    "read_kit_file": "fillcalc.case.kit:read_kit_file",
    "read_log": "fillcalc.recorder.read:read_log",
    "read_own": "fillcalc.case.own_file:read_own_file",
    "readings": "fillcalc.questions.readings.answer:readings",
    "sweep": "fillcalc.questions.sweep:sweep",
    "track": "fillcalc.questions.jobs.track:track",
    "visit": "fillcalc.questions.visit:visit",
    "with_ranges": "fillcalc.questions.ranges:with_ranges",
}
"""What the library offers, and where it stands."""

__all__ = ["CaseProblems", "choices", "estimate", "gas_choices", "hold", "learn", "own_text", "quantities", "read",
           "read_file", "read_folder", "read_kit", "read_kit_file", "read_log", "read_own", "readings", "sweep",
           "track", "visit", "with_ranges"]


def __getattr__(name: str) -> Any:
    """Load what is asked for by name, once."""
    if name not in _PLACES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    module, _, part = _PLACES[name].partition(":")
    found = getattr(import_module(module), part)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
