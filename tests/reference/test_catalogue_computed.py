"""Figures of the catalogue that are computed, computed again from what was read."""

from __future__ import annotations

import pytest

from monitor.catalogue import Catalogue, load
from monitor.figures import Grade
from monitor.science import canvas, size


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load()


def maxwell(binder_w_mk: float, filler_w_mk: float, share: float) -> float:
    """Give the conductivity of round grains of a filler in a binder, after Maxwell (1873)."""
    both, apart = filler_w_mk + 2 * binder_w_mk, share * (filler_w_mk - binder_w_mk)
    return binder_w_mk * (both + 2 * apart) / (both - apart)


def test_paint_after_maxwell(catalogue: Catalogue) -> None:
    """Filler 5 W/(m K), within the 4.5 to 5.5 read of solid calcium carbonate; the binder's 0.17 is recalled only."""
    figure = catalogue.layers["ground-and-paint"].figures["conductivity_w_mk"]
    assert "0.17 is from memory" in figure.note
    low, value, high = (maxwell(0.17, 5.0, share) for share in (0.3, 0.4, 0.5))
    assert (figure.low, figure.value, figure.high) == (round(low, 2), round(value, 2), round(high, 2))


def test_density_from_weight_and_thickness(catalogue: Catalogue) -> None:
    layer = catalogue.layers["polyester-nonwoven"]
    weight, thickness = layer.value("areal_g_m2"), layer.value("thickness_um")
    assert weight is not None
    assert thickness is not None
    assert layer.value("density_kg_m3") == round(weight / thickness * 1000)


def test_conductance_of_thin_air(catalogue: Catalogue) -> None:
    layer = catalogue.layers["air-gap"]
    air, gap, figure = (layer.figures[k] for k in ("conductivity_w_mk", "thickness_um", "conductance_w_m2k"))
    assert air.value is not None
    expected = [air.value / (um * 1e-6) for um in (gap.high, gap.value, gap.low) if um]
    assert [figure.low, figure.value, figure.high] == pytest.approx(expected)


def test_a_support_and_the_formulas_say_the_same_of_humidity(catalogue: Catalogue) -> None:
    """The two places of a figure may not part: same value, unit, source, grade and locator."""
    linen, shrinker, waxed = (
        catalogue.supports[k] for k in ("glue-sized-linen", "suspected-shrinker", "wax-resin-lined")
    )
    for ours, theirs in (
        (linen.figures["turnover_rh_pct"], canvas.TURNOVER), (linen.figures["shrinkage_rh_pct"], canvas.TENDENCY),
        (linen.figures["danger_rh_pct"], canvas.EXTREME_RH), (linen.figures["cracks_at_rh_pct"], canvas.CRACKED),
        (shrinker.figures["shrinker_rh_pct"], canvas.SHRINKER), (waxed.figures["wax_resin_rh_pct"], canvas.WAX_RESIN),
    ):  # fmt: skip
        assert (ours.value, ours.unit, ours.source) == (theirs.value, theirs.unit, theirs.source)
        assert (ours.grade, ours.locator) == (theirs.grade, theirs.locator)
    band = [linen.figures[f"size_softens_{end}_rh_pct"] for end in ("from", "to")]
    assert [figure.value for figure in band] == [size.SOFTENS_FROM_RH_PCT, size.SOFTENS_TO_RH_PCT]
    assert [figure.grade for figure in band] == [Grade.COMPUTED, Grade.COMPUTED]
