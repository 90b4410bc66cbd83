"""Units: text to SI and back, from closed tables."""

from fillcalc.units.quantity import (
    FAMILIES as FAMILIES,
)
from fillcalc.units.quantity import (
    UNITS as UNITS,
)
from fillcalc.units.quantity import (
    Axis as Axis,
)
from fillcalc.units.quantity import (
    Family as Family,
)
from fillcalc.units.quantity import (
    Unit as Unit,
)
from fillcalc.units.quantity import (
    UnitProblem as UnitProblem,
)
from fillcalc.units.quantity import (
    axis as axis,
)
from fillcalc.units.quantity import (
    read_number as read_number,
)
from fillcalc.units.quantity import (
    read_quantity as read_quantity,
)
from fillcalc.units.quantity import (
    restate as restate,
)
from fillcalc.units.quantity import (
    show as show,
)
from fillcalc.units.quantity import (
    show_short as show_short,
)
from fillcalc.units.quantity import (
    takes as takes,
)
from fillcalc.units.quantity import (
    to_figures as to_figures,
)
from fillcalc.units.quantity import (
    unit_behind as unit_behind,
)
from fillcalc.units.quantity import (
    with_us_gallons as with_us_gallons,
)
from fillcalc.units.quantity import (
    without_unit as without_unit,
)
from fillcalc.units.quantity import (
    write as write,
)
from fillcalc.units.quantity import (
    zero_needs_no_unit as zero_needs_no_unit,
)
