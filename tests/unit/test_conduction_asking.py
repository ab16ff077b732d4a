"""What may be asked of a stack, what is refused, and what is not known."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from monitor.science.conduction import Convective, Fixed, Insulated, Layer, SemiInfinite, temperatures

WALL = Layer(0.040, 63.9, 7832.0, 434.0)
CANVAS = Layer(0.5e-3, 0.08, 700.0, 1350.0)


def asked(layers: list[Layer] | None = None, **changed: Any) -> np.ndarray:
    plain: dict[str, Any] = dict(
        initial_c=20.0, top=Fixed(50.0), bottom=Insulated(), times_s=[0.0, 1.0, 2.0], depths_m=[0.0, 0.010]
    )
    return temperatures([WALL] if layers is None else layers, **(plain | changed))


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"times_s": [2.0, 1.0]}, "goes back from 2 to 1 s"),
        ({"times_s": [-1.0]}, "time is -1 s; it must be finite and at least 0 s"),
        ({"times_s": [math.nan]}, "time is nan s"),
        ({"times_s": [math.inf]}, "time is inf s"),
        ({"times_s": [[1.0, 2.0]]}, r"times_s has the shape \(1, 2\); it must be a number or a list"),
        ({"depths_m": [[0.0, 0.01]]}, r"depths_m has the shape \(1, 2\); it must be a number or a list"),
        ({"depths_m": [0.05]}, "depth is 0.05 m; it must be finite and lie from 0 to 0.04 m"),
        ({"depths_m": [-1e-3]}, "depth is -0.001 m"),
        ({"depths_m": [math.nan]}, "depth is nan m"),
        ({"depths_m": [-1e-3], "bottom": SemiInfinite(WALL)}, "lie from 0 to inf m"),
        ({"depths_m": [0.05], "top": SemiInfinite(WALL)}, "lie from -inf to 0.04 m"),
        ({"contact_w_m2k": [200.0]}, "contact_w_m2k has 1 values; expected 0"),
        ({"layers": [WALL, WALL], "contact_w_m2k": [0.0]}, "contact_w_m2k holds 0.0"),
        ({"layers": [WALL, WALL], "contact_w_m2k": [math.nan]}, "contact_w_m2k holds nan"),
        ({"layers": [WALL, WALL], "bottom": SemiInfinite(WALL), "contact_w_m2k": []}, "expected 1, .* or 2 with"),
        ({"initial_c": [1.0, 2.0]}, r"initial_c has the shape \(2,\).* each of 1 layers"),
        ({"initial_c": math.inf}, "initial_c is infinite"),
        ({"initial_c": lambda z: math.inf}, "initial_c is infinite"),
        ({"top": Fixed(lambda t: math.inf if t > 1.5 else 1.0)}, "temp_c at 1.5.* s is infinite"),
        ({"cells": [4, 4]}, "do not fit 1 bodies"),
        ({"cells": [0]}, "do not fit 1 bodies"),
        ({"steps": 0}, "steps is 0"),
        ({"layers": []}, "layers is empty"),
    ],
)
def test_what_cannot_be_answered_is_refused(changed: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        asked(**changed)


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize("place", range(4))
def test_a_property_that_is_not_above_0_is_refused(place: int, wrong: float) -> None:
    values = [0.04, 63.9, 7832.0, 434.0]
    values[place] = wrong
    names = ("thickness_m", "conductivity_w_mk", "density_kg_m3", "heat_capacity_j_kgk")
    with pytest.raises(ValueError, match=f"layer {names[place]} is {wrong}; it must be above 0"):
        Layer(*values)


@pytest.mark.parametrize("wrong", [0.0, -5.0, math.nan])
def test_a_coefficient_that_is_not_above_0_is_refused(wrong: float) -> None:
    with pytest.raises(ValueError, match=f"coefficient_w_m2k of Convective is {wrong}"):
        Convective(20.0, wrong)


@pytest.mark.parametrize("make", [Fixed, lambda temp: Convective(temp, 8.0)])
def test_an_infinite_temperature_outside_is_refused(make: Any) -> None:
    with pytest.raises(ValueError, match=r"temp_c of .* is -inf degC"):
        make(-math.inf)


def test_a_function_that_never_settles_is_refused_unless_steps_are_given() -> None:
    rng = np.random.default_rng(3)
    wild = Fixed(lambda _: float(rng.random()))
    with pytest.raises(ValueError, match=r"changes too often .* give steps"):
        asked(top=wild)
    assert np.isfinite(asked(top=wild, steps=10)).all()


def test_at_0_the_start_is_given() -> None:
    two = [WALL, CANVAS]
    assert asked(times_s=[0.0]).tolist() == [[20.0, 20.0]]
    assert asked()[0].tolist() == [20.0, 20.0]
    at = [0.0, 0.040, 0.0401]
    assert asked(two, initial_c=[10.0, 30.0], times_s=[0.0, 0.0], depths_m=at).tolist() == [[10.0, 10.0, 30.0]] * 2
    assert asked(initial_c=lambda z: 5.0 + z, times_s=[0.0], depths_m=[0.013]).tolist() == [[5.013]]


def test_half_spaces_may_start_apart_or_like_the_layer_they_continue() -> None:
    ends: dict[str, Any] = dict(top=SemiInfinite(WALL), bottom=SemiInfinite(CANVAS), times_s=[0.0])
    places = [-1.0, 0.010, 0.0402, 7.0]
    layers = [WALL, CANVAS]
    assert asked(layers, initial_c=[1, 2, 3, 4], depths_m=places, **ends).tolist() == [[1.0, 2.0, 3.0, 4.0]]
    assert asked(layers, initial_c=[2, 3], depths_m=places, **ends).tolist() == [[2.0, 2.0, 3.0, 3.0]]


def test_numbers_are_taken_for_lists_of_one() -> None:
    assert asked(times_s=1.0, depths_m=0.0).tolist() == [[50.0]]


def test_nothing_asked_is_nothing_answered() -> None:
    assert asked(times_s=[]).shape == (0, 2)
    assert asked(depths_m=[]).shape == (3, 0)


def test_a_depth_summed_in_another_order_is_still_in_the_stack() -> None:
    layers = [Layer(t, 0.1, 500.0, 1400.0) for t in (0.1, 0.2, 0.3, 0.7, 1e-5)]
    other = sum(layer.thickness_m for layer in layers[::-1])
    found = asked(layers, depths_m=[other, other * (1 + 1e-15)], bottom=Fixed(7.0), cells=[8] * 5)
    assert found[-1].tolist() == [7.0, 7.0]


def test_functions_of_time_are_asked_within_the_times_only() -> None:
    seen: list[float] = []

    def tool(time: float) -> float:
        seen.append(time)
        return 50.0 if time < 3.0 else 20.0

    asked(top=Fixed(tool), bottom=Convective(20.0, 8.0), times_s=[1.0, 7.3])
    assert min(seen) == 0.0
    assert max(seen) == 7.3
    assert len(seen) < 700, "one step is halved at one place"


def test_a_smooth_function_beside_a_constant_is_not_asked_without_end() -> None:
    seen: list[float] = []

    def tool(time: float) -> float:
        seen.append(time)
        return 50.0 + 5.0 * math.sin(time)

    asked(top=Fixed(tool), bottom=Convective(21.3, 8.0), initial_c=[17.7], times_s=[20.0])
    assert len(seen) < 700


def test_a_period_that_fits_the_pieces_is_still_seen() -> None:
    """48 pieces of 6 parts in 72 s: a wave of 0.25 s is the same at each point between them."""
    waves = asked(top=Fixed(lambda t: 20.0 + 10.0 * math.sin(2 * math.pi * t / 0.25)), times_s=[71.0 + 1 / 16, 72.0])
    assert waves[:, 0] == pytest.approx([30.0, 20.0], abs=0.01)


def test_what_is_not_known_outside_is_not_known_inside() -> None:
    assert np.isnan(asked(initial_c=math.nan)).all()
    assert np.isnan(asked(top=Fixed(math.nan))[1:]).all()
    assert asked(top=Fixed(math.nan))[0].tolist() == [20.0, 20.0]
    parts = asked([WALL, WALL], initial_c=[20.0, math.nan], depths_m=[0.010, 0.050])
    assert parts[0, 0] == 20.0
    assert np.isnan(parts[0, 1])
    assert np.isnan(parts[1:]).all()


def test_what_is_lost_on_the_way_is_not_known_from_then_on() -> None:
    lost = asked(top=Fixed(lambda t: math.nan if t > 1.3 else 50.0), times_s=[1.0, 1.29, 1.31, 2.0])
    assert np.isfinite(lost[:2]).all()
    assert np.isnan(lost[2:]).all()
    assert np.isnan(asked(top=Fixed(lambda _: math.nan))[1:]).all()
