"""What the places tell of: the answers of a session as charts, tables and sentences take them."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fillcalc.present.charts import Subject
    from tui.state.session import Session


def newest(session: Session, units: str) -> Subject | None:
    """The newest answers, for curves: at likely values until low, likely and high of them have come; None without."""
    from fillcalc.estimation.answers import at_likely_values
    from fillcalc.present.charts import Subject
    from fillcalc.questions.likely import likely

    answered = session.answered
    if answered is None or answered.case is None or answered.estimate is None:
        return None
    other = session.other[1] if session.other is not None and session.other[0] == answered.number else None
    return Subject(at_likely_values(answered.case), likely(answered.estimate, units),
                   None if other is None else at_likely_values(other), units)


def with_ranges(session: Session, units: str) -> Subject | None:
    """The last answers with low, likely and high, for figures; perhaps of an older text; None before the first."""
    from fillcalc.estimation.answers import at_likely_values
    from fillcalc.present.charts import Subject
    from fillcalc.questions.likely import likely

    ranged = session.ranged
    if ranged is None or ranged.case is None or ranged.estimate is None:
        return None
    return Subject(at_likely_values(ranged.case), likely(ranged.estimate, units), None, units)


def ranges_old(session: Session) -> bool:
    """Whether low, likely and high are of an older text than the answers are."""
    answered, ranged = session.answered, session.ranged
    return answered is not None and ranged is not None and ranged.number != answered.number
