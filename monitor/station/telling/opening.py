"""Makes the ways a studio configures; a library that only one of them needs is loaded only for that one."""

from __future__ import annotations

import random

from monitor.clock import Clock
from monitor.station.telling.by_message import MessageWay
from monitor.station.telling.health import Health, Noting
from monitor.station.telling.on_line import Lamp, Sounder
from monitor.station.telling.waiting import Backoff, Waiting
from monitor.station.telling.way import Way
from monitor.ways import BrokerConfig, LineConfig, MessageConfig, TellConfig, WayConfig

KINDS = {"lamp": Lamp, "sounder": Sounder}


def open_ways(tell: TellConfig, board: str, clock: Clock, note: Noting) -> list[Way]:
    """Make every way; one that can't be had now says so through its health and does not keep the others back."""
    return [_open(config, tell, board, clock, note) for config in tell.ways]


def _open(config: WayConfig, tell: TellConfig, board: str, clock: Clock, note: Noting) -> Way:
    health = Health(config, note, clock.mono_ms)
    if isinstance(config, LineConfig):
        way = KINDS[config.way](config, health)
        way.open()
        return way
    waiting, backoff = Waiting(health.gave_up, clock.mono_ms), Backoff(random.random)
    if isinstance(config, MessageConfig):
        return MessageWay(config, health, tell, waiting, backoff)
    assert isinstance(config, BrokerConfig)
    from monitor.station.telling.by_mqtt import MqttWay

    return MqttWay(config, health, board, waiting, backoff)
