"""What a limit need not say, what it may say, and what follows: defaults, margins, priorities that fit."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest

from monitor.bench.sheets import GRAVITIES, PRIORITIES, Level, Limit, Sheet
from monitor.bench.windows import Window
from monitor.catalogue import figure_rows, load
from monitor.catalogue.checking import check_config
from monitor.catalogue.defaulting import TIME_CONSTANTS_TO_90, figure_key, slowest_s
from monitor.catalogue.margins import with_margins
from monitor.catalogue.model import Catalogue
from monitor.catalogue.priorities import TABLE, fitting
from monitor.config import ProbeConfig
from monitor.errors import BadInput
from tests.support.catalogues import FOLDER, TRIAL, problems_of, write
from tests.support.folds import limit

SETTINGS = "deadband = 2\non_delay_s = 300\noff_delay_s = 300\n"
OWN = '[default.relative_humidity]\non_delay_s = { value = 120, unit = "s", grade = "own test" }\n'
STUDIO = """\
[studio]
name = "Studio on the quay"
[[benches]]
name = "north bench"
[[probes]]
name = "tent"
bench = "north bench"
part = "sht45"
bus = "i2c-1"
address = 0x44
interval_s = 1.0
"""


@pytest.fixture(scope="module")
def ours() -> Catalogue:
    return load()


def trial(tmp_path: Path, *changes: tuple[str, str], **files: str) -> Catalogue:
    """Load a folder of one's own whose one limit is changed as told."""
    text = FOLDER[TRIAL]
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return load(write(tmp_path, {**FOLDER, **files, TRIAL: text}))


# defaults


def test_what_a_sheet_leaves_out_is_as_its_quantity_s_default(tmp_path: Path) -> None:
    found = trial(tmp_path, (SETTINGS, "")).sheets["trial"].limits["too-damp"]
    assert (found.deadband, found.on_delay_ms, found.off_delay_ms) == (2.0, 300_000, 300_000)


def test_what_a_sheet_says_stands_and_0_is_said(tmp_path: Path) -> None:
    found = trial(tmp_path, ("deadband = 2", "deadband = 0"), ("on_delay_s = 300", "on_delay_s = 90")).sheets["trial"]
    one = found.limits["too-damp"]
    assert (one.deadband, one.on_delay_ms, one.off_delay_ms) == (0.0, 90_000, 300_000)


def test_the_list_of_sources_says_where_a_default_is_from(tmp_path: Path) -> None:
    rows = {row.where: row for row in figure_rows(trial(tmp_path, ("deadband = 2\n", "")))}
    taken, default = rows["sheet.trial.too-damp.deadband"], rows["default.relative_humidity.deadband_rh_pct"]
    assert (taken.value, taken.grade, taken.note) == (default.value, "proposal", default.note)
    assert rows["sheet.trial.too-damp.on_delay_s"].note == ""
    assert rows["default.surface_temperature.on_delay_s"].grade == "recalled"


def test_an_own_test_takes_the_place_of_a_default(tmp_path: Path) -> None:
    found = trial(tmp_path, (SETTINGS, ""), **{"defaults.toml": OWN})
    assert found.sheets["trial"].limits["too-damp"].on_delay_ms == 120_000
    row = next(r for r in figure_rows(found) if r.where == "default.relative_humidity.on_delay_s")
    assert row.in_place_of == "300 s, proposal, project"


def test_no_default_warns_sooner_than_its_sensors_see(ours: Catalogue) -> None:
    for quantity, entry in ours.defaults.items():
        slowest, unknown = slowest_s(quantity, ours.responses)
        assert not unknown
        assert (entry.value("on_delay_s") or 0) >= TIME_CONSTANTS_TO_90 * slowest > 0
        assert (entry.value(figure_key(quantity, "deadband")) or 0) > 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[default.mass]\non_delay_s = { value = 5, %s }\noff_delay_s = { value = 5, %s }", "deadband: is missing"),
        ("[default.warmth]\non_delay_s = { value = 5, %s }\noff_delay_s = { value = 5, %s }", "not a quantity"),
        ("[default.pressure]\ndeadband_c = { value = 1, unit = 'degC', source = 'project', grade = 'proposal' }\n"
         "on_delay_s = { value = 5, %s }\noff_delay_s = { value = 5, %s }", "is in another unit"),
        ("[response.pressure]\ntime_constant_s = { value = 1, %s }", "not a key"),
    ],
)  # fmt: skip
def test_a_default_of_ones_own_is_read_as_strictly_as_ours(tmp_path: Path, text: str, said: str) -> None:
    origin = 'unit = "s", source = "project", grade = "proposal"'
    problems = problems_of(write(tmp_path, {"defaults.toml": text.replace("%s", origin)}))
    assert any(said in problem for problem in problems), problems


# what it may say


def test_a_limit_may_warn_again_keep_a_margin_and_say_how_grave_it_is(tmp_path: Path) -> None:
    found = trial(tmp_path, ("latching = false", 're_alarm_s = 900\nmargin = "k2"\nconsequence_is = "grave"'))
    one = found.sheets["trial"].limits["too-damp"]
    assert (one.re_alarm_ms, one.margin, one.consequence_is) == (900_000, "k2", "grave")
    assert Sheet.from_json(found.sheets["trial"].as_json()).limits["too-damp"] == one


def test_a_sheet_that_says_none_of_it_has_the_form_it_always_had(ours: Catalogue) -> None:
    body = ours.sheets["room"].limits["humidity-high"].as_json()
    assert not {"re_alarm_ms", "margin", "guards", "consequence_is"} & body.keys()


@pytest.mark.parametrize(
    ("new", "said"),
    [
        ("re_alarm_s = 5", "a number of seconds from 10"),
        ('margin = "k3"', "'k3'; expected one of k2"),
        ('consequence_is = "bad"', "expected one of slight, serious, grave"),
    ],
)
def test_a_mistake_in_it_is_told(tmp_path: Path, new: str, said: str) -> None:
    text = FOLDER[TRIAL].replace("latching = false", new)
    (problem,) = problems_of(write(tmp_path, {**FOLDER, TRIAL: text}))
    assert said in problem


def test_no_margin_is_kept_for_what_is_computed(tmp_path: Path) -> None:
    text = (FOLDER[TRIAL].replace('"relative_humidity"\nside', '"dew_point"\nside').replace('"%RH"', '"degC"')
            .replace("latching = false", 'margin = "k2"'))  # fmt: skip
    (problem,) = problems_of(write(tmp_path, {**FOLDER, TRIAL: text}))
    assert "margin: stands beside dew_point, which is computed" in problem


# the margin for the probe's error


def probe(name: str, part: str, thermocouple: str = "", quantity: str = "") -> ProbeConfig:
    return ProbeConfig(name, "north bench", part, "bus", 1000, 0, thermocouple, quantity)


PROBES = (probe("air", "sht45"), probe("tip", "max31856", "K"), probe("skin", "max31856", "T", "surface_temperature"))


@pytest.mark.parametrize(
    ("role", "quantity", "half_width", "by", "judged_at"),
    [
        # a: SHT45 by its maker, cited; class 1 of IEC 60584-1, cited. U = 2 a / sqrt(3), rounded up to 0.01
        ("air", "relative_humidity", 1.0, 1.16, 63.84),
        ("air", "air_temperature", 0.1, 0.12, 64.88),
        ("tip", "tool_temperature", 1.5, 1.74, 63.26),
        ("skin", "surface_temperature", 0.5, 0.58, 64.42),
    ],
)
def test_the_margin_is_twice_the_standard_uncertainty_of_the_probe(
    ours: Catalogue, role: str, quantity: str, half_width: float, by: float, judged_at: float
) -> None:
    assert by - 0.01 < 2 * half_width / math.sqrt(3) <= by
    guarded = with_margins(ours, PROBES, of_one(role, quantity), [{"role": role, "probe": role}])
    (guard,) = guarded.limits["hot"].guards
    assert (guard.channel, guard.by, guard.grade) == (f"{role}.{quantity}", by, "cited")
    assert guarded.limits["hot"].judged_at(guarded.limits["hot"].levels[0], guard.channel) == judged_at


def of_one(role: str, quantity: str, **changes: Any) -> Sheet:
    one = limit(role=role, quantity=quantity, margin="k2", **changes)
    return Sheet("t", "T", {role: (quantity,)}, (), {one.key: one})


def test_a_wire_far_above_its_fixed_tolerance_has_the_wider_margin(ours: Catalogue) -> None:
    sheet = of_one("tip", "tool_temperature", levels=(Level(500, "high", "project", "proposal"),))
    (guard,) = with_margins(ours, PROBES, sheet, [{"role": "tip", "probe": "tip"}]).limits["hot"].guards
    assert guard.by == 2.31  # 0.4 % of 500 degC is 2.0 K; 2 * 2.0 / sqrt(3) = 2.3094


def test_an_own_test_of_the_probe_s_error_takes_the_place_of_the_maker_s(tmp_path: Path) -> None:
    own = load(write(tmp_path, {"sensors.toml": "[part.sht45]\nrelative_humidity_rh_pct = "
                                '{ value = 0.6, unit = "%RH", grade = "own test" }\n'}))  # fmt: skip
    sheet = of_one("air", "relative_humidity")
    (guard,) = with_margins(own, PROBES, sheet, [{"role": "air", "probe": "air"}]).limits["hot"].guards
    assert (guard.by, guard.source, guard.grade) == (0.7, "own-test", "own test")


def test_a_margin_for_a_probe_of_unknown_error_is_refused_before_the_step(ours: Catalogue) -> None:
    bare = probe("bare", "max31856")
    with pytest.raises(BadInput, match=r"nothing is known of the error of probe bare.*tool_temperature_c"):
        with_margins(ours, (bare,), of_one("tip", "tool_temperature"), [{"role": "tip", "probe": "bare"}])


def test_a_sheet_without_a_margin_is_left_as_it_is(ours: Catalogue) -> None:
    sheet = ours.sheets["room"]
    assert with_margins(ours, PROBES, sheet, [{"role": "room", "probe": "air"}]) is sheet


def test_a_moved_window_leaves_where_it_is_moved_to() -> None:
    one = of_one("tip", "tool_temperature").limits["hot"]
    window = Window(one.judged_at(one.levels[0], "other.tool_temperature"), True, one.deadband, 0, 0)
    assert (window.at, window.back) == (65, 64), "a channel without a guard is judged as set"


# priorities


def test_of_every_consequence_less_time_is_never_less_urgent() -> None:
    for row in TABLE.values():
        assert sorted(row, key=PRIORITIES.index, reverse=True) == list(row)
    columns = [tuple(TABLE[gravity][n] for gravity in GRAVITIES) for n in range(3)]
    for column in columns:
        assert sorted(column, key=PRIORITIES.index) == list(column)


@pytest.mark.parametrize(
    ("gravity", "seconds", "fit"),
    [
        ("", 60, ("medium", "high")), ("", 300, ("low", "medium", "high")), ("", 3600, ("low", "medium")),
        ("grave", 3600, ("medium",)), ("serious", 1800, ("medium",)), ("slight", 10, ("medium",)),
    ],
)  # fmt: skip
def test_which_priorities_fit(gravity: str, seconds: int, fit: tuple[str, ...]) -> None:
    assert fitting(gravity, seconds) == fit


def test_a_priority_that_does_not_fit_is_a_warning_and_ours_all_fit(tmp_path: Path) -> None:
    studio = tmp_path / "studio.toml"
    studio.write_text(STUDIO)
    own = write(tmp_path / "own", {**FOLDER, TRIAL: FOLDER[TRIAL].replace("respond_s = 300", "respond_s = 3600")})
    said = [warning for warning in check_config(studio, own) if "does not fit" in warning]
    assert said == ["limit trial.too-damp: priority high does not fit 3600 s to respond; low or medium does."]
    assert not [warning for warning in check_config(studio) if "does not fit" in warning]


@pytest.mark.parametrize("kept", ["consequence", "causes", "what_to_do", "time_to_respond_s", "priority", "source"])
def test_a_limit_without_one_of_these_is_refused(tmp_path: Path, kept: str) -> None:
    lines = {"causes": 'causes = ["x"]\n', "consequence": 'consequence = "y"\n', "what_to_do": 'what_to_do = "z"\n',
             "time_to_respond_s": "time_to_respond_s = 300\n", "priority": 'priority = "low", ',
             "source": 'source = "project", '}  # fmt: skip
    problems = problems_of(write(tmp_path, {**FOLDER, TRIAL: FOLDER[TRIAL].replace(lines[kept], "", 1)}))
    assert any(kept in problem and "is missing" in problem for problem in problems)


def test_every_limit_that_ships_says_all_of_it(ours: Catalogue) -> None:
    every: list[Limit] = [one for sheet in ours.sheets.values() for one in sheet.limits.values()]
    assert every
    for one in every:
        assert all((one.causes, one.consequence, one.what_to_do, one.time_to_respond_s, one.levels)), one.key
