"""Ways to be told as a studio configures them: lamp, sounder, message, MQTT; the night and the daily trial."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo

ALWAYS, OVERNIGHT, BY_DAY = "always", "overnight", "by day"
WHEN = (ALWAYS, OVERNIGHT, BY_DAY)
PLAIN_PORT, TLS_PORT = 1883, 8883


@dataclass(frozen=True)
class WayConfig:
    """A way to be told.

    Attributes:
        way: lamp, sounder, message or mqtt.
        name: the studio's own name for it.
        least: the least priority it is told of.
        when: one of `WHEN`.
    """

    way: str
    name: str
    least: str = "low"
    when: str = ALWAYS


@dataclass(frozen=True)
class LineConfig(WayConfig):
    """A lamp or a sounder: line `line` of GPIO chip `chip`; `active_low` when the low level switches it on."""

    chip: str = "gpiochip0"
    line: int = 0
    active_low: bool = False


@dataclass(frozen=True)
class MessageConfig(WayConfig):
    """A phone or a mailbox: the file that holds the service's address, and whether the daily trial uses it."""

    url_file: str = ""
    self_test: bool = False


@dataclass(frozen=True)
class BrokerConfig(WayConfig):
    """An MQTT broker; `topic` stands before every topic, `ca_file` "" trusts what the machine trusts."""

    host: str = ""
    port: int = PLAIN_PORT
    topic: str = "benchblotter"
    user: str = ""
    password_file: str = ""
    tls: bool = False
    ca_file: str = ""


@dataclass(frozen=True)
class Night:
    """The hours of a night, in minutes of the local day; it may pass midnight."""

    from_minute: int = 19 * 60
    to_minute: int = 7 * 60

    def holds(self, minute: int) -> bool:
        """Tell whether a minute of the day lies in the night; its first minute does, its last does not."""
        if self.from_minute < self.to_minute:
            return self.from_minute <= minute < self.to_minute
        return minute >= self.from_minute or minute < self.to_minute


@dataclass(frozen=True)
class TellConfig:
    """All that is configured on being told; `time_zone` "" is the machine's own."""

    ways: tuple[WayConfig, ...] = ()
    night: Night = Night()
    self_test_minute: int = 9 * 60
    time_zone: str = ""

    def local(self, at_ms: int) -> datetime:
        """Give the studio's local time of a UTC instant, ms."""
        return datetime.fromtimestamp(at_ms / 1000, UTC).astimezone(self.zone())

    def hours(self, way: WayConfig) -> str:
        """Write the hours a way is in use, for instance `19:00 to 07:00`; "" for one that always is."""
        night = (self.night.from_minute, self.night.to_minute)
        begin, end = night if way.when == OVERNIGHT else night[::-1]
        return "" if way.when == ALWAYS else f"{_clock(begin)} to {_clock(end)}"

    @property
    def self_test_at(self) -> str:
        """Write when the daily trial is, local time."""
        return _clock(self.self_test_minute)

    def zone(self) -> tzinfo | None:
        """Give the studio's time zone, None for the machine's own."""
        return ZoneInfo(self.time_zone) if self.time_zone else None

    def tells_now(self, way: WayConfig, at_ms: int | None) -> bool:
        """Tell whether a way is in use at an instant; it is whenever the time is not known."""
        if way.when == ALWAYS or at_ms is None:
            return True
        now = self.local(at_ms)
        return self.night.holds(now.hour * 60 + now.minute) is (way.when == OVERNIGHT)


def _clock(minute: int) -> str:
    return f"{minute // 60:02d}:{minute % 60:02d}"
