"""Limits on what is had from several readings of one instant: whose air, which surface, how soon."""

from __future__ import annotations

from pathlib import Path

import pytest

from monitor.bench.derived import DERIVED, inputs_of
from monitor.bench.quantities import MEASURED, QUANTITIES
from monitor.bench.sheets import Limit, Sheet
from monitor.bench.windowed import WINDOWS, measured_for
from monitor.catalogue import load
from monitor.errors import ManyProblems

AIR = '["air_temperature", "relative_humidity"]'
SURFACE = '["surface_temperature"]'
TENT = f"room = {AIR}, reverse = {SURFACE}, tent = {AIR}"
LATER = [key for key, q in QUANTITIES.items() if q.derived and key not in DERIVED and key not in WINDOWS]
OF_AIR = [key for key, needs in DERIVED.items() if not needs.each]


def sheet_of(
    tmp_path: Path, roles: str, quantity: str, role: str = "", on_delay_s: float = 300, extra: str = "",
    more: str = "",
) -> Sheet:  # fmt: skip
    (tmp_path / "sheets").mkdir()
    named = f'role = "{role}"\n' if role else ""
    (tmp_path / "sheets/trial.toml").write_text(
        f'[sheet.trial]\ntitle = "Trial"\nroles = {{ {roles} }}\n{extra}'
        '[[sheet.trial.stages]]\nkey = "all"\nlimits = ["l"]\n'
        f'[sheet.trial.limits.l]\n{named}{more}quantity = "{quantity}"\nside = "high"\n'
        f'unit = "{QUANTITIES[quantity].unit}"\n'
        f"deadband = 0.5\non_delay_s = {on_delay_s}\noff_delay_s = 300\n"
        'levels = [ { at = 70, priority = "low", source = "project", grade = "proposal" } ]\n'
        'causes = ["x"]\nconsequence = "y"\nwhat_to_do = "z"\ntime_to_respond_s = 60\n'
    )
    return load(tmp_path).sheet("trial")


def limit_of(
    tmp_path: Path, roles: str, quantity: str, role: str = "", on_delay_s: float = 300, more: str = ""
) -> Limit:
    return sheet_of(tmp_path, roles, quantity, role, on_delay_s, more=more).limits["l"]


def problem_of(
    tmp_path: Path, roles: str, quantity: str, role: str = "", on_delay_s: float = 300, more: str = ""
) -> str:
    with pytest.raises(ManyProblems) as caught:
        sheet_of(tmp_path, roles, quantity, role, on_delay_s, more=more)
    (problem,) = caught.value.problems
    return problem


@pytest.mark.parametrize("quantity", OF_AIR)
def test_the_air_is_the_first_role_that_gives_it(tmp_path: Path, quantity: str) -> None:
    assert limit_of(tmp_path, TENT, quantity).role == "room"


@pytest.mark.parametrize("quantity", OF_AIR)
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


@pytest.mark.parametrize("quantity", LATER)
def test_what_nothing_works_out_yet_is_refused(tmp_path: Path, quantity: str) -> None:
    problem = problem_of(tmp_path, TENT, quantity)
    assert f"is {quantity!r}, which nothing works out yet" in problem
    assert "not in this version" in problem


@pytest.mark.parametrize("quantity", [key for key in WINDOWS if key != "minutes_above"])
def test_a_stretch_of_time_is_looked_back_on_at_its_role_and_no_sooner_than_once_a_minute(
    tmp_path: Path, quantity: str
) -> None:
    (tmp_path / "right").mkdir()
    (tmp_path / "wrong").mkdir()
    limit = limit_of(tmp_path / "right", TENT, quantity, "tent", on_delay_s=60)
    assert (limit.role, limit.of, limit.on_delay_ms) == ("tent", "", 60_000)
    assert measured_for(limit) == (WINDOWS[quantity].of[0],)
    problem = problem_of(tmp_path / "wrong", TENT, quantity, "tent", on_delay_s=59)
    assert f"on_delay_s: is 59 s; expected 60 s or more: {quantity} is looked at once in that time" in problem


def test_minutes_are_counted_of_what_is_named_above_what_is_named(tmp_path: Path) -> None:
    limit = limit_of(tmp_path, TENT, "minutes_above", more='of = "humidity_at_canvas"\nthreshold = 75\n')
    assert (limit.role, limit.of, limit.threshold) == ("room", "humidity_at_canvas", 75.0)
    assert limit.words == "minutes of humidity at the canvas above 75 %, at most"
    assert measured_for(limit) == ("air_temperature", "relative_humidity", "surface_temperature")
    assert Limit.from_json(limit.as_json()) == limit


@pytest.mark.parametrize(
    ("quantity", "more", "said"),
    [
        ("minutes_above", "threshold = 75\n", "of: is missing"),
        ("minutes_above", 'of = "relative_humidity"\n', "threshold: is missing"),
        ("minutes_above", 'of = "change_24h"\nthreshold = 75\n', "of: is 'change_24h'"),
        ("rate_1h", "threshold = 75\n", "threshold: stands beside rate_1h"),
        ("rate_1h", 'of = "air_temperature"\n', "of: is 'air_temperature'"),
        ("dew_point", 'of = "air_temperature"\n', "of: stands beside dew_point"),
    ],
)
def test_what_is_looked_back_on_is_named_where_it_must_and_nowhere_else(
    tmp_path: Path, quantity: str, more: str, said: str
) -> None:
    assert said in problem_of(tmp_path, TENT, quantity, "tent", more=more)


def test_a_rate_may_be_one_at_the_canvas(tmp_path: Path) -> None:
    limit = limit_of(tmp_path, TENT, "rate_1h", "tent", more='of = "humidity_at_canvas"\n')
    assert limit.words == "humidity at the canvas, change in an hour, at most"


@pytest.mark.parametrize("quantity", [key for key, needs in DERIVED.items() if needs.each])
def test_probes_are_compared_within_one_role(tmp_path: Path, quantity: str) -> None:
    (tmp_path / "right").mkdir()
    (tmp_path / "wrong").mkdir()
    assert limit_of(tmp_path / "right", f"tent = {AIR}, table = {SURFACE}", quantity).role in ("tent", "table")
    roles = f"tent = {AIR}, room = {AIR}, table = {SURFACE}, face = {SURFACE}"
    assert "role: is missing, and several roles give" in problem_of(tmp_path / "wrong", roles, quantity)


def test_the_slowest_sensor_sets_the_shortest_delay(tmp_path: Path) -> None:
    slowest_s = max(load().responses[name].value or 0 for name in inputs_of("humidity_at_canvas"))
    assert slowest_s == load().responses["relative_humidity"].value
    (tmp_path / "right").mkdir()
    (tmp_path / "wrong").mkdir()
    assert limit_of(tmp_path / "right", TENT, "humidity_at_canvas", on_delay_s=2.3 * slowest_s).on_delay_ms == 9200
    problem = problem_of(tmp_path / "wrong", TENT, "humidity_at_canvas", on_delay_s=2.3 * slowest_s - 0.1)
    assert "on_delay_s: is 9.1 s; expected 9.2 s or more" in problem


def test_what_is_needed_is_measured() -> None:
    for quantity in OF_AIR:
        assert set(inputs_of(quantity)) <= set(MEASURED)
        assert ("surface_temperature" in inputs_of(quantity)) == DERIVED[quantity].surface
    assert inputs_of("mass") == ("mass",)


def test_a_sheet_may_have_no_limits_and_roles_that_nothing_judges(tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    (tmp_path / "sheets/trial.toml").write_text(
        f'[sheet.trial]\ntitle = "Trial"\nroles = {{ room = {AIR} }}\n[[sheet.trial.stages]]\nkey = "all"\n'
    )
    sheet = load(tmp_path).sheet("trial")
    assert (sheet.limits, sheet.stages[0].limits, sheet.has_places) == ({}, (), False)
    assert Sheet.from_json(sheet.as_json()) == sheet
