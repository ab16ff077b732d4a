"""Write the catalogue's solvents anew: `python -m tests.support.update_solvents`.

Every figure is looked up in or computed with `chemicals`, whose tables and correlations the locators
name; the diffusivities come from the formula of the molecule. What a table does not have is left
out. The file is never edited by hand: a test computes it again and compares.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import chemicals
from chemicals import phase_change, safety, vapor_pressure
from chemicals.dippr import EQ101, EQ106
from chemicals.elements import simple_formula_parser

from monitor.science.solvent_data import TABLE_C, VAPOUR_PRESSURE_KEYS, ZERO_C_K

FILE = Path(__file__).parents[2] / "monitor/catalogue/solvents.toml"
SOURCE, FULLER = "chemicals-package", "fuller-1966"
FREEZES_ABOVE_C = -60.0

# Fuller, Schettler and Giddings 1966, table I; and the molar mass of air they go with.
VOLUMES = {"C": 16.5, "H": 1.98, "O": 5.48}
RING_VOLUME, AIR_VOLUME, WATER_VOLUME, AIR_G_MOL = -20.2, 20.1, 12.7, 28.96

IEC, NFPA, SERAT = "IEC 60079-20-1 (2010)", "NFPA 497 (2008)", "Serat DIPPR (2017)"
HAZ_MAP = "haz-map"


@dataclass(frozen=True)
class Named:
    """A solvent of the catalogue: key, name, registry number, aromatic rings, and what it stands in for."""

    key: str
    name: str
    cas: str
    rings: int = 0
    stands_for: str = ""


SOLVENTS = (
    Named("acetone", "acetone", "67-64-1"),
    Named("ethanol", "ethanol", "64-17-5"),
    Named("isopropanol", "isopropanol", "67-63-0"),
    Named("ethyl-acetate", "ethyl acetate", "141-78-6"),
    Named("butyl-acetate", "n-butyl acetate", "123-86-4"),
    Named("toluene", "toluene", "108-88-3", 1),
    Named("xylene", "xylene", "108-38-3", 1, "technical xylene: the figures are those of m-xylene"),
    Named("heptane", "n-heptane", "142-82-5"),
    Named("isooctane", "isooctane", "540-84-1"),
    Named("cyclohexane", "cyclohexane", "110-82-7"),
    Named(
        "nonane", "n-nonane", "111-84-2", 0, "the lighter part of low-aromatic petroleum spirit, which is a mixture"
    ),
    Named(
        "decane", "n-decane", "124-18-5", 0, "the heavier part of low-aromatic petroleum spirit, which is a mixture"
    ),
    Named("methoxypropanol", "1-methoxy-2-propanol", "107-98-2"),
    Named("diacetone-alcohol", "diacetone alcohol", "123-42-2"),
    Named("alpha-pinene", "alpha-pinene", "80-56-8", 0, "oil of turpentine, of which it is the main part as a rule"),
    Named("water", "water", "7732-18-5"),
)


@dataclass(frozen=True)
class Row:
    """A figure as the file has it."""

    key: str
    value: float
    unit: str
    locator: str
    grade: str = "computed"
    source: str = SOURCE
    note: str = ""
    low: float | None = None
    high: float | None = None

    def text(self) -> str:
        """Write the figure as one line of TOML."""
        parts = [f"value = {plain(self.value)}"]
        parts += [f"{k} = {plain(v)}" for k, v in (("low", self.low), ("high", self.high)) if v is not None]
        parts += [f'unit = "{self.unit}"', f'source = "{self.source}"', f'locator = "{self.locator}"']
        parts += [f'grade = "{self.grade}"'] + ([f'note = "{self.note}"'] if self.note else [])
        return f"{self.key} = {{ {', '.join(parts)} }}"


def plain(value: float) -> str:
    """Write a number without exponent, and without a point where it is whole."""
    return f"{value:.10f}".rstrip("0").rstrip(".")


def digits(value: float, count: int) -> float:
    """Round to so many significant digits."""
    return round(value, count - 1 - math.floor(math.log10(abs(value))))


def celsius(kelvin: float) -> float:
    """Give degC, rounded to a tenth."""
    return round(kelvin - ZERO_C_K, 1)


def vapour(cas: str, temp_k: float) -> tuple[float, str, float]:
    """Give the vapour pressure in Pa, the table it rests on, and the temperature in K at which that ends below."""
    perry, landolt = vapor_pressure.Psat_data_Perrys2_8, vapor_pressure.Psat_data_Landolt_Antoine
    if cas in perry.index:
        row = perry.loc[cas]
        locator = "Psat_data_Perrys2_8 (Perry's handbook, 8th ed., table 2-8), DIPPR equation 101"
        return EQ101(temp_k, row.C1, row.C2, row.C3, row.C4, row.C5), locator, row.Tmin
    row = landolt.loc[cas]
    locator = "Psat_data_Landolt_Antoine (Dykyj, Hall: Vapor pressure and Antoine constants), Antoine equation"
    return vapor_pressure.Antoine(temp_k, row.A, row.B, row.C, base=math.e), locator, row.Tmin


def vaporisation(cas: str, temp_k: float) -> tuple[float, str]:
    """Give the enthalpy of vaporisation in J/mol and how it was had."""
    perry, at_298 = phase_change.phase_change_data_Perrys2_150, phase_change.Hvap_data_Gharagheizi
    if cas in perry.index:
        row = perry.loc[cas]
        locator = "phase_change_data_Perrys2_150 (Perry's handbook, 8th ed., table 2-150), DIPPR equation 106"
        return EQ106(temp_k, row.Tc, row.C1, row.C2, row.C3, row.C4), locator
    critical_k, standard_k = chemicals.Tc(cas), 298.15
    if cas in at_298.index:
        known, origin = at_298.loc[cas].Hvap298, "Hvap_data_Gharagheizi at 298.15 K"
    else:
        row = vapor_pressure.Psat_data_Landolt_Antoine.loc[cas]
        known = chemicals.utils.R * row.B * (standard_k / (standard_k + row.C)) ** 2
        origin = "slope of Psat_data_Landolt_Antoine at 298.15 K"
    value = phase_change.Watson(temp_k, known, standard_k, critical_k)
    return value, f"{origin}, carried over with Watson's equation, Tc {chemicals.Tc_methods(cas)[0]}"


def diffusivity(solvent: Named) -> float:
    """Give the diffusivity in air of 25 degC and 1 atm in mm2/s: Fuller and others 1966, eq. 4."""
    atoms = simple_formula_parser(chemicals.search_chemical(solvent.cas).formula)
    volume = sum(VOLUMES[atom] * count for atom, count in atoms.items()) + RING_VOLUME * solvent.rings
    volume = WATER_VOLUME if solvent.key == "water" else volume
    masses = math.sqrt(1 / chemicals.MW(solvent.cas) + 1 / AIR_G_MOL)
    return 100 * 1e-3 * 298.15**1.75 * masses / (math.cbrt(volume) + math.cbrt(AIR_VOLUME)) ** 2


def hazards(cas: str) -> Iterator[Row]:
    """Give flash point, flammable limits and ignition: of two standards' tables the more cautious figure."""
    kinds = (
        ("flash_point_c", safety.T_flash, "degC", min, celsius),
        ("lower_flammable_limit_pct", lambda c, method: safety.LFL(CASRN=c, method=method), "%", min, percent),
        ("upper_flammable_limit_pct", lambda c, method: safety.UFL(CASRN=c, method=method), "%", max, percent),
        ("autoignition_c", safety.T_autoignition, "degC", min, celsius),
    )
    names = {"flash_point_c": "T_flash", "autoignition_c": "T_autoignition"}
    names |= {"lower_flammable_limit_pct": "LFL", "upper_flammable_limit_pct": "UFL"}
    for key, ask, unit, cautious, convert in kinds:
        found = {m: convert(v) for m in (IEC, NFPA) if (v := ask(cas, method=m)) is not None}
        if not found:
            yield from (row for row in elsewhere(cas) if row.key == key)
            continue
        value = cautious(found.values())
        first = next(m for m, v in found.items() if v == value)
        spread = [min(found.values()), max(found.values())] if len(set(found.values())) > 1 else [None, None]
        note = "; ".join(f"{m}: {plain(v)}" for m, v in found.items() if v != value)
        yield Row(key, value, unit, f"{names[key]}, method {first}", "cited", SOURCE, note, *spread)


def elsewhere(cas: str) -> Iterator[Row]:
    """Give the flash point of what neither standard lists."""
    where = "explanatory notes, after the Hazardous Substances Data Bank"
    if cas == "107-98-2":
        locator = f"propylene glycol monomethyl ether, {where}"
        yield Row("flash_point_c", 32.0, "degC", locator, "cited", HAZ_MAP)
    if cas == "80-56-8":
        value = celsius(safety.T_flash(cas, method=SERAT))
        note = "Haz-Map: 33; of turpentine ICSC 1063 says explosive mixtures above 30"
        yield Row("flash_point_c", value, "degC", f"T_flash, method {SERAT}", "cited", SOURCE, note, value, 33.0)


def percent(fraction: float) -> float:
    """Give a share in %, rounded to a hundredth."""
    return round(100 * fraction, 2)


def rows(solvent: Named) -> Iterator[Row]:
    """Give the figures of a solvent in the order of the file."""
    cas = solvent.cas
    yield Row("molar_mass_g_mol", round(chemicals.MW(cas), 3), "g/mol", "MW, from the formula")
    method = "CRC_INORG" if solvent.key == "water" else "CRC_ORG"
    boils_k, freezes_k = chemicals.Tb(cas, method=method), chemicals.Tm(cas)
    yield Row("boiling_point_c", celsius(boils_k), "degC", f"Tb, method {method}", "cited")
    if celsius(freezes_k) > FREEZES_ABOVE_C:
        locator = f"Tm, method {chemicals.Tm_methods(cas)[0]}"
        yield Row("freezing_point_c", celsius(freezes_k), "degC", locator, "cited")
    rings = "; one aromatic ring" if solvent.rings else ""
    note = "in air of 101 325 Pa; printed measurements lie within 20 %, most within 10 %"
    yield Row(
        "diffusivity_25c_mm2_s", digits(diffusivity(solvent), 3), "mm2/s", f"eq. 4 and table I{rings}", "computed",
        FULLER, note,
    )  # fmt: skip
    for temp_c, name in ((-20, "m20c"), (20, "20c")):
        value, locator = vaporisation(cas, temp_c + ZERO_C_K)
        yield Row(f"vaporisation_{name}_kj_mol", digits(value / 1000, 4), "kJ/mol", locator)
    for temp_c, key in zip(TABLE_C, VAPOUR_PRESSURE_KEYS, strict=True):
        value, locator, ends_k = vapour(cas, temp_c + ZERO_C_K)
        below = ends_k - temp_c - ZERO_C_K
        note = f"extrapolated, {below:.0f} K below the range of its equation" if below > 0.5 else ""
        yield Row(key, digits(value, 4), "Pa", locator, note=note)
    yield from hazards(cas)


def text() -> str:
    """Give the whole file."""
    head = (
        f"# Solvents, out of chemicals {chemicals.__version__}.\n"
        "# Written by tests/support/update_solvents.py and never by hand.\n"
        "# Hazards: of two standards' tables the more cautious figure is taken. A figure that is not here\n"
        "# was not found; that says nothing of the solvent. Label and safety data sheet come first.\n"
    )
    blocks = []
    for solvent in SOLVENTS:
        lines = [f"[solvent.{solvent.key}]", f'name = "{solvent.name}"', f'cas = "{solvent.cas}"']
        lines += [f'stands_for = "{solvent.stands_for}"'] if solvent.stands_for else []
        blocks.append("\n".join(lines + [row.text() for row in rows(solvent)]) + "\n")
    return head + "".join("\n" + block for block in blocks)


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
    sys.stdout.write(f"{FILE.name}: {len(SOLVENTS)} solvents\n")
