"""What every way to be told promises, and what it is told of beside messages: how things stand."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from monitor.station.telling.health import Health
from monitor.station.telling.message import Message, matters
from monitor.ways import WayConfig


@dataclass(frozen=True)
class Stands:
    """A warning that stands or waits to be seen; `sounds` while it is passed and nobody has seen it."""

    warning: str
    priority: str
    sentence: str
    words: str
    unseen: bool
    sounds: bool
    at_ms: int | None


@dataclass(frozen=True)
class Standing:
    """All warnings that stand or wait to be seen at one instant, the most severe first."""

    warnings: tuple[Stands, ...] = ()
    at_ms: int | None = field(default=None, compare=False)

    def above(self, least: str) -> Standing:
        """Leave out what a way is not told of."""
        return Standing(tuple(w for w in self.warnings if matters(w.priority, least)), self.at_ms)


class Way(Protocol):
    """A way to be told."""

    @property
    def config(self) -> WayConfig:
        """Give its name, from which priority it is told and when it is in use."""
        ...

    @property
    def key(self) -> str:
        """Give its kind: lamp, sounder, message or mqtt."""
        ...

    @property
    def words(self) -> str:
        """Say what it is, in words."""
        ...

    @property
    def at_once(self) -> bool:
        """Say whether it is told when something is decided; the others are told after its commit."""
        ...

    @property
    def health(self) -> Health:
        """Give whether it works."""
        ...

    def tell(self, message: Message) -> None:
        """Take a message to be told. Returns at once and never raises, whatever becomes of it."""
        ...

    def stands(self, standing: Standing | None) -> None:
        """Hear how things stand now; None while it is not in use. Returns at once and never raises."""
        ...

    async def attempt(self, message: Message, *, quiet: bool) -> bool:
        """Try to tell now, once; False when it is to be left alone. `quiet` for the daily trial.

        Raises:
            NotTold: it failed; within a deadline.
        """
        ...

    async def run(self) -> None:
        """Carry what was taken, for ever; ends by being cancelled and leaves nothing behind."""
        ...

    def close(self) -> None:
        """Switch off and let go."""
        ...
