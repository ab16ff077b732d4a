"""The history of warnings, read from the day-book's own rows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from monitor.clock import Segment
from monitor.report.outside import HEARD, HUSHED
from monitor.report.record import Row
from monitor.report.warning_history import NEVER, NO_READING, SEEN, SILENCED, Given, History, Key, Moment, Stretch

OFF = HUSHED["alarm_suppressed"]
KINDS = (
    "alarm_raised", "alarm_chatters", "alarm_returned", "alarm_seen", "alarm_shelved", "alarm_unshelved",
    "alarm_suppressed", "alarm_out_of_service", "alarm_released", "alarm_reset", "suppress_asked", "step_asked",
    "step_started", "stage_started", "step_finished", "segment_started", "station_stopped",
)  # fmt: skip


def read_history(rows: Iterable[Row], segments: Sequence[Segment], newest: Moment | None = None) -> History:
    """Read rows of `KINDS`, from the day-book's first on.

    Args:
        segments: all clock segments; a row written before the time was known is dated through its own.
        newest: instant of the newest reading, up to which the station ran for certain.
    """
    reader = _Reader({s.segment: s for s in segments})
    for row in rows:
        reader.take(row)
    return reader.done(newest)


class _Reader:
    """Follows each warning from row to row."""

    def __init__(self, segments: dict[int, Segment]) -> None:
        self._segments = segments
        self._history = History()
        self._standing: dict[Key, Stretch] = {}
        self._hushes: dict[Key, Stretch] = {}
        self._pending: dict[Key, list[Given]] = {}
        self._heard: dict[Key, Moment] = {}
        self._asked_off: dict[Key, Moment] = {}
        self._sheets: dict[str, str] = {}
        self._stages: dict[str, dict[str, list[str]]] = {}
        self._began: Moment | None = None
        self._last: Moment | None = None
        self._kinds: dict[str, Callable[[Row, Key, Moment], None]] = {
            "alarm_raised": self._raised, "alarm_chatters": self._chatters,
            "alarm_returned": self._returned, "alarm_seen": self._seen,
            "alarm_reset": self._reset, "suppress_asked": self._suppress_asked, "step_asked": self._step_asked,
            "step_started": self._step_started, "stage_started": self._stage_started,
            "step_finished": self._step_finished, "segment_started": self._segment_started,
            "station_stopped": self._stopped,
            **dict.fromkeys(HUSHED, self._hush), **dict.fromkeys(HEARD, self._hear),
        }  # fmt: skip

    def take(self, row: Row) -> None:
        """Take the next row; one of another kind tells nothing."""
        at_ms, segment = row["at_ms"], self._segments.get(row["segment"])
        if at_ms is None and segment is not None:
            at_ms = segment.at_ms(row["mono_ms"])
        body, now = row["body"], Moment(row["boot"], row["mono_ms"], at_ms)
        key = (row["step"] or body.get("step") or "", body.get("limit", ""), body.get("channel", ""))
        follow = self._kinds.get(row["kind"])
        if follow is not None:
            follow(row, key, now)
        self._last = now

    def done(self, newest: Moment | None) -> History:
        """Give what was read."""
        if newest is not None and (self._last is None or newest[:2] > self._last[:2]):
            self._last = newest
        if self._began is not None and self._last is not None:
            self._history.ran.append((self._began, self._last))
        self._history.last = self._last
        return self._history

    def _raised(self, row: Row, key: Key, now: Moment) -> None:
        body, sheet = row["body"], self._sheets.get(key[0], "")
        given = Given(key, sheet, now, body["at"], body["side"], body["priority"])
        given.anew = self._heard.pop(key, None) == now
        given.again = body.get("why") == "still stands"
        given.beside = any(
            other.key[0] != key[0] and other.key[2] == key[2] and other.side == given.side
            for other in reversed(self._history.given[-50:]) if other.moment == now
        )  # fmt: skip
        self._history.given.append(given)
        self._pending.setdefault(key, []).append(given)
        if key not in self._standing:
            self._standing[key] = Stretch(key, "stands", now)
            self._history.stood.append(self._standing[key])

    def _chatters(self, row: Row, key: Key, now: Moment) -> None:
        self._history.chattered.append((key, now, row["body"]["times"]))

    def _returned(self, row: Row, key: Key, now: Moment) -> None:
        stood = self._standing.pop(key, None)
        if stood is not None:
            stood.end, stood.cleared = now, not stood.touched
        if row["body"]["state"] == "normal":
            self._resolve(key, NEVER)

    def _seen(self, row: Row, key: Key, now: Moment) -> None:
        del row
        for given in self._pending.pop(key, []):
            given.outcome, given.seen_after_ms = SEEN, given.moment.until(now)
        if key in self._standing:
            self._standing[key].touched = True

    def _reset(self, row: Row, key: Key, now: Moment) -> None:
        del row, now
        self._resolve(key, NEVER)

    def _hush(self, row: Row, key: Key, now: Moment) -> None:
        put_off = row["kind"] == "alarm_suppressed"
        if row["body"].get("cause") == "no reading":  # it is the same warning when its probe reads again
            self._begin_hush(key, NO_READING, now)
            return
        self._resolve(key, NEVER if put_off else SILENCED)
        self._end(self._standing, key, now)
        self._begin_hush(key, HUSHED[row["kind"]], now, by_stage=put_off and self._asked_off.get(key) != now)

    def _begin_hush(self, key: Key, what: str, now: Moment, *, by_stage: bool = False) -> None:
        self._end(self._hushes, key, now)
        self._hushes[key] = Stretch(key, what, now, by_stage=by_stage)
        self._history.hushed.append(self._hushes[key])

    def _hear(self, row: Row, key: Key, now: Moment) -> None:
        self._end(self._hushes, key, now)
        self._heard[key] = now
        if row["body"]["state"] == "normal":  # over while nothing was read
            self._end(self._standing, key, now)
            self._resolve(key, NEVER)
        elif row["body"]["state"] == "suppressed_by_design":
            self._begin_hush(key, OFF, now, by_stage=True)

    def _end(self, running: dict[Key, Stretch], key: Key, now: Moment) -> None:
        ended = running.pop(key, None)
        if ended is not None:
            ended.end = now

    def _suppress_asked(self, row: Row, key: Key, now: Moment) -> None:
        del row
        self._asked_off[key] = now

    def _step_asked(self, row: Row, key: Key, now: Moment) -> None:
        del key, now
        sheet = row["body"]["sheet"]
        self._stages[row["body"]["step"]] = {stage["key"]: stage["limits"] for stage in sheet["stages"]}

    def _step_started(self, row: Row, key: Key, now: Moment) -> None:
        del now
        self._sheets[key[0]] = row["body"]["sheet"]

    def _stage_started(self, row: Row, key: Key, now: Moment) -> None:
        """End what was off because of the stage before; the day-book has no row of its own for that."""
        listed = self._stages.get(key[0], {}).get(row["body"]["stage"], [])
        for other in [k for k, s in self._hushes.items() if k[0] == key[0] and s.by_stage and k[1] in listed]:
            self._hushes.pop(other).end = now

    def _step_finished(self, row: Row, key: Key, now: Moment) -> None:
        """End all that was of the step; being put off by its end is no silence."""
        del row
        for running in (self._standing, self._hushes):
            for other in [k for k in running if k[0] == key[0]]:
                running.pop(other).end = now
        self._history.hushed = [s for s in self._history.hushed if s.key[0] != key[0] or s.begin != now]
        for other in [k for k in self._pending if k[0] == key[0]]:
            self._resolve(other, NEVER)

    def _segment_started(self, row: Row, key: Key, now: Moment) -> None:
        del key
        if self._began is not None and self._began.boot == now.boot:
            if row["body"]["reason"] == "clock set":
                self._history.clock_set.append(now)
            return
        if self._began is not None and self._last is not None:
            self._history.ran.append((self._began, _ended(self._last, now, row["body"]["gap_ms"])))
        self._began = now

    def _stopped(self, row: Row, key: Key, now: Moment) -> None:
        del row, key
        if self._began is not None:
            self._history.ran.append((self._began, now))
        self._began = None

    def _resolve(self, key: Key, outcome: str) -> None:
        for given in self._pending.pop(key, []):
            given.outcome = outcome


def _ended(last: Moment, now: Moment, gap_ms: int | None) -> Moment:
    """Give when an earlier start ended that was not stopped in order: by the gap, or by its last row."""
    if gap_ms is None or now.at_ms is None or last.at_ms is None:
        return last
    later_ms = max(0, now.at_ms - gap_ms - last.at_ms)
    return Moment(last.boot, last.mono_ms + later_ms, last.at_ms + later_ms)
