"""What the places tell of: the answers of a session as charts, tables, sentences and the picture take them."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from fillcalc.estimation.answers import Estimate
    from fillcalc.present.charts import Subject
    from tui.state.session import Answered, Session


Made = TypeVar("Made")


class Telling:
    """The answers of the moment, cut and rounded for what draws them; made once for the same answers."""

    def __init__(self) -> None:
        self._made: dict[str, tuple[tuple[object, ...], Any]] = {}

    def newest(self, session: Session, units: str) -> Subject | None:
        """The newest answers, for curves: at likely values until low, likely and high have come; None without."""
        other = session.other
        return self._once("newest", (session.answered, other, units), lambda: _newest(session, units))

    def with_ranges(self, session: Session, units: str) -> Subject | None:
        """The last answers with low, likely and high, for figures; perhaps of an older text; None before the first."""
        return self._once("with ranges", (session.newest_ranged, units), lambda: _subject(session.newest_ranged, units))

    def dangers(self, session: Session, units: str) -> frozenset[str]:
        """The parts of the set-up about which the newest answers raise a DANGER."""
        return self._once("dangers", (session.answered, units), lambda: _dangers(session, self.newest(session, units)))

    def _once(self, name: str, of: tuple[object, ...], make: Callable[[], Made]) -> Made:
        before = self._made.get(name)
        if before is None or any(was is not now for was, now in zip(before[0], of, strict=True)):
            before = self._made[name] = (of, make())
        return before[1]


def _newest(session: Session, units: str) -> Subject | None:
    answered, other = session.answered, session.other
    if answered is None or other is None or other[0] != answered.number:
        return _subject(answered, units)
    from fillcalc.estimation.answers import at_likely_values

    return _subject(answered, units, at_likely_values(other[1]))


def _subject(answered: Answered | None, units: str, other: Estimate | None = None) -> Subject | None:
    if answered is None or answered.case is None or answered.estimate is None:
        return None
    from fillcalc.estimation.answers import at_likely_values
    from fillcalc.present.charts import Subject
    from fillcalc.questions.likely import likely

    return Subject(at_likely_values(answered.case), likely(answered.estimate, units), other, units)


def _dangers(session: Session, now: Subject | None) -> frozenset[str]:
    answered = session.answered
    if now is None or answered is None:
        return frozenset()
    from fillcalc.present.picture import dangers

    return dangers(now.case, now.estimate, answered.cautions)
