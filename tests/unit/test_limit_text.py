"""A limit in one line is read exactly, or refused with what was wrong in it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.limit_text import parse_limit
from monitor.bench.quantities import MEASURED
from monitor.bench.sheets import Level, Limit
from monitor.errors import BadInput


def test_the_whole_form_is_read() -> None:
    probe, limit = parse_limit("PROBE.relative_humidity high 65 deadband 1 on-delay 5 off-delay 7.5")
    assert probe == "PROBE"
    assert limit == Limit(
        key="PROBE.relative_humidity high 65", role="PROBE", quantity="relative_humidity", side="high", deadband=1.0,
        on_delay_ms=5000, off_delay_ms=7500,
        levels=(Level(65.0, "medium", "command", "proposal", note="given with the command"),),
    )  # fmt: skip


def test_what_is_left_out_is_nought_and_the_order_is_free() -> None:
    assert parse_limit("a.mass low -3")[1].levels[0].at == -3
    limit = parse_limit("  a.mass   low -3 off-delay 2  deadband .5 ")[1]
    assert (limit.deadband, limit.on_delay_ms, limit.off_delay_ms) == (0.5, 0, 2000)


def test_a_probe_may_have_blanks_points_and_odd_words_in_its_name() -> None:
    assert parse_limit("north wall.air_temperature high 3")[0] == "north wall"
    assert parse_limit("v1.2.air_temperature high 3")[0] == "v1.2"
    assert parse_limit("high low.air_temperature high 3")[0] == "high low"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "does not begin with PROBE.QUANTITY"),
        ("humidity high 65", "does not begin with PROBE.QUANTITY"),
        (".mass high 65", "the probe's name is missing"),
        ("a.mass", "the side is missing"),
        ("a.mass above 65", "the side is 'above'; expected high or low"),
        ("a.damp high 65", "the quantity 'damp' is not known; expected one of air_temperature"),
        ("a.dew_point high 65", "the quantity 'dew_point' is derived"),
        ("a.mass high", "the level is missing"),
        ("a.mass high 6,5", "the level is '6,5'; expected a decimal number with a point"),
        ("a.mass high nan", "the level is 'nan'"),
        ("a.mass high 1e999", "the level is '1e999'"),
        ("a.mass high 1_0", "the level is '1_0'"),
        ("a.mass high 65.00001", "six figures at most"),
        ("a.mass high 65%", "the level is '65%'"),
        ("a.mass high 65 delay 5", "'delay' is not known here; expected one of deadband, on-delay, off-delay"),
        ("a.mass high 65 deadband", "deadband has no number"),
        ("a.mass high 65 deadband x", "deadband is 'x'"),
        ("a.mass high 65 deadband -1", "deadband is -1; expected 0 or more"),
        ("a.mass high 65 on-delay -1", "on-delay is -1; expected 0 or more, a day at most"),
        ("a.mass high 65 off-delay 86401", "off-delay is 86401; expected 0 or more, a day at most"),
        ("a.mass high 65 on-delay 0.0005", "seconds in whole milliseconds"),
        ("a.mass high 65 on-delay 1 on-delay 2", "on-delay stands there twice"),
    ],
)
def test_each_mistake_is_told_with_the_text_and_an_example(text: str, said: str) -> None:
    with pytest.raises(BadInput) as caught:
        parse_limit(text)
    assert said in str(caught.value)
    assert str(caught.value).startswith(f"limit {text!r}: ")
    assert "room.relative_humidity high 65 deadband 2 on-delay 300 off-delay 300" in str(caught.value)


names = st.from_regex(r"[a-z0-9]([a-z0-9 -]{0,8}[a-z0-9])?", fullmatch=True).map(lambda n: " ".join(n.split()))
levels = st.integers(-99999, 99999).map(lambda n: n / 100)


@given(
    names, st.sampled_from(MEASURED), st.sampled_from(["high", "low"]), levels, st.integers(0, 999),
    st.integers(0, 86_400_000), st.integers(0, 86_400_000),
)  # fmt: skip
def test_what_is_written_is_what_is_read(
    name: str, quantity: str, side: str, at: float, deadband: int, on_ms: int, off_ms: int
) -> None:
    on_ms, off_ms = (float(f"{ms / 1000:g}") * 1000 for ms in (on_ms, off_ms))  # type: ignore[assignment]
    delays = f"on-delay {on_ms / 1000:g} deadband {deadband / 10} off-delay {off_ms / 1000:g}"
    text = f"{name}.{quantity} {side} {at} {delays}"
    probe, limit = parse_limit(text)
    assert (probe, limit.quantity, limit.side, limit.levels[0].at) == (name, quantity, side, at)
    assert (limit.deadband, limit.on_delay_ms, limit.off_delay_ms) == (deadband / 10, round(on_ms), round(off_ms))
    assert Limit.from_json(limit.as_json()) == limit


@given(st.text("ab.high low0139-_ deadbandon-delay", max_size=40))
def test_no_text_whatever_gives_another_error(text: str) -> None:
    try:
        probe, limit = parse_limit(text)
    except BadInput:
        return
    assert probe
    assert limit.quantity in MEASURED
