"""A fold with its ticks: one stands at every whole second of input time.

A tick that can change nothing is not made; the outcome is the same as if all were.
"""

from __future__ import annotations

from monitor.bench.engine import advance, fresh, next_due, record_of
from monitor.bench.inputs import Break, Input, Tick
from monitor.bench.outputs import Output, Refusal
from monitor.bench.readings import Reading
from monitor.bench.state import State

SECOND_MS = 1000


class Fold:
    """Feeds inputs to a state, ticks between them included.

    Args:
        state: to go on from; a fresh one by default.
    """

    def __init__(self, state: State | None = None) -> None:
        self.state = state if state is not None else fresh()
        self._due = self._next_tick()

    def feed(self, item: Input) -> list[Output]:
        """Make the ticks that lie before an input of the same boot, then take the input.

        Returns:
            Everything to be written and told, in order: what the ticks brought, the
            day-book row of the input itself (a request's or a break's), what it brought.
            A refused request has no row; its Refusal comes last.
        """
        mono_ms = item.mono_ms
        if mono_ms <= self._due and type(item) is Reading:
            calm = self.state.watches.get(item.channel)
            was_calm = calm is not None and calm.calm
            _, out = advance(self.state, item)
            if not (was_calm and not out and calm is not None and calm.calm):
                self._due = self._next_tick()
            return out
        same_boot = not isinstance(item, Break) or item.boot == self.state.boot
        made = self.pass_time(mono_ms) if same_boot else []
        record = record_of(item)
        _, out = advance(self.state, item)
        self._due = self._next_tick()
        if record is None or any(isinstance(o, Refusal) for o in out):
            return made + out
        return [*made, record, *out]

    def pass_time(self, mono_ms: int) -> list[Output]:
        """Make the ticks that lie strictly before `mono_ms`; no input will come before it."""
        out: list[Output] = []
        while self._due < mono_ms:
            later = self._next_tick()
            if later > self._due:
                self._due = later
                continue
            out += advance(self.state, Tick(self._due))[1]
            self._due = max(self._next_tick(), self._due + SECOND_MS)
        return out

    def _next_tick(self) -> int:
        due = next_due(self.state)
        if due is None:
            return _NEVER
        return -(-max(due, self.state.mono_ms) // SECOND_MS) * SECOND_MS


_NEVER = 1 << 62
