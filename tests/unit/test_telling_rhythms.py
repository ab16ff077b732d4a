"""Lamp and sounder on simulated time: what is on when, and that rhythm alone tells one from another."""

from __future__ import annotations

import asyncio
import sys
import types
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.clock import SimulatedClock
from monitor.station.telling import line as gpio
from monitor.station.telling.health import FAILS, WORKS
from monitor.station.telling.message import DUE, OVER, TEST, NotTold
from monitor.station.telling.on_line import Lamp, Sounder
from monitor.station.telling.rhythm import BLINKING, DOUBLE, INSISTENT, STEADY, Rhythm
from monitor.station.telling.way import Standing
from monitor.ways import LineConfig
from tests.support.telling import FakeLine, FakeTimer, Noted, health_of, message, stands

CONFIG = {
    "lamp": LineConfig("lamp", "lamp at the door", line=17),
    "sounder": LineConfig("sounder", "sounder", line=27),
}
HOT = "s1/hot/spatula.tool_temperature"


class Rig:
    """A lamp or a sounder on a line that stands in for the real one."""

    def __init__(self, way: str, **more: Any) -> None:
        self.timer = FakeTimer()
        self.line = FakeLine(self.timer)
        self.noted = Noted()
        config = LineConfig(**{**CONFIG[way].__dict__, **more})
        health = health_of(config, self.noted, SimulatedClock())
        self.way = (Lamp if way == "lamp" else Sounder)(config, health, self.line.opening, self.timer)
        self.way.open()

    def share_on(self, ms: int) -> float:
        """Let time pass; give the share of it the line was on."""
        on = 0
        for _ in range(ms):
            on += self.line.on
            self.timer.pass_ms(1)
        return on / ms


def test_a_rhythm_is_followed_to_the_millisecond() -> None:
    assert [INSISTENT.at(ms) for ms in (0, 219, 220, 349, 350, 919, 920, 1819, 1820)] == [
        (True, 220), (True, 1), (False, 130), (False, 1), (True, 220), (True, 1), (False, 900), (False, 1),
        (True, 220),
    ]  # fmt: skip
    assert [DOUBLE.at(ms) for ms in (0, 70, 240, 310, 99_999)] == [
        (True, 70), (False, 170), (True, 70), (False, None), (False, None),
    ]  # fmt: skip
    assert STEADY.at(12345) == (True, None)


@given(
    beats=st.lists(st.integers(1, 400), min_size=1, max_size=7).filter(lambda b: len(b) % 2 == 1),
    rest_ms=st.none() | st.integers(1, 900),
    ms=st.integers(0, 5000),
)
def test_what_is_said_to_last_lasts(beats: list[int], rest_ms: int | None, ms: int) -> None:
    rhythm = Rhythm(tuple(beats), rest_ms)
    on, wait_ms = rhythm.at(ms)
    if wait_ms is None:
        assert not on
        assert ms >= rhythm.length_ms
    else:
        assert wait_ms > 0
        assert rhythm.at(ms + wait_ms - 1)[0] is on
        assert rhythm.at(ms + wait_ms)[0] is not on


def test_due_and_passed_are_told_apart_without_pitch() -> None:
    assert DOUBLE.rest_ms is None
    assert DOUBLE.length_ms < 400
    assert INSISTENT.rest_ms is not None
    assert min(INSISTENT.beats[::2]) >= 3 * max(DOUBLE.beats[::2])
    assert len(INSISTENT.beats) != len(DOUBLE.beats)


def test_a_lamp_blinks_until_seen_and_is_steady_while_a_warning_stands() -> None:
    rig = Rig("lamp")
    assert rig.share_on(2000) == 0
    rig.way.tell(message())
    assert rig.line.on, "it acts at once"
    rig.way.stands(stands())
    assert rig.line.lengths(0) == []
    rig.timer.pass_ms(3000)
    assert set(rig.line.lengths(1000)) == {500}
    rig.way.stands(stands(unseen=False, sounds=False))
    assert rig.share_on(3000) == 1
    rig.way.stands(stands(unseen=True, sounds=False))  # over, not yet seen
    assert 0.4 < rig.share_on(3000) < 0.6
    rig.way.stands(Standing())
    assert rig.share_on(3000) == 0
    assert rig.timer.waiting == 0


def test_standing_as_before_does_not_shake_the_rhythm() -> None:
    rig = Rig("lamp")
    rig.way.stands(stands())
    for _ in range(50):
        rig.timer.pass_ms(101)
        rig.way.stands(stands())
    assert set(rig.line.lengths(0)) == {500}


def test_a_sounder_is_insistent_until_seen() -> None:
    rig = Rig("sounder")
    rig.way.stands(Standing())
    rig.way.tell(message())
    rig.way.stands(stands(warning=HOT))
    rig.timer.pass_ms(3 * 1820)
    assert rig.line.lengths(0)[:6] == [220, 130, 220, 130, 220, 900]
    rig.way.stands(stands(unseen=False, sounds=False, warning=HOT))
    assert rig.share_on(5000) == 0
    assert rig.timer.waiting == 0


def test_a_sounder_falls_silent_when_the_condition_ends_unseen() -> None:
    rig = Rig("sounder")
    rig.way.stands(Standing())
    rig.way.tell(message())
    rig.way.stands(stands(unseen=True, sounds=False, warning=HOT))
    assert rig.share_on(3000) == 0


def test_a_sounder_sounds_for_what_it_was_told_of_and_not_for_what_the_fold_kept_quiet() -> None:
    rig = Rig("sounder")
    rig.way.stands(Standing())
    rig.way.stands(stands(warning="s2/hot/x"))  # stands unseen, but no signal came of it
    assert rig.share_on(3000) == 0
    rig.way.tell(message())
    rig.way.stands(Standing((*stands(warning=HOT).warnings, *stands(warning="s2/hot/x").warnings)))
    assert rig.share_on(3000) > 0
    rig.way.stands(stands(warning="s2/hot/x"))
    assert rig.share_on(3000) == 0


def test_a_sounder_that_comes_into_use_sounds_for_what_is_unseen() -> None:
    rig = Rig("sounder")
    rig.way.stands(stands())  # the first it hears, after a start
    assert rig.share_on(3000) > 0
    rig.way.stands(None)
    assert rig.share_on(3000) == 0
    rig.way.stands(stands())
    assert rig.share_on(3000) > 0


@pytest.mark.parametrize("way", ["lamp", "sounder"])
def test_what_is_milder_than_configured_moves_nothing(way: str) -> None:
    rig = Rig(way, least="high")
    rig.way.stands(stands(priority="medium"))
    assert rig.share_on(3000) == 0


@pytest.mark.parametrize("way", ["lamp", "sounder"])
def test_something_due_is_a_double_over_whatever_lasts(way: str) -> None:
    rig = Rig(way)
    rig.way.tell(message(DUE, "low", ""))
    rig.timer.pass_ms(2000)
    assert rig.line.lengths(0) == [70, 170, 70]
    rig.way.stands(stands())
    rig.timer.pass_ms(100)
    assert rig.line.on
    rig.way.tell(message(DUE, "low", ""))
    at = rig.timer.now_ms()
    rig.timer.pass_ms(3000)
    assert rig.line.lengths(at)[:6] == [350, 70, 170, 70, 350, 500 if way == "lamp" else 220], "set apart"


def test_over_and_trial_leave_nothing_that_lasts() -> None:
    for way in ("lamp", "sounder"):
        rig = Rig(way)
        rig.way.stands(Standing())
        rig.way.tell(message(TEST, "low", ""))
        assert rig.line.on
        rig.way.tell(message(OVER))
        rig.timer.pass_ms(3000)
        assert not rig.line.on
        assert rig.timer.waiting == 0


def test_the_trials_of_lamp_and_sounder() -> None:
    lamp, sounder = Rig("lamp"), Rig("sounder")
    for rig, quiet, lengths in (
        (lamp, True, [1000]), (sounder, True, [30]),
        (sounder, False, [70, 170, 70, 700, 220, 130, 220, 130, 220]),
    ):  # fmt: skip
        at = rig.timer.now_ms()
        assert asyncio.run(rig.way.attempt(message(TEST), quiet=quiet))
        rig.timer.pass_ms(3000)
        assert rig.line.lengths(at) == lengths


def test_a_trial_leaves_a_warning_that_stands() -> None:
    rig = Rig("sounder")
    rig.way.tell(message())
    asyncio.run(rig.way.attempt(message(TEST), quiet=True))
    rig.timer.pass_ms(100)
    assert rig.share_on(3000) > 0.2


def test_a_line_that_breaks_is_told_once_and_taken_again_with_the_next_message() -> None:
    rig = Rig("lamp")
    rig.line.broken = True
    rig.way.tell(message())
    assert rig.way.health.state == FAILS
    assert rig.noted.rows == [
        ("telling_failed", {"way": "lamp", "name": "lamp at the door",
                            "reason": "/dev/gpiochip0 line 17 cannot be switched: input/output error"}),
    ]  # fmt: skip
    rig.way.tell(message())
    assert len(rig.noted.rows) == 1
    assert rig.timer.waiting == 0
    rig.line.broken = False
    rig.way.tell(message())
    assert (rig.way.health.state, rig.line.on) == (WORKS, True)
    assert rig.noted.kinds() == ["telling_failed", "telling_restored"]


def test_closing_switches_off_and_lets_go() -> None:
    rig = Rig("lamp")
    rig.way.stands(stands(unseen=False))
    assert rig.line.on
    rig.way.close()
    rig.way.close()
    assert (rig.line.on, rig.line.released, rig.timer.waiting) == (False, 1, 0)


def test_blinking_is_on_half_the_time() -> None:
    assert BLINKING.length_ms == BLINKING.rest_ms


class FakeGpiod:
    """The calls of gpiod 2 that are used, with its names."""

    def __init__(self, refuses: Exception | None = None) -> None:
        self.calls: list[Any] = []
        self.refuses = refuses
        direction = types.SimpleNamespace(OUTPUT="output")
        value = types.SimpleNamespace(ACTIVE="active", INACTIVE="inactive")
        self.module: Any = types.ModuleType("gpiod")
        self.module.LineSettings = lambda **keys: keys
        self.module.request_lines = self.request_lines
        self.line: Any = types.ModuleType("gpiod.line")
        self.line.Direction, self.line.Value = direction, value

    def request_lines(self, path: str, *, consumer: str, config: dict[int, Any]) -> FakeGpiod:
        if self.refuses is not None:
            raise self.refuses
        self.calls.append((path, consumer, config))
        return self

    def set_value(self, line: int, value: str) -> None:
        self.calls.append((line, value))

    def release(self) -> None:
        self.calls.append("released")


def install(monkeypatch: pytest.MonkeyPatch, fake: FakeGpiod) -> None:
    monkeypatch.setitem(sys.modules, "gpiod", fake.module)
    monkeypatch.setitem(sys.modules, "gpiod.line", fake.line)


def test_a_line_is_requested_as_an_output_that_is_off(monkeypatch: pytest.MonkeyPatch) -> None:
    fake = FakeGpiod()
    install(monkeypatch, fake)
    opened = gpio.open_line(LineConfig("lamp", "a", chip="gpiochip4", line=17, active_low=True))
    opened.set(True)
    opened.set(False)
    opened.release()
    settings = {"direction": "output", "active_low": True, "output_value": "inactive"}
    assert fake.calls == [
        ("/dev/gpiochip4", "benchblotter", {17: settings}), (17, "active"), (17, "inactive"), "released"
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("refuses", "said"),
    [
        (FileNotFoundError(2, "No such file or directory"), "/dev/gpiochip0 line 17: no such file or directory"),
        (OSError(16, "Device or resource busy"), "/dev/gpiochip0 line 17: device or resource busy"),
        (ValueError("unknown line"), "/dev/gpiochip0 line 17: unknown line"),
    ],
)
def test_a_line_that_cannot_be_had_says_why(monkeypatch: pytest.MonkeyPatch, refuses: Exception, said: str) -> None:
    install(monkeypatch, FakeGpiod(refuses))
    with pytest.raises(NotTold) as caught:
        gpio.open_line(CONFIG["lamp"])
    assert caught.value.reason.startswith(said)


def test_without_the_extra_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "gpiod", None)
    config = CONFIG["lamp"]
    noted = Noted()
    lamp = Lamp(config, health_of(config, noted, SimulatedClock()), timer=FakeTimer())
    lamp.open()
    lamp.tell(message())
    assert "pip install 'gpiod>=2.5'" in lamp.health.reason
    assert noted.kinds() == ["telling_failed"]
    with pytest.raises(NotTold, match="gpiod is missing"):
        asyncio.run(lamp.attempt(message(TEST), quiet=False))
