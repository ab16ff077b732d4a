"""A fold with its ticks: one stands at every whole second of input time.

A tick that can change nothing is not made; the outcome is the same as if all were.
"""

from __future__ import annotations

from monitor.bench.engine import advance, fresh, next_due, record_of
from monitor.bench.inputs import Break, Input, Tick
from monitor.bench.outputs import Output, Refusal
from monitor.bench.readings import Reading
from monitor.bench.state import State
from monitor.bench.watches import rebuild

SECOND_MS = 1000
NEVER = 1 << 62


class Fold:
    """Feeds inputs to a state, ticks between them included.

    Inputs come in their total order (see `monitor.bench.inputs`): never before an instant
    that has passed, and a request never after a reading of the same millisecond.

    Args:
        state: to go on from; a fresh one by default.
    """

    def __init__(self, state: State | None = None) -> None:
        self.state = state if state is not None else fresh()
        rebuild(self.state)
        self._passed_ms = self.state.mono_ms
        self._read_ms = -1
        self._due = self._next_tick()

    def feed(self, item: Input) -> list[Output]:
        """Make the ticks that lie before an input of the same boot, then take the input.

        Returns:
            Everything to be written and told, in order: what the ticks brought, the
            day-book row of the input itself (a request's or a break's), what it brought.
            A refused request has no row; its Refusal comes last.

        Raises:
            ValueError: the input does not come in order.
        """
        if type(item) is Reading and self._passed_ms <= item.mono_ms <= self._due:
            return self._read(item)
        made = [] if self._begins_boot(item) else self._come_to(item)
        if type(item) is Reading:
            return made + self._read(item)
        record = record_of(item)
        _, out = advance(self.state, item)
        self._due = self._next_tick()
        if record is None or any(isinstance(o, Refusal) for o in out):
            return made + out
        return [*made, record, *out]

    def pass_time(self, mono_ms: int) -> list[Output]:
        """Make the ticks that lie strictly before `mono_ms`; no input may come before it."""
        out: list[Output] = []
        self._passed_ms = max(self._passed_ms, mono_ms)
        while self._due < mono_ms:
            later = self._next_tick()
            if later > self._due:
                self._due = later
                continue
            out += advance(self.state, Tick(self._due))[1]
            self._due = max(self._next_tick(), self._due + SECOND_MS)
        return out

    def catch_up(self, mono_ms: int) -> list[Output]:
        """Make all ticks that must have been made for something of `mono_ms` to have been told."""
        return self.pass_time(-(-mono_ms // SECOND_MS) * SECOND_MS + 1)

    def _read(self, item: Reading) -> list[Output]:
        self._read_ms = item.mono_ms
        watch = self.state.watches.get(item.channel)
        was_calm = watch is not None and watch.calm
        _, out = advance(self.state, item)
        if out or not was_calm or (watch is not None and not watch.calm):
            self._due = self._next_tick()
        return out

    def _begins_boot(self, item: Input) -> bool:
        if not isinstance(item, Break) or item.boot == self.state.boot:
            return False
        self._passed_ms, self._read_ms = item.mono_ms, -1
        return True

    def _come_to(self, item: Input) -> list[Output]:
        if item.mono_ms < self._passed_ms:
            raise ValueError(f"{item} comes after {self._passed_ms} ms has passed")
        if type(item) is not Reading and item.mono_ms == self._read_ms:
            raise ValueError(f"{item} comes after a reading of the same millisecond")
        return self.pass_time(item.mono_ms)

    def _next_tick(self) -> int:
        due = next_due(self.state)
        if due is None:
            return NEVER
        return -(-max(due, self.state.mono_ms) // SECOND_MS) * SECOND_MS
