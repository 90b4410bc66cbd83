"""What is advised against over-pressure, said once: the regulator setting and the relief valve to fit."""

from __future__ import annotations

from math import isfinite

from fillcalc.case.records import Case
from fillcalc.cautions.rule import Say, limit, regulator_setting, setting_window
from fillcalc.estimation.answers import Estimate
from fillcalc.estimation.limits import relief_to_fit
from fillcalc.questions.setting import LOWER_RATIO


def setting_cure(case: Case, estimate: Estimate, say: Say) -> str:
    """Return the setting that cures one outside its window; where none does, what to do instead."""
    window = setting_window(case, estimate)
    if window is not None and window.guarded:
        return "No setting avoids that: test the valve first."
    if window is None or not isfinite(window.advised):
        return f"No setting is safe: {LOWER_RATIO}."
    if window.relies and not regulator_setting(case) < window.lowest:
        does = "shifts the pump" if window.shifts else "reaches test pressure"
        return f"Every setting that {does} can lift it: test the valve first, or {LOWER_RATIO}."
    return f"Set it at {say(window.advised, 'pressure')}."


def fit_relief(case: Case, estimate: Estimate, say: Say, do: str = "Fit a relief valve", otherwise: str = "") -> str:
    """Return the relief valve to fit, as a sentence: one that stays shut at test pressure and is fully open below the
    limit; `otherwise` ends it, such as ", or use a pump of lower ratio"."""
    if not _fits(case, estimate):
        return _none_fits(case, estimate, say)
    return f"{do} {relief_setting(case, estimate, say)}{otherwise}."


def set_relief(case: Case, estimate: Estimate, say: Say) -> str:
    """Return where the relief valve that there is must be set, as a sentence."""
    return fit_relief(case, estimate, say, "It must be")


def relief_setting(case: Case, estimate: Estimate, say: Say) -> str:
    """Return where a relief valve is set: "set at 30 bar or below"."""
    valve = relief_to_fit(case, limit(case, estimate))
    if valve is None or not isfinite(valve.highest):
        return "that is fully open below the limit of the weakest part"
    if valve.quick:
        return (f"set at {say(0.5 * (valve.lowest + valve.highest), 'pressure')}, above test pressure, and fully open "
                f"within {say(valve.accumulation, 'share')}")
    return f"set at {say(valve.highest, 'pressure')} or below"


def _fits(case: Case, estimate: Estimate) -> bool:
    return relief_to_fit(case, limit(case, estimate)) is not None


def _none_fits(case: Case, estimate: Estimate, say: Say) -> str:
    test, most = (say(value, "pressure") for value in (estimate.pressurise.test_gauge_pa, limit(case, estimate)))
    return f"Use a pump that cannot pass the limit: no relief valve fits between {test} and {most}."
