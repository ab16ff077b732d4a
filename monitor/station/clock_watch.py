"""Does the board know the time, and has the wall clock been stepped?"""

from __future__ import annotations

from dataclasses import replace

from monitor.clock import Clock, Segment, from_iso

EARLIEST_MS = from_iso("2026-01-01T00:00:00Z")  # no reading of this program can be older
STEP_MS = 2000  # a larger change of wall minus monotonic time begins a new segment


class ClockWatch:
    """Compares wall and monotonic clock.

    Args:
        clock: the clock that is watched.
        newest_stored_ms: UTC of the newest thing stored, None for an empty store. A board
            without a battery clock starts earlier than that and so does not know the time.
    """

    def __init__(self, clock: Clock, newest_stored_ms: int | None) -> None:
        self._clock = clock
        self._earliest_ms = max(EARLIEST_MS, newest_stored_ms or 0)

    def knows_time(self) -> bool:
        """Tell whether the wall clock can be right."""
        return self._clock.wall_ms() >= self._earliest_ms

    def offset_ms(self) -> int:
        """Give UTC minus monotonic time, ms."""
        return self._clock.wall_ms() - self._clock.mono_ms()

    def first(self, number: int, boot: int) -> Segment:
        """Give the segment that begins now."""
        known = self.knows_time()
        return Segment(number, boot, self._clock.mono_ms(), self.offset_ms() if known else 0, known)

    def dated(self, segment: Segment) -> Segment | None:
        """Give an undated segment with its offset, once the time is known; None otherwise."""
        if segment.known or not self.knows_time():
            return None
        return replace(segment, offset_ms=self.offset_ms(), known=True)

    def stepped(self, segment: Segment) -> bool:
        """Tell whether the wall clock has left the segment."""
        return segment.known and abs(self.offset_ms() - segment.offset_ms) > STEP_MS
