"""What is kept of a channel's past: one sample a minute, as far back as a limit in force looks.

A sample is the last value of the channel if it still speaks at that whole minute of monotonic time, else
nothing. A spike between two samples is not in what is worked out from them; the limits on the level see it.
A value clipped at the end of its scale is no value here.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from monitor.bench.pace import MINUTE_MS

NOW_MINUTES, ENOUGH_OF_THEM = 5, 3
HOUR_MINUTES, DAY_HOURS = 60, 24
RATE_MINUTES = HOUR_MINUTES + NOW_MINUTES
LEAST_KNOWN = HOUR_MINUTES
"""A change is told from so many known minutes on."""
MEAN_LEAST_H, MEAN_SPEAKS_MS = 7 * 24, 24 * 3_600_000
"""A trailing mean speaks if it covers so many hours, and for so long."""
PLACES = 1
PAST_BYTES = 1_000
"""What the past of a channel may take of the kept state."""


@dataclass(slots=True)
class Stretch:
    """The extremes of sixty minutes of samples, or of as many as there are yet; how many, and how many known."""

    low: float | None = None
    high: float | None = None
    known: int = 0
    samples: int = 0

    def take(self, value: float | None) -> None:
        """Count a sample."""
        self.samples += 1
        if value is None:
            return
        self.known += 1
        self.low = value if self.low is None else min(self.low, value)
        self.high = value if self.high is None else max(self.high, value)


@dataclass(slots=True)
class Past:
    """The past of one channel.

    Attributes:
        minutes, day, has_mean: what is kept of it: how many samples, a day's extremes, a trailing mean.
        recent: the samples, newest last.
        stretches: of a day, oldest first; the last one is not full.
        sampled_ms: instant of the newest sample, None before the first.
        mean, mean_h, mean_ms: a trailing mean, how many hours it covers, and when it was given.
    """

    minutes: int = 0
    day: bool = False
    has_mean: bool = False
    recent: list[float | None] = field(default_factory=list)
    stretches: list[Stretch] = field(default_factory=list)
    sampled_ms: int | None = None
    mean: float | None = None
    mean_h: int = 0
    mean_ms: int | None = None

    def keep(self, minutes: int, *, day: bool, mean: bool) -> None:
        """Keep so much from here on, and no more of what there is."""
        self.minutes, self.day, self.has_mean = minutes, day, mean
        del self.recent[: max(0, len(self.recent) - minutes)]
        if not day:
            self.stretches.clear()
        if not mean:
            self.mean, self.mean_h, self.mean_ms = None, 0, None

    def take(self, mono_ms: int, value: float | None) -> None:
        """Take the sample of a whole minute."""
        self.sampled_ms = mono_ms
        if self.minutes:
            self.recent.append(value)
            del self.recent[: -self.minutes]
        if not self.day:
            return
        if not self.stretches or self.stretches[-1].samples == HOUR_MINUTES:
            self.stretches.append(Stretch())
            del self.stretches[:-DAY_HOURS]
        self.stretches[-1].take(value)

    def now(self) -> float | None:
        """Give the mean of the last five minutes, of three of them at least."""
        return _mean(self.recent[-NOW_MINUTES:])

    def rate(self) -> float | None:
        """Give the mean of the last five minutes less that of the five an hour before."""
        now, before = self.now(), _mean(self.recent[-RATE_MINUTES:-HOUR_MINUTES])
        if len(self.recent) < RATE_MINUTES or now is None or before is None:
            return None
        return rounded(now - before)

    def change(self) -> float | None:
        """Give the highest less the lowest of the last day, or of as much as there is from an hour on."""
        if sum(one.known for one in self.stretches) < LEAST_KNOWN:
            return None
        lows = [one.low for one in self.stretches if one.low is not None]
        highs = [one.high for one in self.stretches if one.high is not None]
        return rounded(max(highs) - min(lows))

    def departure(self, mono_ms: int) -> float | None:
        """Give the mean of the last five minutes less the trailing mean."""
        now = self.now()
        if now is None or self.mean is None or self.mean_ms is None:
            return None
        if self.mean_h < MEAN_LEAST_H or mono_ms - self.mean_ms > MEAN_SPEAKS_MS:
            return None
        return rounded(now - self.mean)

    def span_minutes(self) -> int:
        """Give over how many minutes a change is told, unknown ones among them."""
        return sum(one.samples for one in self.stretches)

    def carry_over(self, shift_ms: int, from_ms: int, *, known: bool) -> None:
        """Go on in a new boot: minutes missed are not known; of a day or an unknown time missed, all begins anew.

        Args:
            shift_ms: takes instants of the old boot to the new one's scale.
            from_ms: instant at which the new boot begins.
            known: whether it is known how long nothing was measured.
        """
        if not known:
            self.recent.clear()
            self.stretches.clear()
            self.mean, self.mean_h, self.mean_ms, self.sampled_ms = None, 0, None, None
            return
        if self.mean_ms is not None:
            self.mean_ms += shift_ms
        if self.sampled_ms is None:
            return
        first_ms = -(-from_ms // MINUTE_MS) * MINUTE_MS
        missed = (first_ms - self.sampled_ms - shift_ms + MINUTE_MS // 2) // MINUTE_MS - 1
        if missed >= DAY_HOURS * HOUR_MINUTES:
            self.recent.clear()
            self.stretches.clear()
            missed = 0
        for _ in range(missed):
            self.take(first_ms - MINUTE_MS, None)
        self.sampled_ms = first_ms - MINUTE_MS

    def as_json(self) -> dict[str, Any]:
        """Give it as a kept state holds it, in a form that stays small."""
        stretches = [[one.low, one.high, one.known, one.samples] for one in self.stretches]
        body = {"recent": self.recent, "stretches": stretches, "sampled_ms": self.sampled_ms}
        if self.mean_ms is not None:
            body |= {"mean": self.mean, "mean_h": self.mean_h, "mean_ms": self.mean_ms}
        return body

    @classmethod
    def from_json(cls, body: dict[str, Any]) -> Past:
        """Read what `as_json` wrote; how much is kept follows from the limits in force."""
        return cls(**{**body, "stretches": [Stretch(*one) for one in body["stretches"]]})


def rounded(value: float) -> float:
    """Round to the resolution of what is worked out from samples."""
    return round(value, PLACES) + 0.0  # no -0.0


def _mean(samples: list[float | None]) -> float | None:
    known = [sample for sample in samples if sample is not None]
    return sum(known) / len(known) if len(known) >= ENOUGH_OF_THEM else None
