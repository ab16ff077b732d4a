"""When a lamp or a sounder is on: told apart by rhythm, for a plain sounder has one pitch."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Rhythm:
    """On and off in turn, beginning with on.

    Attributes:
        beats: lengths in ms; an odd number of them, so that it ends with on. Empty: on for ever.
        rest_ms: off for so long before it begins again; None to play it once.
    """

    beats: tuple[int, ...] = ()
    rest_ms: int | None = None

    @property
    def length_ms(self) -> int:
        """Give how long it takes once, without the rest."""
        return sum(self.beats)

    def at(self, ms: int) -> tuple[bool, int | None]:
        """Give whether it is on, `ms` after it began, and in how many ms that changes; None for never."""
        if not self.beats:
            return True, None
        if self.rest_ms is not None:
            ms %= self.length_ms + self.rest_ms
        for index, beat in enumerate(self.beats):
            if ms < beat:
                return index % 2 == 0, beat - ms
            ms -= beat
        return False, None if self.rest_ms is None else self.rest_ms - ms


STEADY = Rhythm()
BLINKING = Rhythm((500,), 500)
DOUBLE = Rhythm((70, 170, 70))  # something is due: two short knocks, once
INSISTENT = Rhythm((220, 130, 220, 130, 220), 900)  # a limit is passed: three long ones, again and again
SECOND = Rhythm((1000,))
TICK = Rhythm((30,))  # the daily trial of a sounder
