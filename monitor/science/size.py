"""Animal glue (size): how much water it holds, and where it softens.

The isotherms are gelatin's, in g of water per 100 g of dry protein: table 1 of "The effects of
hydration on the collagen and gelatine phases within parchment artefacts", Heritage Science 1:14,
2013, which took them from an older work. Curves fitted to them miss by up to 1.7, so straight lines
between the rows are used. Skin and bone glue are taken to be like gelatin, which is our assumption.

What a held canvas does is in `canvas.py` and can be had from here.
"""

from __future__ import annotations

import math
from enum import Enum
from typing import TYPE_CHECKING, TypeAlias, overload

from monitor.figures import Figure, Grade
from monitor.science.canvas import CanvasBehaviour, Held, canvas_behaviour
from monitor.science.elementwise import either, within
from monitor.science.tables import between

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, ArrayLike

    Value: TypeAlias = float | Array

__all__ = ["CanvasBehaviour", "Held", "SizeState", "canvas_behaviour", "moisture_content_pct", "size_state"]

RH_PCT = (5.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 95.0)
COOL_C, WARM_C = 25.0, 40.0
COOL = (5.30, 6.75, 8.71, 11.25, 13.82, 16.30, 18.48, 21.60, 26.73, 40.20, 57.60)
WARM = (3.99, 5.95, 8.40, 10.89, 13.34, 15.70, 17.64, 20.05, 25.35, 36.45, 49.05)
LOW_C = 15.0
"""Down to where the isotherm of 25 degC is used as it is; see `moisture_content_pct`."""

HYSTERESIS = Figure(
    3.0, "g/100 g", "memory", Grade.RECALLED, low=1.0, high=3.0,
    note="what a glue drying out holds more than one taking up, at the same humidity",
)  # fmt: skip
GLASS_TO_RUBBER = Figure(
    25.0, "g/100 g", "yakimets-2005", Grade.PUBLISHED, "abstract", low=22.0, high=28.0,
    note="gelatin at room temperature, brittle below; whether of dry or of wet weight the abstract does not say",
)  # fmt: skip
SOFTENS_FROM_RH_PCT, SOFTENS_TO_RH_PCT = 75.0, 85.0
SOFTENING = Figure(
    80.0, "%RH", "project", Grade.COMPUTED, low=SOFTENS_FROM_RH_PCT, high=SOFTENS_TO_RH_PCT,
    note="that water content by the isotherm of 25 degC: 71 to 81 if of dry weight, 81 to 89 if of wet",
)  # fmt: skip
GEL_MELTING = Figure(
    32.0, "degC", "memory", Grade.RECALLED, low=30.0, high=35.0,
    note="a gel of glue in water, not a dried film; a trade sheet has 30 to 34",
)  # fmt: skip

FIGURES = {
    "size.hysteresis": HYSTERESIS,
    "size.glass-to-rubber": GLASS_TO_RUBBER,
    "size.softening": SOFTENING,
    "size.gel-melting": GEL_MELTING,
    **{
        f"size.gelatin.{temp:g}.{rh:g}": Figure(water, "g/100 g", "parchment-2013", Grade.PUBLISHED, "table 1")
        for temp, isotherm in ((COOL_C, COOL), (WARM_C, WARM))
        for rh, water in zip(RH_PCT, isotherm, strict=True)
    },
}


@overload
def moisture_content_pct(temp_c: float, rh_pct: float) -> float: ...
@overload
def moisture_content_pct(temp_c: ArrayLike, rh_pct: ArrayLike) -> Array: ...
def moisture_content_pct(temp_c: ArrayLike, rh_pct: ArrayLike) -> Value:
    """Give the water that gelatin holds at rest with the air: an indication, never a measured value.

    On straight lines between the table's humidities, and between its two temperatures, 25 and
    40 degC. Below 25 degC, where a studio is, the table has nothing: down to 15 degC the isotherm of
    25 degC is used as it is. Going on along the line from 40 to 25 would add, at 15 degC, 0.2 to 1.1
    up to 80 %RH, 2.5 at 90 and 5.7 at 95; so much may be missing, and up to 80 %RH it is less than
    what hysteresis leaves open (1 to 3, `HYSTERESIS`).

    Args:
        temp_c: temperature of the glue in degC, a number or an array; 15 to 40.
        rh_pct: relative humidity of the air at the glue in %RH, a number or an array that
            broadcasts against the temperature; 5 to 95.

    Returns:
        Water in g per 100 g of dry glue, of the broadcast shape; NaN where either argument is NaN.

    Raises:
        ValueError: a temperature or a humidity lies outside its range.
    """
    maths, (temp, rh) = either(temp_c, rh_pct)
    within("temperature of the size", "degC", temp, LOW_C, WARM_C)
    within("relative humidity at the size", "%RH", rh, RH_PCT[0], RH_PCT[-1])
    share = maths.where(temp <= COOL_C, 0.0, (temp - COOL_C) / (WARM_C - COOL_C))
    cool, warm = between(maths, rh, RH_PCT, COOL), between(maths, rh, RH_PCT, WARM)
    water: Value = cool + share * (warm - cool)
    return water


class SizeState(Enum):
    """What the size is like, as its words say."""

    NOT_KNOWN = "no humidity was measured"
    STIFF = "stiff and brittle, as glass; the more so the drier"
    SOFTENING = "passing from stiff to soft; where in this band is not known"
    SOFT = "soft, as rubber"

    @property
    def words(self) -> str:
        """Give the state in words."""
        return self.value


def size_state(rh_pct: float) -> SizeState:
    """Say whether dried size is stiff, softening or soft, at rest with the air at about 25 degC.

    Source: `SOFTENING`, computed from a published water content and the published isotherm. Glue that
    is wet, or a gel, is another matter (`GEL_MELTING`).

    Args:
        rh_pct: relative humidity of the air at the size in %RH, a number; 0 to 100.

    Returns:
        The state; `NOT_KNOWN` for NaN.

    Raises:
        ValueError: the humidity lies outside 0 to 100 %RH.
    """
    within("relative humidity at the size", "%RH", float(rh_pct), 0.0, 100.0)
    if math.isnan(rh_pct):
        return SizeState.NOT_KNOWN
    if rh_pct < SOFTENS_FROM_RH_PCT:
        return SizeState.STIFF
    return SizeState.SOFTENING if rh_pct <= SOFTENS_TO_RH_PCT else SizeState.SOFT
