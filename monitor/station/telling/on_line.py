"""Lamp and sounder: they act when something is decided, and wait for neither network nor disk."""

from __future__ import annotations

import asyncio
from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import ClassVar

from monitor.station.telling.health import Health
from monitor.station.telling.line import open_line
from monitor.station.telling.message import DUE, OVER, PASSED, TEST, Message, NotTold
from monitor.station.telling.player import Line, LoopTimer, Player, Timer
from monitor.station.telling.rhythm import BLINKING, DOUBLE, INSISTENT, SECOND, STEADY, TICK, Rhythm
from monitor.station.telling.way import Standing
from monitor.ways import LineConfig


class OnLine(ABC):
    """A way on one line.

    Args:
        config, health: which line, and how it fares.
        opening: gives the line; NotTold when it can't be had. It is tried again with each message.
        timer: the time of rhythms.
    """

    words: ClassVar[str]
    tried: ClassVar[Rhythm]
    tried_quietly: ClassVar[Rhythm]
    at_once = True

    def __init__(
        self,
        config: LineConfig,
        health: Health,
        opening: Callable[[LineConfig], Line] = open_line,
        timer: Timer | None = None,
    ) -> None:
        self.config = config
        self.health = health
        self._opening = opening
        self._timer = timer or LoopTimer()
        self._player: Player | None = None
        self._lasts: Rhythm | None = None

    @property
    def key(self) -> str:
        """Give its kind."""
        return self.config.way

    def open(self) -> None:
        """Take the line, if it can be had."""
        try:
            self._take()
        except NotTold as error:
            self.health.failed(error.reason)

    def tell(self, message: Message) -> None:
        """Play what the message asks for; a line that was lost is tried again first."""
        self.open()
        self._hear(message)
        self._play()
        if message.kind in (DUE, TEST):
            self._once(DOUBLE if message.kind == DUE else self.tried)

    def stands(self, standing: Standing | None) -> None:
        """Follow how things stand; None while it is not in use."""
        self._follow(standing)
        self._play()

    async def attempt(self, message: Message, *, quiet: bool) -> bool:
        """Switch it on for a moment, always; NotTold when the line can't be had or does not follow."""
        del message
        try:
            self._take()
        except NotTold as error:
            self.health.failed(error.reason)
            raise
        self._once(self.tried_quietly if quiet else self.tried)
        if self._player is None:
            raise NotTold(self.config.name, self.health.reason, "a line that can be switched", "")
        self.health.worked()
        return True

    async def run(self) -> None:
        """Do nothing: the player acts by itself."""
        await asyncio.Event().wait()

    def close(self) -> None:
        """Switch off and let go."""
        if self._player is not None:
            self._player.close()
            self._player = None

    @abstractmethod
    def _hear(self, message: Message) -> None:
        """Take in what a message changes in what lasts."""

    @abstractmethod
    def _follow(self, standing: Standing | None) -> None:
        """Take in what lasts now."""

    def _play(self) -> None:
        if self._player is not None:
            self._player.last(self._lasts)

    def _once(self, rhythm: Rhythm) -> None:
        if self._player is not None:
            self._player.once(rhythm)

    def _take(self) -> None:
        if self._player is None:
            self._player = Player(self._opening(self.config), self._timer, self._broken)
            self.health.worked()
            self._play()

    def _broken(self, error: OSError) -> None:
        player, self._player = self._player, None
        if player is not None:
            player.close()
        config, why = self.config, (error.strerror or str(error)).lower()
        self.health.failed(f"/dev/{config.chip} line {config.line} cannot be switched: {why}")


class Lamp(OnLine):
    """Steady while a warning stands, blinking while one waits to be seen, twice short when something is due."""

    words = "lamp: steady while a warning stands, blinking until it is seen"
    tried = tried_quietly = SECOND

    def _hear(self, message: Message) -> None:
        if message.kind == PASSED:
            self._lasts = BLINKING

    def _follow(self, standing: Standing | None) -> None:
        warnings = standing.above(self.config.least).warnings if standing else ()
        self._lasts = BLINKING if any(w.unseen for w in warnings) else STEADY if warnings else None


class Sounder(OnLine):
    """Insistent while a warning it was told of is passed and unseen; a soft double when something is due."""

    words = "sounder: a double knock when something is due, insistent when a limit is passed, until it is seen"
    tried = Rhythm((70, 170, 70, 700, 220, 130, 220, 130, 220))  # both, so that they can be told apart
    tried_quietly = TICK

    def __init__(
        self,
        config: LineConfig,
        health: Health,
        opening: Callable[[LineConfig], Line] = open_line,
        timer: Timer | None = None,
    ) -> None:
        super().__init__(config, health, opening, timer)
        self._for: set[str] | None = None  # None: whatever sounds when it is first told how things stand

    def _hear(self, message: Message) -> None:
        if message.kind == PASSED:
            self._for = (self._for or set()) | {message.warning}
            self._lasts = INSISTENT
        elif message.kind == OVER and self._for is not None:
            self._for.discard(message.warning)

    def _follow(self, standing: Standing | None) -> None:
        if standing is None:
            self._for = self._lasts = None
            return
        sounding = {w.warning for w in standing.above(self.config.least).warnings if w.sounds}
        self._for = sounding if self._for is None else self._for & sounding
        self._lasts = INSISTENT if self._for else None
