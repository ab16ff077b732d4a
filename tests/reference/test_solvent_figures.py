"""The catalogue's solvents: written by their script alone, and held against what was printed elsewhere."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path

import chemicals
import pytest
from chemicals import phase_change
from CoolProp.CoolProp import PropsSI

from monitor.catalogue.model import Solvent
from monitor.figures import Grade
from monitor.science.solvent_data import TABLE_C, VAPOUR_PRESSURE_KEYS, ZERO_C_K
from tests.support.solvents import catalogue
from tests.support.update_solvents import FILE, SOLVENTS, text

HERE = Path(__file__).parent
RULE_K = 1.75
"""Exponent with which diffusivities grow with temperature, by Fuller's equation."""

# Key of the catalogue -> name of the fluid in CoolProp 8.0.0, whose equations of state are another's work.
FLUIDS = {
    "acetone": "Acetone", "ethanol": "Ethanol", "toluene": "Toluene", "xylene": "m-Xylene", "heptane": "n-Heptane",
    "cyclohexane": "CycloHexane", "nonane": "n-Nonane", "decane": "n-Decane", "water": "Water",
}  # fmt: skip


def rows(name: str) -> list[dict[str, str]]:
    with (HERE / name).open(newline="") as file:
        return list(csv.DictReader(file))


def solvent(key: str) -> Solvent:
    return catalogue().solvents[key]


def test_the_file_is_what_its_script_writes() -> None:
    told = "write it anew with python -m tests.support.update_solvents, and read the difference"
    assert FILE.read_text(encoding="utf-8") == text(), told


def test_every_solvent_is_there_with_the_version_that_its_source_names() -> None:
    assert list(catalogue().solvents) == [named.key for named in SOLVENTS]
    assert f"chemicals {chemicals.__version__}" in catalogue().sources["chemicals-package"].title


@pytest.mark.parametrize(
    "row", rows("solvents_outside.csv"), ids=lambda r: f"{r['solvent']}-{r['figure']}-{r['value']}"
)
def test_figures_agree_with_what_was_printed_elsewhere(row: dict[str, str]) -> None:
    assert row["how_known"] == "READ", "what is only remembered checks nothing"
    ours = solvent(row["solvent"]).value(row["figure"])
    assert ours == pytest.approx(float(row["value"]), abs=float(row["within"])), row["source"]


@pytest.mark.parametrize(
    "row", rows("solvents_outside.csv"), ids=lambda r: f"{r['solvent']}-{r['figure']}-{r['value']}"
)
def test_no_hazard_is_told_smaller_than_elsewhere(row: dict[str, str]) -> None:
    """What is printed is rounded; and far below any studio's temperature two or three kelvins say nothing."""
    ours, theirs = solvent(row["solvent"]).value(row["figure"]), float(row["value"])
    if row["figure"] == "flash_point_c":
        assert ours <= theirs + (1.0 if theirs > 0 else 3.0), row["source"]
    if row["figure"] == "lower_flammable_limit_pct":
        assert ours <= theirs + 0.2, row["source"]


def test_of_two_standards_the_more_cautious_figure_is_taken() -> None:
    for entry in catalogue().solvents.values():
        for key, figure in entry.figures.items():
            if figure.low is not None:
                assert figure.value == (figure.high if key.startswith("upper") else figure.low), (entry.key, key)
    spread = {entry.key for entry in catalogue().solvents.values() if entry.figures.get("flash_point_c")
              and entry.figures["flash_point_c"].low is not None}  # fmt: skip
    assert {"ethanol", "heptane", "nonane", "diacetone-alcohol"} <= spread


def test_all_but_water_burn_and_say_at_what_temperature() -> None:
    burning = {entry.key for entry in catalogue().solvents.values() if "flash_point_c" in entry.figures}
    assert burning == {named.key for named in SOLVENTS} - {"water"}


@pytest.mark.parametrize("key", FLUIDS)
def test_vapour_pressures_agree_with_other_equations_of_state(key: str) -> None:
    lowest = PropsSI("Ttriple", FLUIDS[key])
    compared = 0
    for temp_c, name in zip(TABLE_C, VAPOUR_PRESSURE_KEYS, strict=True):
        temp_k = temp_c + ZERO_C_K
        if temp_k >= lowest:
            expected = PropsSI("P", "T", temp_k, "Q", 0, FLUIDS[key])
            within = 0.012 if temp_c >= 0 else 0.05
            assert solvent(key).value(name) == pytest.approx(expected, rel=within), (key, temp_c)
            compared += 1
    assert compared >= 4


@pytest.mark.parametrize("key", FLUIDS)
def test_enthalpies_agree_with_other_equations_of_state(key: str) -> None:
    for temp_c, name in ((-20, "vaporisation_m20c_kj_mol"), (20, "vaporisation_20c_kj_mol")):
        temp_k = temp_c + ZERO_C_K
        if temp_k >= PropsSI("Ttriple", FLUIDS[key]):
            vapour, liquid = (PropsSI("Hmolar", "T", temp_k, "Q", q, FLUIDS[key]) for q in (1, 0))
            assert solvent(key).value(name) == pytest.approx((vapour - liquid) / 1000, rel=0.04), (key, temp_c)


def test_enthalpies_agree_with_a_table_that_they_were_not_computed_from() -> None:
    """Against the CRC Handbook's heats of vaporisation at 298.15 K, a table of its own inside the package."""
    printed, compared = phase_change.Hvap_data_CRC, 0
    for named in SOLVENTS:
        if named.cas in printed.index and not math.isnan(printed.loc[named.cas].Hvap298):
            cool, warm = (solvent(named.key).value(f"vaporisation_{t}_kj_mol") for t in ("m20c", "20c"))
            at_25c = warm + (warm - cool) / 40 * 5
            assert at_25c == pytest.approx(printed.loc[named.cas].Hvap298 / 1000, rel=0.02), named.key
            compared += 1
    assert compared >= 12


def test_enthalpies_go_with_the_slope_of_the_vapour_pressure() -> None:
    """Clausius and Clapeyron: what the table's slope at 20 degC says, within what real vapours differ by."""
    for named in SOLVENTS:
        below, above = (solvent(named.key).value(f"vapour_pressure_{t}c_pa") for t in (10, 30))
        slope = 8.314462618 * math.log(above / below) / (1 / 283.15 - 1 / 303.15)
        assert solvent(named.key).value("vaporisation_20c_kj_mol") == pytest.approx(slope / 1000, rel=0.06), named.key


@pytest.mark.parametrize(
    "row", rows("solvents_diffusivity.csv"), ids=lambda r: f"{r['solvent']}-{r['gas']}-{r['temp_k']}"
)
def test_diffusivities_agree_with_measured_ones(row: dict[str, str]) -> None:
    assert row["how_known"] == "READ"
    at_25c = 100 * float(row["cm2_s"]) * (298.15 / float(row["temp_k"])) ** RULE_K
    within = 0.18 if row["solvent"] == "acetone" else 0.10
    assert solvent(row["solvent"]).value("diffusivity_25c_mm2_s") == pytest.approx(at_25c, rel=within), row["source"]


@pytest.mark.parametrize(
    ("wanted", "grade"),
    [
        (lambda key: key.startswith(("vapour", "vaporisation", "diffusivity", "molar")), Grade.COMPUTED),
        (lambda key: not key.startswith(("vapour", "vaporisation", "diffusivity", "molar")), Grade.CITED),
    ],
    ids=["computed", "looked up"],
)
def test_what_is_computed_is_not_called_cited(wanted: Callable[[str], bool], grade: Grade) -> None:
    for entry in catalogue().solvents.values():
        assert {figure.grade for key, figure in entry.figures.items() if wanted(key)} == {grade}


def test_stand_ins_say_so() -> None:
    assert {e.key for e in catalogue().solvents.values() if e.stands_for} == {
        "xylene",
        "nonane",
        "decane",
        "alpha-pinene",
    }
