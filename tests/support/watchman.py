"""The textbook version of what a warning does: slow, and written from the words, not from the code.

Time is cut into instants a quarter of a second apart. At each it is asked anew what holds: the value looked up
among the readings, the run of instants in which a level's condition has held, what was asked, and at whole
seconds what time alone brings. It runs on one axis through restarts, and knows nothing of clocks.

Its own figures: a fault is told after 2 s without a value, a silence after three intervals; three times within
60 s comes and goes, quiet is 120 s; more than 10 in 10 minutes are a flood, fewer than 5 are none.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

STEP_MS = 250
SECOND_MS = 1000
FAULT_MS, QUIET_MS, MINUTE_MS, TEN_MINUTES_MS = 2000, 120_000, 60_000, 600_000

Span = tuple[float, float]
Row = tuple[int, str, str]  # instant, what, which state or level


@dataclass
class Probe:
    """One channel: its readings (None for a gap), and what has been told of it."""

    stale_ms: int
    readings: dict[int, float | None] = field(default_factory=dict)
    last: int | None = None
    value: float | None = None
    gap_from: int | None = None
    told: bool = False

    def at(self, now: int) -> None:
        """Come to an instant: take its reading, name a fault that has lasted."""
        if now in self.readings:
            self.last, self.value = now, self.readings[now]
            if self.value is None:
                self.gap_from = now if self.gap_from is None else self.gap_from
                self._name(now)
            else:
                self.gap_from, self.told = None, False

    def second(self, now: int) -> None:
        """Come to the end of a whole second's instant: name what has lasted."""
        self._name(now)
        if self.last is not None and now > self.last + self.stale_ms:
            self.told = True
            self.gap_from = self.last if self.gap_from is None else self.gap_from

    def _name(self, now: int) -> None:
        if self.gap_from is not None and now - self.gap_from >= FAULT_MS:
            self.told = True

    def known(self, now: int) -> float | None:
        """Give the value that holds, None when nothing is known."""
        return self.value if self.last is not None and now <= self.last + self.stale_ms else None

    def restart(self) -> None:
        """Forget all that was read."""
        self.last = self.value = self.gap_from = None
        self.told = False


@dataclass
class LevelRun:
    """One level, watched instant by instant."""

    at: float
    active: bool = False
    run_from: int | None = None


@dataclass
class Rule:
    """One limit as set. `span` gives the lowest and highest the judged value may have, None when nothing is known."""

    levels: list[float]
    high: bool
    deadband: float
    on_ms: int
    off_ms: int
    span: Callable[[int], Span | None]
    probes: list[Probe]
    must_be_seen: bool = True
    latching: bool = False
    again_ms: int = 0
    stages: tuple[str, ...] = ("work",)


@dataclass
class Book:
    """All that warnings share: how many were told, the flood, the stage."""

    stage: str = "work"
    told: list[int] = field(default_factory=list)
    flood: int | None = None
    flood_rows: list[tuple[int, str, int]] = field(default_factory=list)
    sounds: list[tuple[int, bool]] = field(default_factory=list)
    flooded: int = 0

    def sound(self, now: int) -> None:
        """Tell a warning."""
        self.told.append(now)
        count = sum(1 for t in self.told if t > now - TEN_MINUTES_MS)
        if self.flood is None and count > 10:
            self.flood, self.flooded = now, count
            self.flood_rows.append((now, "began", count))
        elif self.flood is not None:
            self.flooded += 1
        self.sounds.append((now, self.flood is not None))

    def second(self, now: int) -> None:
        """End a flood when few have come."""
        if self.flood is not None and sum(1 for t in self.told if t > now - TEN_MINUTES_MS) < 5:
            self.flood_rows.append((now, "ended", self.flooded))
            self.flood = None


@dataclass
class Watchman:
    """Watches one limit. States: normal, unseen, seen, returned, latched unseen, latched, silent, off, unused."""

    rule: Rule
    book: Book = field(default_factory=Book)
    rows: list[Row] = field(default_factory=list)
    state: str = "normal"
    level: int = -1
    off_by: str = ""
    until: int | None = None
    once: bool = False
    seen_at: int | None = None
    comes: list[tuple[int, int]] = field(default_factory=list)
    chatters: bool = False
    quiet_from: int | None = None
    runs: list[LevelRun] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.runs = [LevelRun(at) for at in self.rule.levels]

    # what is asked

    def ask(self, what: str, now: int, *, silent_ms: int = 0) -> bool:
        """Ask for something; False when it may not be asked for."""
        act = {"see": self._see, "reset": self._reset, "unshelve": self._unshelve, "release": self._release,
               "suppress": self._suppress, "unuse": self._unuse}.get(what)  # fmt: skip
        return self._shelve(now, silent_ms) if act is None else act(now)

    def _see(self, now: int) -> bool:
        after = {"unseen": "seen", "returned": "normal", "latched unseen": "latched"}.get(self.state)
        if after is None:
            return False
        self.state = after
        self.seen_at = now
        self.rows.append((now, "seen", after))
        return True

    def _reset(self, now: int) -> bool:
        if self.state != "latched":
            return False
        self._calm()
        self.state = "normal"
        self.rows.append((now, "reset", ""))
        return True

    def _shelve(self, now: int, silent_ms: int) -> bool:
        if silent_ms == 0 and self.level < 0:
            return False
        if silent_ms:
            self._calm()
        self.state, self.off_by = "silent", ""
        self.until, self.once = (now + silent_ms if silent_ms else None), silent_ms == 0
        self.rows.append((now, "shelved", ""))
        return True

    def _suppress(self, now: int) -> bool:
        self._put("off", "asked")
        self.rows.append((now, "suppressed", ""))
        return True

    def _unuse(self, now: int) -> bool:
        self._put("unused", "")
        self.rows.append((now, "unused", ""))
        return True

    def _put(self, state: str, off_by: str) -> None:
        self._calm()
        self.state, self.off_by, self.until, self.once = state, off_by, None, False

    def _unshelve(self, now: int) -> bool:
        if self.state != "silent":
            return False
        self.until, self.once = None, False
        self._way_out(now, "unshelved")
        return True

    def _release(self, now: int) -> bool:
        if self.state not in ("off", "unused") or (self.off_by == "stage" and not self._listed()):
            return False
        if self.off_by == "probe" and self.level >= 0 and self._unread():
            return False
        self._way_out(now, "released")
        return True

    def _way_out(self, now: int, row: str) -> None:
        """Follow the present condition: the stage first, then the probe, then the level."""
        hidden = self.off_by == "probe"
        if not hidden:
            self._calm()
        self.off_by = ""
        if not self._listed():
            self.state, self.off_by = "off", "stage"
        elif self.level < 0:
            self.state = "normal"
        elif self._unread():
            self.state, self.off_by = "off", "probe"
        else:
            self.state = "unseen"
        self.rows.append((now, row, self.state))
        if self.off_by == "probe":
            self.rows.append((now, "suppressed", "probe"))
        if self.state == "unseen" and not self.chatters:
            self._warn(now, "")

    def stage(self, now: int) -> None:
        """Come to another stage; the book has it already."""
        if self.state == "unused" or self.off_by == "asked":
            return
        if not self._listed() and self.off_by != "stage":
            if self.state != "normal":
                self.rows.append((now, "suppressed", ""))
            self._put("off", "stage")
        elif self._listed() and self.off_by == "stage":
            if self.level < 0:
                self.state, self.off_by = "normal", ""
            else:
                self._way_out(now, "released")

    def restart(self, now: int) -> None:
        """Come back after an interruption."""
        self.quiet_from = None
        for run in self.runs:
            run.run_from = None
        if self.until is not None:
            self.until = max(self.until, now)

    # what is read

    def at(self, now: int) -> None:
        """Come to an instant whose readings are in."""
        span = self.rule.span(now)
        for run in self.runs:
            self._watch(run, now, span)
        now_level = max((i for i, run in enumerate(self.runs) if run.active), default=-1)
        if self.chatters:
            if span is None or now_level >= self.level:
                self.quiet_from = None
            elif self.quiet_from is None:
                self.quiet_from = now
            if now_level <= self.level:
                return
        self._come_to(now, now_level)

    def _come_to(self, now: int, level: int) -> None:
        was, self.level = self.level, level
        if level > was and self.state not in ("silent", "off", "unused"):
            self.state = "unseen"
            self._warn(now, "")
            self._count(now)
        elif level < 0 <= was:
            self._is_over(now)
        elif 0 <= level < was and self.state in ("unseen", "seen"):
            self.rows.append((now, "eased", str(level)))

    def _is_over(self, now: int) -> None:
        if self.once:
            self._unshelve(now)
        elif self.off_by == "probe":
            self._release(now)
        elif self.state in ("unseen", "seen"):
            stays = self.state == "unseen" and self.rule.must_be_seen
            if self.rule.latching:
                self.state = "latched unseen" if stays else "latched"
            else:
                self.state = "returned" if stays else "normal"
            self.rows.append((now, "returned", self.state))

    def _watch(self, run: LevelRun, now: int, span: Span | None) -> None:
        """A condition holds if it does for every value there may be."""
        if span is None:
            run.run_from = None
            return
        sign = 1 if self.rule.high else -1
        past = sorted(round(sign * (v - run.at), 6) for v in span)
        holds = past[1] <= -self.rule.deadband if run.active else past[0] > 0
        if not holds:
            run.run_from = None
            return
        if run.run_from is None:
            run.run_from = now
        if now - run.run_from >= (self.rule.off_ms if run.active else self.rule.on_ms):
            run.active = not run.active
            run.run_from = None

    # what time brings, at whole seconds: first for every warning, then faults are told, then what they hide

    def second(self, now: int) -> None:
        """Let end what was quiet, warn again of what was seen, let a silence end."""
        if self.chatters and self.quiet_from is not None and now - self.quiet_from >= QUIET_MS:
            self.chatters, self.comes, self.quiet_from = False, [], None
            self._come_to(now, max((i for i, run in enumerate(self.runs) if run.active), default=-1))
        again = self.rule.again_ms
        if again and self.state == "seen" and self.seen_at is not None and now - self.seen_at >= again:
            self.state = "unseen"
            self._warn(now, "still")
        if self.until is not None and now >= self.until:
            self._unshelve(self.until)

    def hide(self, now: int) -> None:
        """Hold back what stands and is not read; bring back what is read again and is not about to end."""
        if self.state in ("unseen", "seen") and self.level >= 0 and self._unread():
            self.state, self.off_by = "off", "probe"
            self.rows.append((now, "suppressed", "probe"))
            return
        if self.off_by != "probe" or any(p.told or p.value is None for p in self.rule.probes):
            return
        active = [run for run in self.runs if run.active]
        if not active or any(run.run_from is None for run in active):
            self._release(now)
            if self.state == "unseen":
                self._count(now)

    # helpers

    def _listed(self) -> bool:
        return self.book.stage in self.rule.stages

    def _unread(self) -> bool:
        return any(probe.told for probe in self.rule.probes)

    def _calm(self) -> None:
        self.chatters, self.comes, self.quiet_from = False, [], None
        self.level = max((i for i, run in enumerate(self.runs) if run.active), default=-1)

    def _warn(self, now: int, why: str) -> None:
        self.rows.append((now, "raised", f"{self.level}{why}"))
        self.book.sound(now)

    def _count(self, now: int) -> None:
        if self.chatters:
            return
        self.comes.append((self.level, now))
        if sum(1 for level, t in self.comes if level == self.level and t >= now - MINUTE_MS) >= 3:
            self.chatters, self.comes, self.quiet_from = True, [], None
            self.rows.append((now, "chatters", "3"))


def instant(now: int, probes: list[Probe], men: list[Watchman], book: Book) -> None:
    """Come to one instant: readings, what they make of the limits, and at whole seconds what time brings."""
    for probe in probes:
        probe.at(now)
    for man in men:
        man.at(now)
    if now % SECOND_MS:
        return
    for man in men:
        man.second(now)
    for probe in probes:
        probe.second(now)
    for man in men:
        man.hide(now)
    book.second(now)
