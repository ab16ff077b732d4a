"""Whatever is read, asked, interrupted or set: the fold's warnings are the textbook's, none missed, early or double.

Readings and delays lie on whole seconds and requests just after one, so that what elapses has been told by then;
what happens between whole seconds is in `test_limits_fold`.
"""

from __future__ import annotations

from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from monitor.bench.inputs import Asked, Break
from monitor.bench.outputs import Draft, Output, Refusal, Signal
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Level, Limit, Sheet, Stage
from monitor.bench.state_json import dump, load
from monitor.bench.ticking import Fold
from tests.support.folds import OFFSET_MS, ROOM_C, TOOL, asked, limit
from tests.support.watchman import SECOND_MS, STEP_MS, Book, Probe, Rule, Watchman, instant

INTERVAL_MS = {ROOM_C: 2000, TOOL: 1000}
STATES = {
    "normal": "normal", "unacknowledged": "unseen", "acknowledged": "seen", "returned_unacknowledged": "returned",
    "latched_unacknowledged": "latched unseen", "latched_acknowledged": "latched", "shelved": "silent",
    "suppressed_by_design": "off", "out_of_service": "unused",
}  # fmt: skip
KINDS = {
    "alarm_raised": "raised", "alarm_eased": "eased", "alarm_returned": "returned", "alarm_seen": "seen",
    "alarm_shelved": "shelved", "alarm_unshelved": "unshelved", "alarm_suppressed": "suppressed",
    "alarm_out_of_service": "unused", "alarm_released": "released", "alarm_reset": "reset",
    "alarm_chatters": "chatters",
}  # fmt: skip
ASKS = {
    "see": ("see_asked", {}), "unshelve": ("unshelve_asked", {}), "release": ("release_asked", {}),
    "reset": ("reset_asked", {}), "suppress": ("suppress_asked", {"reason": "by design"}),
    "unuse": ("out_of_service_asked", {"reason": "lead at repair"}),
}  # fmt: skip


def levels(*at: float) -> tuple[Level, ...]:
    return tuple(Level(x, p, "project", "proposal") for x, p in zip(at, ("medium", "high"), strict=False))


LIMITS: tuple[tuple[str, Limit, tuple[str, ...]], ...] = (
    (TOOL, limit("hot", on_delay_ms=2000, off_delay_ms=3000, levels=levels(65.0, 70.0), re_alarm_ms=10_000),
     ("work",)),
    (TOOL, limit("cold", side="low", on_delay_ms=0, off_delay_ms=0, latching=True, levels=levels(30.0)),
     ("work", "rest")),
    (ROOM_C, limit("warm", role="room", quantity="air_temperature", on_delay_ms=0, off_delay_ms=1000,
                   must_be_seen=False, levels=levels(25.0)), ("work",)),
    (ROOM_C, limit("cool", role="room", quantity="air_temperature", side="low", on_delay_ms=1000, off_delay_ms=0,
                   levels=levels(15.0), re_alarm_ms=60_000), ("work", "rest")),
)  # fmt: skip
VALUES = {TOOL: [50.0, 64.0, 64.5, 65.0, 66.0, 71.0, 90.0, 20.0], ROOM_C: [20.0, 24.0, 25.0, 26.0, 10.0]}
NAMES = st.sampled_from([x.key for _, x, _ in LIMITS])
SHEET = Sheet(
    "test", "Test sheet", {"tool": ("tool_temperature",), "room": ("air_temperature",)},
    tuple(Stage(s, s, tuple(x.key for _, x, stages in LIMITS if s in stages)) for s in ("work", "rest")),
    {x.key: x for _, x, _ in LIMITS}, asks_painting=False,
)  # fmt: skip


def begun() -> Fold:
    fold = Fold()
    fold.feed(Break(0, 1, 1, OFFSET_MS, None))
    channels = [{"channel": c, "interval_ms": ms, "bench": "north"} for c, ms in INTERVAL_MS.items()]
    fold.feed(Asked(0, "settings_in_force", None, "station", {"engine": 1, "channels": channels}))
    bound = [{"role": role, "probe": c.partition(".")[0], "touches": "it", "channels": [c]}
             for role, c in (("tool", TOOL), ("room", ROOM_C))]  # fmt: skip
    body = {"step": "s1", "sheet": SHEET.as_json(), "painting": None, "bench": "north", "bindings": bound,
            "side": None, "places": None, "sandwich": None, "answers": []}  # fmt: skip
    out = fold.feed(Asked(0, "step_asked", "MK", "browser:test", body))
    assert not [o for o in out if isinstance(o, Refusal)], out
    return fold


class Warnings(RuleBasedStateMachine):
    """The fold and the textbook side by side. `now` is a whole second of one axis through all restarts."""

    @initialize()
    def begin(self) -> None:
        self.fold, self.book = begun(), Book()
        self.probes = {c: Probe(3 * ms) for c, ms in INTERVAL_MS.items()}
        self.men = {
            x.key: self._man(channel, x, stages) for channel, x, stages in sorted(LIMITS, key=lambda m: m[1].key)
        }
        self.now = self.base = 0
        self.boot = self.segment = 1
        self.offset = OFFSET_MS
        self.told: dict[str, list[tuple[int, str, str]]] = {key: [] for key in self.men}
        self.floods: list[tuple[int, str, int]] = []
        self.sounds: list[tuple[int, bool]] = []
        self._instants(0, 0)

    def _man(self, channel: str, x: Limit, stages: tuple[str, ...]) -> Watchman:
        probe = self.probes[channel]

        def span(now: int) -> tuple[float, float] | None:
            value = probe.known(now)
            return None if value is None else (value, value)

        rule = Rule([v.at for v in x.levels], x.side == "high", x.deadband, x.on_delay_ms, x.off_delay_ms, span,
                    [probe], x.must_be_seen, x.latching, x.re_alarm_ms, stages)  # fmt: skip
        return Watchman(rule, self.book)

    def _instants(self, first: int, last: int) -> None:
        for now in range(first, last + 1, STEP_MS):
            instant(now, list(self.probes.values()), list(self.men.values()), self.book)

    def _come_to(self, second: int) -> None:
        self._instants(self.now + STEP_MS, second)
        self.now = second

    def _note(self, out: list[Output]) -> None:
        for o in out:
            if isinstance(o, Signal):
                self.sounds.append((o.mono_ms + self.base, "flood" in o.body))
            elif isinstance(o, Draft) and o.kind in ("flood_began", "flood_ended"):
                self.floods.append((o.mono_ms + self.base, o.kind.removeprefix("flood_"), o.body["count"]))
            elif isinstance(o, Draft) and o.kind in KINDS:
                self.told[o.body["limit"]].append((o.mono_ms + self.base, KINDS[o.kind], self._which(o)))

    def _which(self, draft: Draft) -> str:
        body = draft.body
        if "state" in body:
            return STATES[body["state"]]
        if "at" in body:
            at = [f"{v.at:g}" for v in SHEET.limits[body["limit"]].levels].index(body["at"])
            return f"{at}{'still' if 'why' in body else ''}"
        return "probe" if "cause" in body else str(body.get("times", ""))

    def _read(self, values: dict[str, float | None]) -> None:
        for channel, value in values.items():
            self.probes[channel].readings[self.now + SECOND_MS] = value
        self._come_to(self.now + SECOND_MS)
        for channel, value in sorted(values.items()):
            quality = Quality.OPEN if value is None else Quality.GOOD
            self._note(self.fold.feed(Reading(self.now - self.base, channel, value, quality)))

    @rule(values=st.fixed_dictionaries({}, optional={c: st.sampled_from([*v, None]) for c, v in VALUES.items()}))
    def read(self, values: dict[str, float | None]) -> None:
        self._read(values)

    @rule(values=st.fixed_dictionaries({c: st.sampled_from([*v, None]) for c, v in VALUES.items()}),
          seconds=st.sampled_from([3, 5, 12, 70, 125]))  # fmt: skip
    def stay(self, values: dict[str, float | None], seconds: int) -> None:
        for _ in range(seconds):
            self._read(values)

    @rule(times=st.integers(2, 4), wait=st.integers(1, 6), high=st.booleans())
    def come_and_go(self, times: int, wait: int, high: bool) -> None:
        beyond: dict[str, float | None] = {TOOL: 90.0, ROOM_C: 26.0} if high else {TOOL: 20.0, ROOM_C: 10.0}
        for _ in range(times):
            for values in (beyond, {TOOL: 50.0, ROOM_C: 20.0}):
                for _ in range(wait):
                    self._read(dict(values))

    @rule(seconds=st.sampled_from([1, 2, 4, 8, 620]))
    def wait(self, seconds: int) -> None:
        self._come_to(self.now + seconds * SECOND_MS)

    def _ask(self, kind: str, **body: Any) -> bool:
        out = self.fold.feed(asked(self.now + STEP_MS - self.base, kind, **body))
        self._note(out)
        return not any(isinstance(o, Refusal) for o in out)

    @rule(key=NAMES, what=st.sampled_from(["see", "see", "see", *ASKS]))
    def ask(self, key: str, what: str) -> None:
        kind, body = ASKS[what]
        channel = next(c for c, x, _ in LIMITS if x.key == key)
        agreed = self._ask(kind, step="s1", limit=key, channel=channel, **body)
        assert self.men[key].ask(what, self.now + STEP_MS) is agreed

    @rule(key=NAMES, for_s=st.sampled_from([0, 0, 1, 5, 30]))
    def be_silent(self, key: str, for_s: int) -> None:
        channel = next(c for c, x, _ in LIMITS if x.key == key)
        agreed = self._ask(
            "shelve_asked", step="s1", limit=key, channel=channel, for_s=for_s, reason="on the telephone"
        )
        assert self.men[key].ask("shelve", self.now + STEP_MS, silent_ms=for_s * SECOND_MS) is agreed

    @rule()
    def other_stage(self) -> None:
        self.book.stage = "rest" if self.book.stage == "work" else "work"
        assert self._ask("stage_asked", step="s1", stage=self.book.stage)
        for man in self.men.values():
            man.stage(self.now + STEP_MS)

    @rule(gap_s=st.sampled_from([1, 7, 90, 700]))
    def restart(self, gap_s: int) -> None:
        died, back = self.now + STEP_MS - self.base, STEP_MS
        self._note(self.fold.pass_time(died))
        self.offset += died + gap_s * SECOND_MS - back
        self.boot, self.segment = self.boot + 1, self.segment + 1
        self.now += gap_s * SECOND_MS
        self.base = self.now
        self._note(self.fold.feed(Break(back, self.boot, self.segment, self.offset, gap_s * SECOND_MS)))
        for probe in self.probes.values():
            probe.restart()
        for man in self.men.values():
            man.restart(self.now + STEP_MS)

    @rule(by_ms=st.sampled_from([-3_600_000, 400, 3_600_000]))
    def clock_set(self, by_ms: int) -> None:
        self.offset, self.segment = self.offset + by_ms, self.segment + 1
        self._note(self.fold.feed(Break(self.now + STEP_MS - self.base, self.boot, self.segment, self.offset, 0)))

    @rule()
    def kept_and_read_again(self) -> None:
        kept = dump(self.fold.state)
        self.fold = Fold(load(kept))
        assert dump(self.fold.state) == kept

    @invariant()
    def tells_the_same(self) -> None:
        if not hasattr(self, "fold"):
            return
        self._note(self.fold.pass_time(self.now + STEP_MS - self.base))
        for key, man in self.men.items():
            assert self.told[key] == man.rows, key
            alarm = next(a for a in self.fold.state.alarms.values() if a.limit.key == key)
            assert (STATES[alarm.state.value], alarm.level) == (man.state, man.level), key
        assert self.floods == self.book.flood_rows
        assert sorted(self.sounds) == sorted(self.book.sounds)


Warnings.TestCase.settings = settings(max_examples=60, stateful_step_count=30, deadline=None)
TestWarnings = Warnings.TestCase
