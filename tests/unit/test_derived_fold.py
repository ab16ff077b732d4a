"""Limits on what is computed: the oracle, ticks left out, states kept at any reading, and traces by hand."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.bench import engine
from monitor.bench.derived import FORMULAS
from monitor.bench.inputs import Tick
from monitor.bench.outputs import Draft, Output
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Limit
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from tests.support import tents
from tests.support.folds import limit
from tests.support.oracle import GRID_MS, ComputedTextbook, Input
from tests.support.tents import AIR_C, AIR_RH, REVERSE_C, damp, levels, read, tent

WORDS = {
    "alarm_raised": "raised", "alarm_eased": "eased", "alarm_returned": "returned",
    "alarm_suppressed": "suppressed", "alarm_released": "released", "alarm_chatters": "chatters",
}  # fmt: skip
VALUES = {
    AIR_C: (17.0, 20.0, 23.0),
    AIR_RH: (60.0, 70.0, 80.0),
    REVERSE_C: (15.0, 18.0, 19.04, 19.06, 21.0),
}
# quantity -> sets of levels, mildest first for a high limit
LEVELS: dict[str, tuple[tuple[float, ...], ...]] = {
    "humidity_at_canvas": ((78.0,), (70.0, 78.0), (75.0, 85.5, 90.0)),
    "dew_point": ((15.0,), (12.5, 15.0, 17.0)),
    "dew_point_margin": ((3.0,), (2.0, 3.0)),
    "painting_minus_air": ((-1.0,), (-2.0, -1.0)),
}
DEADBANDS = {"humidity_at_canvas": 3.0, "dew_point": 0.5, "dew_point_margin": 0.5, "painting_minus_air": 1.0}


def rounded(quantity: str, values: dict[str, float]) -> tuple[float, float]:
    given = [values[channel] for channel in tents.CHANNELS[quantity]]
    return round(FORMULAS[quantity](*given), 1), round(tents.PLAIN[quantity](*given), 1)


@pytest.mark.parametrize("quantity", LEVELS)
def test_the_oracle_s_formula_judges_the_test_s_values_alike(quantity: str) -> None:
    """The Magnus form and the program's differ by 0.03 %; none of the levels lies in between."""
    bounds = {b for at in LEVELS[quantity] for a in at for b in (a, a - DEADBANDS[quantity], a + DEADBANDS[quantity])}
    for values in product(*VALUES.values(), (100.0,)):
        for rh in (values[1], values[3]):
            ours, plain = rounded(quantity, dict(zip(VALUES, (values[0], rh, values[2]), strict=True)))
            assert [(ours > b, ours < b) for b in sorted(bounds)] == [(plain > b, plain < b) for b in sorted(bounds)]


def one_of(channel: str) -> Any:
    """Choose a good value of a channel mostly, now and then a gap, or humidity at the top of its scale."""
    good = [(v, False) for v in VALUES[channel]]
    return st.sampled_from([*good * 4, (None, False), *([(100.0, True)] if channel == AIR_RH else [])])


# The channels of a round are read at one instant, as a station does.
rounds = st.lists(
    st.tuples(
        st.sampled_from([1, 1, 2, 2, 2, 3, 7]),
        st.fixed_dictionaries({}, optional={channel: one_of(channel) for channel in VALUES}),
    ),
    max_size=30,
)
delays = st.sampled_from([0, 500, 1000, 1500, 2500])
rules = st.sampled_from([(q, at) for q, listed in LEVELS.items() for at in listed])


def timed(rounds: list[tuple[int, dict[str, tuple[float | None, bool]]]]) -> dict[str, Input]:
    now, found = 0, dict[str, Input]((channel, {}) for channel in VALUES)
    for gap, values in rounds:
        now += gap * GRID_MS
        for channel, value in values.items():
            found[channel][now] = value
    return found


def readings_of(series: dict[str, Input]) -> list[Reading]:
    made = [
        read(at, channel, value, Quality.CLIPPED if clipped else Quality.GOOD)
        for channel, found in series.items()
        for at, (value, clipped) in found.items()
    ]
    return sorted(made, key=lambda r: (r.mono_ms, r.channel))


def rule_of(rule: tuple[str, tuple[float, ...]], on_ms: int, off_ms: int, *, high: bool) -> Limit:
    quantity, at = rule
    return damp(
        quantity=quantity, side="high" if high else "low", deadband=DEADBANDS[quantity], on_delay_ms=on_ms,
        off_delay_ms=off_ms, levels=levels(*(at if high else reversed(at))),
    )  # fmt: skip


@settings(max_examples=250)
@given(rounds=rounds, rule=rules, on_ms=delays, off_ms=delays, high=st.booleans())
def test_fold_agrees_with_the_textbook(
    rounds: list[Any], rule: tuple[str, tuple[float, ...]], on_ms: int, off_ms: int, high: bool
) -> None:
    """Random series of three channels with gaps, silences and clips, many of them at one instant."""
    inputs = timed(rounds)
    made = rule_of(rule, on_ms, off_ms, high=high)
    used = tents.CHANNELS[rule[0]]
    until = max((t for found in inputs.values() for t in found), default=0) + 20_000
    book = ComputedTextbook(
        [v.at for v in made.levels], high, made.deadband, on_ms, off_ms, 1000, {},
        inputs=[inputs[c] for c in used], intervals_ms=[tents.INTERVALS_MS[c] for c in used],
        formula=tents.PLAIN[rule[0]], rises=rule[0] != "dew_point_margin",
    )  # fmt: skip
    fold = tent(made)
    out = [o for item in readings_of(inputs) for o in fold.feed(item)] + fold.pass_time(until + 1)
    told = [(o.mono_ms, WORDS[o.kind]) for o in out if isinstance(o, Draft) and o.kind in WORDS]
    assert sorted(told) == sorted(book.run(until))


@settings(max_examples=150)
@given(rounds=rounds, rule=rules, on_ms=delays, off_ms=delays, cut=st.integers(0, 90))
def test_ticks_may_be_left_out_and_a_state_kept_at_any_reading_goes_on(
    rounds: list[Any], rule: tuple[str, tuple[float, ...]], on_ms: int, off_ms: int, cut: int
) -> None:
    """Also between two readings of one instant, where the value of that instant is only half known."""
    readings = readings_of(timed(rounds))
    made = rule_of(rule, on_ms, off_ms, high=True), limit("warm", role="tent", quantity="air_temperature",
                                                          on_delay_ms=on_ms, levels=levels(19.5))  # fmt: skip
    sparing, whole, every = tent(*made), tent(*made), tent(*made)
    spare: list[Output] = []
    for index, item in enumerate(readings):
        if index == cut:
            sparing = Fold(load(dump(sparing.state)))
        spare += sparing.feed(item)
        whole.feed(item)
        assert dump(sparing.state) == dump(whole.state)
    end = (readings[-1].mono_ms if readings else 0) + 20_000
    spare += sparing.pass_time(end)
    assert spare == _with_every_tick(every, readings, end)


def _with_every_tick(fold: Fold, readings: list[Reading], end: int) -> list[Output]:
    out: list[Output] = []
    second = 0
    for item in readings:
        while second * 1000 < item.mono_ms:
            out += engine.advance(fold.state, Tick(second * 1000))[1]
            second += 1
        out += engine.advance(fold.state, item)[1]
    while second * 1000 < end:
        out += engine.advance(fold.state, Tick(second * 1000))[1]
        second += 1
    return out
