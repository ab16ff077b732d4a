"""Tracker: probes that give nothing, or nothing at all."""

from __future__ import annotations

from monitor.bench.outputs import Draft, Output
from monitor.bench.quantities import split_channel
from monitor.bench.readings import Quality, Reading
from monitor.bench.state import Channel, State
from monitor.bench.watches import Watch

FAULT_AFTER_MS = 2000
"""A fault is named when gaps have lasted this long; wired faults must be named within 3 s."""


class Health:
    """Names faults, staleness and their end."""

    def reading(self, state: State, watch: Watch, item: Reading, out: list[Output]) -> None:
        """Note the start or the end of a run of gaps."""
        channel = watch.channel
        if item.value is not None:
            if channel.fault:
                _restored(state, channel, item.mono_ms, out)
            channel.gap_since, channel.fault, channel.stale = None, False, False
        elif channel.gap_since is None:
            channel.gap_since = item.mono_ms
        channel.quality = int(item.quality)
        if item.value is None:
            self._name(channel, item.mono_ms, out)

    def tick(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Name faults that have lasted, and channels that have gone stale."""
        for channel in state.channels.values():
            self._name(channel, mono_ms, out)
            held = channel.held_until()
            if held is not None and held < mono_ms and not channel.stale:
                _stale(channel, held, out)

    def due(self, state: State) -> int | None:
        """Give the earliest instant at which a tick could change anything here."""
        dues = []
        for channel in state.channels.values():
            if channel.gap_since is not None and not channel.fault:
                dues.append(channel.gap_since + FAULT_AFTER_MS)
            held = channel.held_until()
            if held is not None and not channel.stale:
                dues.append(held + 1)
        return min(dues, default=None)

    def broken(self, state: State, mono_ms: int, out: list[Output]) -> None:
        """Begin anew: nothing has been read since the interruption."""
        del mono_ms, out
        for channel in state.channels.values():
            channel.last_ms = channel.value = channel.gap_since = None
            channel.quality, channel.stale, channel.fault = 0, False, False

    def _name(self, channel: Channel, mono_ms: int, out: list[Output]) -> None:
        since = channel.gap_since
        if since is None or channel.fault or mono_ms < since + FAULT_AFTER_MS:
            return
        channel.fault = True
        probe, _ = split_channel(channel.name)
        body = {
            "probe": probe, "channel": channel.name,
            "quality": Quality(channel.quality).word, "from_mono_ms": since,
        }  # fmt: skip
        out.append(Draft("probe_fault", since + FAULT_AFTER_MS, body, bench=channel.bench))


def _stale(channel: Channel, held: int, out: list[Output]) -> None:
    channel.stale = channel.fault = True
    if channel.gap_since is None:
        channel.gap_since = held + 1
    probe, _ = split_channel(channel.name)
    body = {"probe": probe, "channel": channel.name, "last_mono_ms": channel.last_ms}
    out.append(Draft("probe_stale", held + 1, body, bench=channel.bench))


def _restored(state: State, channel: Channel, mono_ms: int, out: list[Output]) -> None:
    del state
    probe, _ = split_channel(channel.name)
    since = channel.gap_since if channel.gap_since is not None else mono_ms
    body = {"probe": probe, "channel": channel.name, "gap_ms": mono_ms - since}
    out.append(Draft("probe_restored", mono_ms, body, bench=channel.bench))
