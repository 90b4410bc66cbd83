"""A picture of the set-up that fills and squeezes as one steps through it: plain data for any renderer."""

from __future__ import annotations

from fillcalc.present.picture.dangers import dangers
from fillcalc.present.picture.moments import frames, moments
from fillcalc.present.picture.placing import APART, Placed, along, notes_of, placed
from fillcalc.present.picture.records import (
           DANGER,
           SHORT_DANGER,
           Area,
           GasMoment,
           Label,
           Line,
           Moment,
           Moments,
           Picture,
)
from fillcalc.present.picture.set_up import WIDE, picture

__all__ = ["APART", "DANGER", "SHORT_DANGER", "WIDE", "Area", "GasMoment", "Label", "Line", "Moment", "Moments",
           "Picture", "Placed", "along", "dangers", "frames", "moments", "notes_of", "picture", "placed"]
