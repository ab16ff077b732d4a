"""The world's integrator against closed forms, printed cases, its own energy and finer meshes."""

from __future__ import annotations

import math
from dataclasses import replace
from math import inf

import numpy as np
import pytest

from monitor.probes.studio.layers import Field, Held, Mesh, Stepper
from monitor.probes.studio.places import along_sole
from monitor.probes.studio.stack import BASES, BOND_LINE, FACE, SOLE, WORK, Footprint, Layer
from monitor.probes.studio.tool import Tool, ToolFigures
from tests.unit.studio_help import depth_of, reference, run

CLOSED = replace(SOLE, spread_m=inf, free_w_m2k=0.0)


def test_half_space_with_a_held_surface_follows_the_error_function() -> None:
    layer = Layer("half-space", 0.05, 0.08, 600.0, 1400.0, 500)
    alpha = 0.08 / (600.0 * 1400.0)
    mesh, field, _ = run([layer], 200.0, 400, lambda _: 70.0, start_c=20.0)
    middles = np.cumsum(mesh.thickness) - mesh.thickness / 2
    for cell in (5, 20, 50, 100):
        depth = float(middles[cell])
        expected = 20.0 + 50.0 * math.erfc(depth / 2.0 / math.sqrt(alpha * 200.0))
        assert field[0, cell] == pytest.approx(expected, abs=0.02)


def test_steady_state_is_the_chain_of_resistances() -> None:
    layers = [*WORK, *BASES["felt"]]
    mesh, field, _ = run(layers, 2e6, 400, lambda _: 80.0, start_c=20.0, contact=300.0, below=9.0, air_c=20.0)
    parts = [1 / 300.0]
    for layer in layers:
        parts += [layer.thickness_m / layer.conductivity_w_mk, 1 / layer.below_w_m2k]
    flux = 60.0 / (sum(parts) + 1 / 9.0)
    for index in range(len(layers) - 1):
        expected = 80.0 - flux * sum(parts[: 2 * index + 2])
        assert float(mesh.lower_face(field, index)[0]) == pytest.approx(expected, abs=1e-3)


def test_plane_wall_heated_on_one_side() -> None:
    wall = Layer("wall", 0.040, 63.9, 7832.0, 434.0, 200)
    _, field, partner = run([wall], 480.0, 2000, lambda _: 60.0, start_c=-20.0, contact=500.0)
    for what, value in (
        ("outer face after 480 s", field[0, -1]),
        ("wetted face after 480 s", field[0, 0]),
        ("heat flux into the wetted face after 480 s", partner.flow_w),
    ):
        expected, tolerance = reference("4", what)
        assert value == pytest.approx(expected, abs=tolerance), what


@pytest.mark.long
def test_frost_goes_down_into_soil() -> None:
    soil = Layer("soil", 8.0, 0.52, 2050.0, 1840.0, 1600)
    mesh, field, _ = run([soil], 60 * 86_400.0, 500, lambda _: -15.0, start_c=20.0)
    expected, tolerance = reference("6", "depth of 0 degC after 60 days")
    assert depth_of(mesh, field[0], 0.0) == pytest.approx(expected, abs=tolerance)
    soil = Layer("soil", 8.0, 0.4, 0.4 / 0.15e-6, 1.0, 1600)
    mesh, field, _ = run([soil], 90 * 86_400.0, 500, lambda _: -10.0, start_c=15.0)
    expected, tolerance = reference("13", "depth of 0 degC after 90 days")
    assert depth_of(mesh, field[0], 0.0) == pytest.approx(expected, abs=tolerance)


def test_soil_cooled_by_wind() -> None:
    soil = Layer("soil", 1.0, 0.865, 0.865 / 4.65e-7, 1.0, 1000)
    mesh, field, partner = run([soil], 5 * 3600.0, 2000, lambda _: -17.8, start_c=15.6, contact=11.36)
    expected, tolerance = reference("7", "surface after 5 h")
    surface_c = -17.8 - partner.flow_w / 11.36
    assert surface_c == pytest.approx(expected, abs=tolerance)
    expected, tolerance = reference("7", "depth of 0 degC after 5 h")
    assert depth_of(mesh, field[0], 0.0) == pytest.approx(expected, abs=tolerance)


def test_two_bodies_meet_at_the_temperature_of_their_effusivities() -> None:
    # effusivity sqrt(k rho c): 1.1e3 and 24.0e3 in W s^0.5/(m2 K); the split between k and rho c is free
    skin = Layer("skin", 0.02, 1.1e3 * 6e-4, 1.1e3 / 6e-4, 1.0, 400)
    metal = Layer("aluminium", 0.2, 24e3 * 9.8e-3, 24e3 / 9.8e-3, 1.0, 400)
    start = np.repeat([35.0, 15.0], 400)[None, :]
    mesh, field, _ = run([skin, metal], 5.0, 500, lambda _: 35.0, start_c=start, contact=0.0)
    expected, tolerance = reference("11a", "touching faces of skin and aluminium")
    assert float(mesh.lower_face(field, 0)[0]) == pytest.approx(expected, abs=tolerance)


def test_slab_with_a_swinging_face() -> None:
    slab = Layer("slab", 0.1, 35.0, 7200.0, 440.5, 200)
    mesh, field, _ = run([slab], 32.0, 320, lambda t: 100.0 * math.sin(math.pi * t / 40.0), below=inf)
    expected, tolerance = reference("15", "20 mm below the hot face at 32 s")
    middles = np.cumsum(mesh.thickness) - mesh.thickness / 2
    assert float(np.interp(0.020, middles, field[0])) == pytest.approx(expected, abs=tolerance)


def test_a_wave_along_the_strip_dies_as_its_closed_form_says() -> None:
    strip = Footprint((0.001,) * 60, (), width_m=0.02, spread_m=inf, free_w_m2k=0.0)
    mesh = Mesh([Layer("strip", 1e-3, 0.08, 500.0, 1400.0, 2)])
    along = (np.arange(60) + 0.5) / 60
    field: Field = np.repeat(20.0 + 10.0 * np.cos(math.pi * along)[:, None], 2, axis=1)
    stepper = Stepper(mesh, strip, np.zeros(60), 1.0, below_w_m2k=0.0)
    for _ in range(600):
        field = stepper.step(field, 20.0, Held(20.0))
    alpha = 0.08 / 500.0 / 1400.0
    left = 10.0 * math.exp(-alpha * (math.pi / 0.060) ** 2 * 600.0)
    assert field[:, 0] == pytest.approx(20.0 + left * np.cos(math.pi * along), abs=0.01)


def test_no_heat_is_made_or_lost_between_a_hot_tool_and_the_work() -> None:
    figures = ToolFigures(body_loss_w_k=0.0, tip_loss_w_k=0.0)
    tool = Tool(80.0, figures)
    mesh = Mesh([*WORK, *BASES["board"]])
    columns = len(CLOSED.lengths_m)
    areas = np.array(CLOSED.lengths_m) * CLOSED.width_m
    contact = np.where(np.arange(columns) % 3 > 0, 300.0, 0.0)
    stepper = Stepper(mesh, CLOSED, contact, 0.1)
    field = np.full((columns, len(mesh.capacity)), 20.0)

    def heat_j() -> float:
        work = float(areas @ field @ mesh.capacity)
        return work + figures.tip_j_k * tool.tip_c + figures.body_j_k * tool.body_c

    before = heat_j()
    for _ in range(1200):
        tool.begin(0.1, 20.0)
        field = stepper.step(field, 20.0, tool)
    assert tool.tip_c < 75.0
    assert heat_j() == pytest.approx(before, rel=1e-11)


def pressed(sole: Footprint, cells: int, step_s: float, seconds: float) -> tuple[float, float]:
    """Press an 80 degC tool on the work, tilted, and give mean bond line and face under the sole, degC."""
    layers = [replace(x, cells=x.cells * cells, growth=x.growth ** (1 / cells)) for x in (*WORK, *BASES["felt"])]
    mesh = Mesh(layers)
    contact = np.zeros(len(sole.lengths_m))
    contact[sole.under] = 400.0 * (1.0 + 0.4 * along_sole(sole))
    stepper = Stepper(mesh, sole, contact, step_s)
    field = np.full((len(sole.lengths_m), len(mesh.capacity)), 20.0)
    tool = Tool(80.0, ToolFigures(heater_w=0.0))
    for _ in range(round(seconds / step_s)):
        tool.begin(step_s, 20.0)
        field = stepper.step(field, 20.0, tool)
    share = np.array(sole.covered_m) / sum(sole.covered_m)
    under = field[sole.under]
    return float(share @ mesh.lower_face(under, BOND_LINE)), float(share @ mesh.lower_face(under, FACE))


def finer(sole: Footprint, times: int) -> Footprint:
    """Cut every column along the strip into equal parts."""
    return replace(
        sole,
        covered_m=tuple(x / times for x in sole.covered_m for _ in range(times)),
        margin_m=tuple(x / times for x in sole.margin_m for _ in range(times)),
    )


@pytest.mark.parametrize("seconds", [2.0, 10.0, 40.0])
def test_halving_mesh_and_step_changes_little(seconds: float) -> None:
    usual = pressed(SOLE, 1, 0.1, seconds)
    halved = pressed(finer(SOLE, 2), 2, 0.05, seconds)
    assert usual == pytest.approx(halved, abs=0.15)
    finest = pressed(finer(SOLE, 4), 4, 0.025, seconds)
    for coarse, fine, best in zip(usual, halved, finest, strict=True):
        assert abs(fine - best) < 0.5 * abs(coarse - best)


def test_time_scheme_is_of_second_order() -> None:
    best = pressed(SOLE, 1, 0.0125, 8.0)[0]
    wrong = [abs(pressed(SOLE, 1, step_s, 8.0)[0] - best) for step_s in (0.4, 0.2, 0.1)]
    assert 3.0 < wrong[0] / wrong[1] < 5.5
    assert 3.0 < wrong[1] / wrong[2] < 5.5


def test_a_step_too_long_for_the_strip_is_refused() -> None:
    metal = Mesh([Layer("aluminium", 1e-3, 200.0, 2700.0, 900.0, 1)])
    with pytest.raises(ValueError, match="too long for columns"):
        Stepper(metal, SOLE, np.zeros(len(SOLE.lengths_m)), 1.0)


def test_a_tilted_sole_heats_one_end_more() -> None:
    mesh = Mesh([*WORK, *BASES["board"]])
    contact = np.zeros(len(SOLE.lengths_m))
    contact[SOLE.under] = 400.0 * (1.0 + 0.5 * along_sole(SOLE))
    stepper = Stepper(mesh, SOLE, contact, 0.1)
    field = np.full((len(SOLE.lengths_m), len(mesh.capacity)), 20.0)
    for _ in range(200):
        field = stepper.step(field, 20.0, Held(75.0))
    bond = mesh.lower_face(field, BOND_LINE)
    left, right = SOLE.under.start, SOLE.under.stop - 1
    assert bond[right - 1] - bond[left + 1] > 2.0
    assert bond[right] < bond[right - 1]  # the very edge loses to the bare work beside it
    assert bond[right + 3] < bond[right + 2] < bond[right + 1] < bond[right] - 4.0
