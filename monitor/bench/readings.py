"""A reading and its quality. A bad reading is still a reading: a gap with its reason."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class Quality(IntEnum):
    """What the driver knew about a reading. The numbers are stored and never change."""

    GOOD = 0
    CLIPPED = 1
    ABSENT = 10
    BUS = 11
    CHECKSUM = 12
    OPEN = 13
    SHORTED = 14
    OUT_OF_RANGE = 15
    RESET = 16

    @property
    def word(self) -> str:
        """Give the word written in files and shown on screens."""
        return self.name.lower().replace("_", " ")

    @property
    def is_gap(self) -> bool:
        """Tell whether a reading of this quality carries no value."""
        return self >= Quality.ABSENT


QUALITY_WORDS: dict[str, Quality] = {q.word: q for q in Quality}


@dataclass(frozen=True, slots=True)
class Reading:
    """One value of one channel at one instant.

    Attributes:
        mono_ms: instant on the monotonic scale of the running boot.
        channel: name of the channel, `probe.quantity`.
        value: in the quantity's unit, on its grid; None for a gap. A clipped reading
            keeps its bound as value: beyond every limit on that side, in no mean.
        quality: what the driver knew.
    """

    mono_ms: int
    channel: str
    value: float | None
    quality: Quality = Quality.GOOD

    def __post_init__(self) -> None:
        if (self.value is None) != (self.quality >= 10):
            raise ValueError(f"{self.channel}: value {self.value} does not go with quality {self.quality!r}")
