"""A derived quantity of one surface or one air, computed anew at every reading of what it is had from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from math import inf

from monitor.bench.derived import DERIVED, FORMULAS, RISES_WITH_HUMIDITY
from monitor.bench.readings import Quality, Reading
from monitor.bench.state import Alarm, Channel

PLACES = 1
"""Decimals of every derived quantity: it is rounded before it is judged."""
UNKNOWN_MS = -1


@dataclass(slots=True)
class Computed:
    """One derived channel with its inputs and the warnings that judge it.

    It is known while each input has a good value that still speaks; otherwise it is a gap. A humidity
    clipped at its bound bounds what follows from it.

    Attributes:
        inputs: as the formula takes them.
        value: from the inputs' last values; None for a gap, or not yet computed.
        at_least: None for a value; else `value` is a bound, True if the true one is at least that.
        held: the last instant for which the inputs before the last `take` still spoke together.
        low, high: while calm, values strictly between need no second look.
        calm: every input is good, no delay runs and no level stands.
    """

    quantity: str
    inputs: tuple[Channel, ...]
    alarms: list[Alarm] = field(default_factory=list)
    value: float | None = None
    at_least: bool | None = None
    held: int = UNKNOWN_MS
    low: float = -inf
    high: float = inf
    calm: bool = False
    formula: Callable[..., float] = field(init=False)

    def __post_init__(self) -> None:
        self.formula = FORMULAS[self.quantity]

    def take(self, item: Reading) -> None:
        """Compute with a reading in the place of its channel's last one, which the channel still holds."""
        self.held = held_together(self.inputs)
        given: list[tuple[float | None, int]] = []
        for channel in self.inputs:
            if channel.name == item.channel:
                given.append((item.value, item.quality))
                continue
            held = channel.held_until()
            value = channel.value if held is not None and item.mono_ms <= held else None
            given.append((value, channel.quality))
        self.value, self.at_least = self._from(given)

    def present(self) -> tuple[float | None, bool | None]:
        """Give value and bound as a page shows them: an input told to be silent gives nothing."""
        return self._from([(None if c.stale or c.last_ms is None else c.value, c.quality) for c in self.inputs])

    def at(self, mono_ms: int) -> tuple[float | None, bool | None]:
        """Give value and bound at an instant, of what the inputs' last readings say then."""
        return self._from([(c.value if held_together((c,)) >= mono_ms else None, c.quality) for c in self.inputs])

    def _from(self, given: list[tuple[float | None, int]]) -> tuple[float | None, bool | None]:
        values: list[float] = []
        bound = None
        for channel, (value, quality) in zip(self.inputs, given, strict=True):
            if value is None or (quality == Quality.CLIPPED and not channel.name.endswith(".relative_humidity")):
                return None, None
            if quality == Quality.CLIPPED:
                bound = bool(DERIVED[self.quantity].each) or (value > 0) is RISES_WITH_HUMIDITY[self.quantity]
            values.append(value)
        made = self._rounded(values)
        return made, None if made is None else bound

    def _rounded(self, given: list[float]) -> float | None:
        try:
            return round(self.formula(*given), PLACES) + 0.0  # no -0.0
        except ValueError:  # beyond what the formula holds for: nothing is known
            return None

    def stays_calm(self, channel: Channel, value: float, mono_ms: int) -> bool:
        """Tell whether a good reading of an input leaves it calm, and then remember what it makes."""
        if not self.calm:
            return False
        given = []
        for each in self.inputs:
            if each is channel:
                given.append(value)
            elif each.last_ms is None or each.value is None or each.last_ms + each.stale_after_ms < mono_ms:
                return False
            else:
                given.append(each.value)
        now = self.value if value == channel.value and self.value is not None else self._rounded(given)
        if now is None or not self.low < now < self.high:
            return False
        self.value = now
        return True

    def settle(self) -> None:
        """Work out whether it is calm, and within which values it stays so."""
        windows = [w for alarm in self.alarms for w in alarm.windows]
        self.calm = (
            all(c.is_good() for c in self.inputs)
            and not any(w.active or w.since is not None for w in windows)
            and not any(alarm.chatters for alarm in self.alarms)
        )
        self.high = min((w.at for w in windows if w.high), default=inf)
        self.low = max((w.at for w in windows if not w.high), default=-inf)


def held_together(inputs: tuple[Channel, ...]) -> int:
    """Give the last instant for which the last readings of all still speak."""
    return min(UNKNOWN_MS if (held := c.held_until()) is None else held for c in inputs)
