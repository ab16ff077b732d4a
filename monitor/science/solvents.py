"""How cold evaporation makes a freshly varnished surface, and whether water can settle on it.

A film of pure solvent in moving air takes heat from the air until that equals the heat its vapour
carries off. At that temperature, the solvent's own wet bulb,

    ln((p - v) / (p - s(T))) = Le^n c (Ta - T) (1 + g) / H(T),    Le = a / D,

with p the pressure, s the solvent's vapour pressure, v the part of it that is in the room's air
already, a and c the air's thermal diffusivity and molar heat capacity, D the vapour's diffusivity,
H its enthalpy of vaporisation, and g the heat that comes from elsewhere as a multiple of the air's.
The balance with the analogy of Chilton and Colburn (n = 2/3) is Thermopedia, "Wet-bulb temperature",
eq. 1, after Keey 1992 (cited); the logarithm on the left, which takes in that the vapour itself
drives air away from the film, is the film theory of textbooks (recalled).

What comes out with g = 0 is *at most this cold*. Heat from the support and by radiation, a resin
that holds the solvent back, vapour in the air, and the time the support takes to cool all make the
film warmer than that. The vapour's own heat (Ackermann's correction) is left out; it would make
acetone 0.4 K colder, every slower solvent of the catalogue less. Of 32 drops of benzene and of water
whose temperature Ranz and Marshall 1952 measured in dry air, 31 were 0.2 to 3.4 K warmer than this;
one is printed 0.7 K colder, and 1.2 K colder than another drop in air of the same temperature.
Colder than its freezing point a film is reckoned as a liquid that has not frozen yet (cyclohexane below 6.6 degC).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, overload

from monitor.science.elementwise import Maths, either, within
from monitor.science.humidity import dew_point_c
from monitor.science.solvent_data import HIGHEST_C, LOWEST_C, SolventData

if TYPE_CHECKING:
    from monitor.science.elementwise import Array, ArrayLike

__all__ = ["SolventData", "film_dew_margin_c", "film_range_c", "film_temperature_c", "vapour_pressure_pa"]

AIR_DIFFUSIVITY_MM2_S = 22.02
"""Thermal diffusivity of dry air at 25 degC and 101 325 Pa (computed with CoolProp 8.0.0). It grows with
temperature and falls with pressure very nearly as diffusivities of vapours do, so Le is taken as fixed."""
AIR_HEAT_J_MOLK = 29.15
"""Molar heat capacity of dry air at 25 degC and 101 325 Pa (computed with CoolProp 8.0.0)."""
LAMINAR = 2 / 3
"""Exponent of the Lewis number by Chilton and Colburn: air that moves along a surface."""
TURBULENT, STILL = 0.5, 1.0
"""Lowest exponent in use (turbulent air that renews the surface), and that of still air (recalled)."""
DIFFUSIVITY_SPREAD = 0.2
"""How far a diffusivity by Fuller's method may be off: what was printed as measured of the catalogue's
solvents lies 20 % above it for acetone, and within 10 % for the others (computed)."""
THIN_CANVAS_HEAT = 3.0
"""Heat from elsewhere for a thin canvas with the same air behind as before it, and radiation as strong
as convection on both sides: 1 + 2 (ours, a proposal)."""
LOWEST_PA, HIGHEST_PA = 50_000.0, 120_000.0

# A bracket of 80 K is halved to below a millionth of a millikelvin.
_HALVINGS = 40
_LEAST_AIR = 1e-12


@overload
def vapour_pressure_pa(solvent: SolventData, temp_c: float) -> float: ...
@overload
def vapour_pressure_pa(solvent: SolventData, temp_c: ArrayLike) -> Array: ...
def vapour_pressure_pa(solvent: SolventData, temp_c: ArrayLike) -> float | Array:
    """Give the vapour pressure of a solvent in Pa.

    Args:
        solvent: its data.
        temp_c: temperature of the liquid, degC; -40 to 40.

    Raises:
        ValueError: a temperature out of range.
    """
    maths, (temp,) = either(temp_c)
    within(f"temperature of {solvent.name}", "degC", temp, LOWEST_C, HIGHEST_C)
    pressure: float | Array = maths.exp(solvent.log_pa(maths, temp))
    return pressure


@overload
def film_temperature_c(
    solvent: SolventData, air_temp_c: float, *, pressure_pa: float = ..., vapour_pa: float = ...,
    other_heat: float = ..., exponent: float = ...,
) -> float: ...  # fmt: skip
@overload
def film_temperature_c(
    solvent: SolventData, air_temp_c: ArrayLike, *, pressure_pa: ArrayLike = ..., vapour_pa: ArrayLike = ...,
    other_heat: ArrayLike = ..., exponent: float = ...,
) -> Array: ...  # fmt: skip
def film_temperature_c(
    solvent: SolventData,
    air_temp_c: ArrayLike,
    *,
    pressure_pa: ArrayLike = 101325.0,
    vapour_pa: ArrayLike = 0.0,
    other_heat: ArrayLike = 0.0,
    exponent: float = LAMINAR,
) -> float | Array:
    """Give the temperature at which a film of pure solvent settles in moving air; see the module for the equation.

    Numbers give a float; anything numpy takes for an array gives an array of the broadcast shape. NaN gives NaN.

    Args:
        solvent: its data.
        air_temp_c: air temperature, degC; -40 to 40.
        pressure_pa: pressure of the air, Pa; 50 000 to 120 000.
        vapour_pa: partial pressure of the solvent's vapour in the air, Pa; 0 gives the coldest film.
        other_heat: heat from the support and by radiation, from the air's temperature, as a multiple of
            what the air in front gives; 0 (the film is at most this cold) to 100.
        exponent: exponent of the Lewis number, 0.5 to 1.

    Returns:
        Film temperature, degC; from -40 to the air's.

    Raises:
        ValueError: an argument out of range, more vapour in the air than the liquid could give off,
            or a film colder than -40 degC.
    """
    maths, (air, pressure, vapour, heat) = either(air_temp_c, pressure_pa, vapour_pa, other_heat)
    within("air temperature", "degC", air, LOWEST_C, HIGHEST_C)
    within("pressure", "Pa", pressure, LOWEST_PA, HIGHEST_PA)
    within("heat from elsewhere", "times the air's", heat, 0.0, 100.0)
    within("exponent of the Lewis number", "", float(exponent), TURBULENT, STILL)
    within("vapour of the solvent in the air", "Pa", vapour, 0.0, LOWEST_PA)
    gives = maths.exp(solvent.log_pa(maths, air))
    more = f"vapour of {solvent.name} in the air, more than the liquid gives at the air's temperature,"
    _refuse(vapour > gives, vapour, more, "Pa")
    le = AIR_DIFFUSIVITY_MM2_S / solvent.diffusivity_25c_mm2_s
    gain_j_molk = AIR_HEAT_J_MOLK * le**exponent * (1 + heat)
    film: float | Array = _settled(solvent, maths, (air, pressure, vapour), gain_j_molk)
    return film


def _settled(solvent: SolventData, maths: Maths, around: tuple[Any, Any, Any], gain_j_molk: Any) -> Any:  # noqa: ANN401
    """Halve the bracket from -40 degC to the air's temperature until it is smaller than anything that matters."""
    air, pressure, vapour = around

    def surplus(temp: Any) -> Any:  # noqa: ANN401
        """Give the left of the equation less its right; it rises with the film's temperature."""
        free = (pressure - maths.exp(solvent.log_pa(maths, temp))) / (pressure - vapour)
        lost = -maths.log(maths.where(free > _LEAST_AIR, free, _LEAST_AIR + 0 * free))
        return lost - gain_j_molk * (air - temp) / solvent.vaporisation_j_mol(temp)

    low = LOWEST_C + 0 * (air + pressure + vapour + gain_j_molk)
    high = air + 0 * low
    what = f"film of {solvent.name} would be colder than {LOWEST_C:g} degC, where its data end; the air"
    _refuse(surplus(low) > 0, air, what, "degC")
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        cools = surplus(middle) > 0
        low, high = maths.where(cools, low, middle), maths.where(cools, middle, high)
    return (low + high) / 2


def film_range_c(
    solvent: SolventData, air_temp_c: float, *, pressure_pa: float = 101325.0, vapour_pa: float = 0.0
) -> tuple[float, float]:
    """Give the coldest and the mildest temperature the film of a fresh coat may come to, degC.

    The coldest: a diffusivity higher by a fifth and no heat from elsewhere. The mildest: one lower by a
    fifth, and as much heat from elsewhere as a thin canvas passes on. At either end the exponent
    is that of turbulent or of still air, whichever lies further out. Both ends are a proposal of
    this project; a panel or a thick coat lies between them, a coat with much resin in it may lie above.

    Args, Raises: as for `film_temperature_c`.
    """

    def films(spread: float, heat: float) -> list[float]:
        like = replace(solvent, diffusivity_25c_mm2_s=solvent.diffusivity_25c_mm2_s * (1 + spread))
        around = {"pressure_pa": pressure_pa, "vapour_pa": vapour_pa, "other_heat": heat}
        return [film_temperature_c(like, air_temp_c, exponent=n, **around) for n in (TURBULENT, STILL)]

    return min(films(DIFFUSIVITY_SPREAD, 0.0)), max(films(-DIFFUSIVITY_SPREAD, THIN_CANVAS_HEAT))


@overload
def film_dew_margin_c(
    solvent: SolventData, air_temp_c: float, rh_pct: float, *, pressure_pa: float = ...
) -> float: ...
@overload
def film_dew_margin_c(
    solvent: SolventData, air_temp_c: ArrayLike, rh_pct: ArrayLike, *, pressure_pa: ArrayLike = ...
) -> Array: ...
def film_dew_margin_c(
    solvent: SolventData, air_temp_c: ArrayLike, rh_pct: ArrayLike, *, pressure_pa: ArrayLike = 101325.0
) -> float | Array:
    """Give how far a film of pure solvent stays above the dew point of the air, in K.

    Args:
        solvent: its data.
        air_temp_c: air temperature, degC; -40 to 40.
        rh_pct: relative humidity of the air, %RH; above 0 to 100.
        pressure_pa: pressure of the air, Pa.

    Returns:
        Film temperature less dew point, K. Below 0 water may settle on the coat and blanch it. The film
        is *at most* as cold as reckoned, so a margin above 0 holds, while one below 0 is a caution and
        no forecast; `film_range_c` says how wide that is. Not for water, whose own vapour is in the air:
        give that to `film_temperature_c` as vapour_pa.

    Raises:
        ValueError: as for `film_temperature_c` and `monitor.science.humidity.dew_point_c`.
    """
    film = film_temperature_c(solvent, air_temp_c, pressure_pa=pressure_pa)
    margin: float | Array = film - dew_point_c(air_temp_c, rh_pct)
    return margin


def _refuse(wrong: Any, value: Any, quantity: str, unit: str) -> None:  # noqa: ANN401
    """Raise for the first value for which `wrong` holds."""
    found = ([value] if wrong else []) if isinstance(wrong, bool) else (value + 0 * wrong)[wrong].flat
    for first in found:
        raise ValueError(f"{quantity} is {float(first):g} {unit}")
