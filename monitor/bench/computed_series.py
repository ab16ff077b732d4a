"""A derived quantity out of recorded readings, by the same rules as in the fold."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import NamedTuple

from monitor.bench.computed import Computed, held_together
from monitor.bench.readings import Reading
from monitor.bench.state import Channel


class Value(NamedTuple):
    """The value from an instant on; None for a gap. With `at_least` it is a bound, True for a lower one."""

    mono_ms: int
    value: float | None
    at_least: bool | None = None

    def beyond(self, at: float, side: str) -> bool:
        """Tell whether it is past a level for certain."""
        if self.value is None or self.at_least is (side == "low"):
            return False
        return self.value > at if side == "high" else self.value < at


def computed_series(quantity: str, stale_after_ms: Mapping[str, int], readings: Iterable[Reading]) -> Iterator[Value]:
    """Give one value for each instant with a reading, and a gap where its inputs cease to speak together.

    Args:
        quantity: one of `derived.DERIVED`.
        stale_after_ms: for each input channel, in the order of its formula, how long a reading speaks.
        readings: of these channels, in the order of their instants.
    """
    inputs = tuple(Channel(name, ms, "") for name, ms in stale_after_ms.items())
    by_name = {channel.name: channel for channel in inputs}
    made = Computed(quantity, inputs)
    for mono_ms, together in groupby(readings, key=lambda reading: reading.mono_ms):
        if made.value is not None and held_together(inputs) < mono_ms:
            yield Value(held_together(inputs), None)
        for item in together:
            made.take(item)
            channel = by_name[item.channel]
            channel.last_ms, channel.value, channel.quality = item.mono_ms, item.value, int(item.quality)
        yield Value(mono_ms, made.value, made.at_least)
