"""Limits on what is had from several readings of one instant: whose air, which surface, how soon."""

from __future__ import annotations

from pathlib import Path

import pytest

from monitor.bench.derived import DERIVED
from monitor.bench.quantities import MEASURED, QUANTITIES
from monitor.bench.sheets import Limit, Sheet
from monitor.catalogue import load
from monitor.catalogue.limit_reading import inputs
from monitor.errors import ManyProblems

AIR = '["air_temperature", "relative_humidity"]'
SURFACE = '["surface_temperature"]'
TENT = f"room = {AIR}, reverse = {SURFACE}, tent = {AIR}"
WINDOWED = [key for key, quantity in QUANTITIES.items() if quantity.derived and key not in DERIVED]


def sheet_of(
    tmp_path: Path, roles: str, quantity: str, role: str = "", on_delay_s: float = 300, extra: str = ""
) -> Sheet:
    (tmp_path / "sheets").mkdir()
    named = f'role = "{role}"\n' if role else ""
    (tmp_path / "sheets/trial.toml").write_text(
        f'[sheet.trial]\ntitle = "Trial"\nroles = {{ {roles} }}\n{extra}'
        '[[sheet.trial.stages]]\nkey = "all"\nlimits = ["l"]\n'
        f'[sheet.trial.limits.l]\n{named}quantity = "{quantity}"\nside = "high"\n'
        f'unit = "{QUANTITIES[quantity].unit}"\n'
        f"deadband = 0.5\non_delay_s = {on_delay_s}\noff_delay_s = 300\n"
        'levels = [ { at = 70, priority = "low", source = "project", grade = "proposal" } ]\n'
        'causes = ["x"]\nconsequence = "y"\nwhat_to_do = "z"\ntime_to_respond_s = 60\n'
    )
    return load(tmp_path).sheet("trial")


def limit_of(tmp_path: Path, roles: str, quantity: str, role: str = "", on_delay_s: float = 300) -> Limit:
    return sheet_of(tmp_path, roles, quantity, role, on_delay_s).limits["l"]


def problem_of(tmp_path: Path, roles: str, quantity: str, role: str = "", on_delay_s: float = 300) -> str:
    with pytest.raises(ManyProblems) as caught:
        sheet_of(tmp_path, roles, quantity, role, on_delay_s)
    (problem,) = caught.value.problems
    return problem


@pytest.mark.parametrize("quantity", DERIVED)
def test_the_air_is_the_first_role_that_gives_it(tmp_path: Path, quantity: str) -> None:
    assert limit_of(tmp_path, TENT, quantity).role == "room"


@pytest.mark.parametrize("quantity", DERIVED)
def test_the_air_is_the_role_that_is_named(tmp_path: Path, quantity: str) -> None:
    limit = limit_of(tmp_path, TENT, quantity, "tent")
    assert (limit.role, limit.quantity) == ("tent", quantity)


def test_painting_less_air_needs_no_humidity(tmp_path: Path) -> None:
    roles = f'tent = ["relative_humidity"], room = ["air_temperature"], reverse = {SURFACE}'
    assert limit_of(tmp_path, roles, "painting_minus_air").role == "room"


def test_the_dew_point_needs_no_surface(tmp_path: Path) -> None:
    assert limit_of(tmp_path, f"tent = {AIR}", "dew_point").role == "tent"


@pytest.mark.parametrize("quantity", [key for key, needs in DERIVED.items() if needs.surface])
@pytest.mark.parametrize(
    ("roles", "said"),
    [
        (f"tent = {AIR}", "no role gives surface_temperature"),
        (f"tent = {AIR}, reverse = {SURFACE}, face = {SURFACE}", "the roles reverse, face give one each"),
    ],
)
def test_no_surface_or_several_are_refused(tmp_path: Path, quantity: str, roles: str, said: str) -> None:
    problem = problem_of(tmp_path, roles, quantity)
    assert f"sheet.trial.limits.l.quantity: {quantity!r} needs one surface, and {said}" in problem


def test_air_that_no_role_gives_is_refused(tmp_path: Path) -> None:
    roles = f'room = ["relative_humidity"], other = ["air_temperature"], reverse = {SURFACE}'
    problem = problem_of(tmp_path, roles, "dew_point_margin")
    assert (
        "quantity: no role gives air_temperature and relative_humidity, of which dew_point_margin is had" in problem
    )


def test_a_role_that_is_no_air_is_refused(tmp_path: Path) -> None:
    assert "role: 'reverse' does not give air_temp" in problem_of(tmp_path, TENT, "humidity_at_canvas", "reverse")


@pytest.mark.parametrize("quantity", WINDOWED)
def test_what_needs_a_stretch_of_time_is_refused(tmp_path: Path, quantity: str) -> None:
    problem = problem_of(tmp_path, TENT, quantity)
    assert f"is {quantity!r}, which needs a stretch of time" in problem
    assert "not in this version" in problem


def test_the_slowest_sensor_sets_the_shortest_delay(tmp_path: Path) -> None:
    slowest_s = max(load().responses[name].value or 0 for name in inputs("humidity_at_canvas"))
    assert slowest_s == load().responses["relative_humidity"].value
    (tmp_path / "right").mkdir()
    (tmp_path / "wrong").mkdir()
    assert limit_of(tmp_path / "right", TENT, "humidity_at_canvas", on_delay_s=2.3 * slowest_s).on_delay_ms == 9200
    problem = problem_of(tmp_path / "wrong", TENT, "humidity_at_canvas", on_delay_s=2.3 * slowest_s - 0.1)
    assert "on_delay_s: is 9.1 s; expected 9.2 s or more" in problem


def test_what_is_needed_is_measured() -> None:
    assert set(DERIVED) == {"humidity_at_canvas", "dew_point", "dew_point_margin", "painting_minus_air"}
    for quantity in DERIVED:
        assert set(inputs(quantity)) <= set(MEASURED)
        assert ("surface_temperature" in inputs(quantity)) == DERIVED[quantity].surface
    assert inputs("mass") == ("mass",)


def test_a_sheet_may_have_no_limits_and_roles_that_nothing_judges(tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets/trial.toml").write_text(
        f'[sheet.trial]\ntitle = "Trial"\nroles = {{ room = {AIR} }}\n[[sheet.trial.stages]]\nkey = "all"\n'
    )
    sheet = load(tmp_path).sheet("trial")
    assert (sheet.limits, sheet.stages[0].limits, sheet.has_places) == ({}, (), False)
    assert Sheet.from_json(sheet.as_json()) == sheet
