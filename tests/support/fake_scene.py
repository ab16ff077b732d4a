"""A scripted view for pages: an invented studio with three paintings, a heat step and the room."""

from __future__ import annotations

import copy
from typing import Any, cast

from monitor.link.view import ChannelView, LimitView, PlaceView, ProbeView, StepView, View, WarningView

NOW_MS = 1_777_891_320_000  # 2026-05-04T10:42:00Z
BENCH = "north bench"
HEAT_STEP = "s2"


def channel(name: str, words: str, symbol: str, value: float | None, quality: str = "good") -> ChannelView:
    """A channel's last reading at NOW_MS."""
    quantity = name.rpartition(".")[2]
    unit = {"°C": "degC", "%": "%RH"}[symbol]
    return {
        "channel": name, "quantity": quantity, "words": words, "symbol": symbol, "unit": unit,
        "value": value, "at_ms": NOW_MS, "quality": quality,
    }  # fmt: skip


def probes() -> list[ProbeView]:
    """A room probe, a spatula and a second room probe with a fault."""
    return [
        {"probe": "room", "bench": BENCH, "part": "sht45", "source": "simulated", "simulated": True, "fault": None,
         "channels": [channel("room.air_temperature", "air temperature", "°C", 20.6),
                      channel("room.relative_humidity", "relative humidity", "%", 52.2)]},
        {"probe": "spatula", "bench": BENCH, "part": "max31856", "source": "simulated", "simulated": True,
         "fault": None, "channels": [channel("spatula.tool_temperature", "tool temperature", "°C", 78.4)]},
        {"probe": "store room", "bench": "long table", "part": "sht45", "source": "simulated", "simulated": True,
         "fault": {"quality": "checksum", "words": "what it sends is garbled on the way",
                   "do": "Look at its lead and plug.", "since_ms": NOW_MS - 65_000},
         "channels": [channel("store room.air_temperature", "air temperature", "°C", None, "checksum"),
                      channel("store room.relative_humidity", "relative humidity", "%", None, "checksum")]},
    ]  # fmt: skip


def limit(key: str, quantity: str, words: str, side: str, at: float, channels: list[str], **more: Any) -> LimitView:
    """A limit with one level, a proposal of ours unless told otherwise."""
    level = {"at": at, "priority": "high", "source": "project", "locator": "", "grade": "proposal", "note": ""}
    level.update({k: v for k, v in more.items() if k in level})
    return cast(LimitView, {
        "key": key, "quantity": quantity, "words": words, "side": side, "deadband": 1.0, "off": False,
        "symbol": "%" if quantity == "relative_humidity" else "°C", "levels": [level], "channels": channels,
        "causes": [], "consequence": "", "what_to_do": "",
        **{k: v for k, v in more.items() if k not in level},
    })  # fmt: skip


def room_step() -> StepView:
    """The watch of the room."""
    humidity, warmth = ["room.relative_humidity"], ["room.air_temperature"]
    return {
        "id": "s1", "sheet": "room", "title": "Watch of the room", "painting": None, "bench": BENCH,
        "stage": "watch", "stage_words": "watch", "next_stage": None, "next_stage_words": "", "revision": 1,
        "started_ms": NOW_MS - 86_400_000, "started_by": None,
        "bindings": [{"role": "room", "probe": "room", "touches": "hangs free", "channels": humidity + warmth}],
        "limits": [limit("too-damp", "relative_humidity", "relative humidity, at most", "high", 60, humidity),
                   limit("too-dry", "relative_humidity", "relative humidity, at least", "low", 40, humidity)],
        "computed": [], "places": None, "estimates": [], "estimate_note": "", "answers": [],
        "say": {"sentence": "The room is watched.", "why": "", "facts": [], "cautions": [],
                "control": {"words": "", "do": "", "body": {}, "calls": False}},
    }  # fmt: skip


def place(number: int, verdict: str | None = None, reason: str = "", passes: int = 1) -> PlaceView:
    """A place of the seam."""
    return {"place": number, "verdict": verdict, "reason": reason, "passes": passes if verdict else 0,
            "seconds": 10.4 if verdict else 0.0, "tool_low": 77.1 if verdict else None,
            "tool_high": 79.6 if verdict else None}  # fmt: skip


def places() -> list[PlaceView]:
    """Sixteen places, six of them worked, every verdict among them."""
    told = {
        1: ("reached", ""), 2: ("reached", ""), 3: ("over the limit set", "at the face for 3 s"),
        4: ("not reached", "lifted after 4 s"), 5: ("not known", "the lead was open"), 6: ("reached", ""),
    }  # fmt: skip
    return [place(n, *told.get(n, (None, ""))) for n in range(1, 17)]


def heat_step() -> StepView:
    """Strip-lining, side B, place 7."""
    tool = ["spatula.tool_temperature"]
    return {
        "id": HEAT_STEP, "sheet": "heat-seal-spatula", "title": "Strip-lining with a heated spatula",
        "painting": paintings()[0], "bench": BENCH, "stage": "places", "stage_words": "places",
        "next_stage": "cooling", "next_stage_words": "Begin cooling", "revision": 31,
        "started_ms": NOW_MS - 1_260_000, "started_by": "MK",
        "bindings": [{"role": "tool", "probe": "spatula", "channels": tool,
                      "touches": "clamped to the outside of the shank, above the sole"}],
        "limits": [limit("tool-hot", "tool_temperature", "tool temperature, at most", "high", 85, tool),
                   limit("film-cold", "bond_line_temperature", "temperature at the adhesive, at least", "low", 65, [],
                         source="conserving-canvas-19", locator="fig. 19.4", grade="cited"),
                   limit("film-hot", "bond_line_temperature", "temperature at the adhesive, at most", "high", 75, [])
                   ],
        "computed": [],
        "places": {"side": "B", "count": 16, "here": 7, "pass_no": 1, "in_contact": True,
                   "contact_since_ms": NOW_MS - 4_000, "workable": True, "places": places()},
        "estimates": [{"depth": "bond_line", "words": "at the adhesive", "p05": 62.6, "p50": 66.1, "p95": 69.2,
                       "at_ms": NOW_MS},
                      {"depth": "face", "words": "at the face", "p05": 45.1, "p50": 48.0, "p95": 51.3,
                       "at_ms": NOW_MS}],
        "estimate_note": "Not yet tried on a mock-up: a band, and no verdict.",
        "answers": [["What lies in front?", "bare margin"]],
        "say": {"sentence": "Hold still.", "why": "Then lift and put the cold weight on place 7.",
                "facts": [["cooling", "places 5, 6"], ["in front", "ground only"]],
                "control": {"words": "Mark: lifted", "do": "mark", "body": {"step": HEAT_STEP, "mark": "up"},
                            "calls": True},
                "cautions": ["Hot tool: rest it only on its stand. This is no safety device."]},
    }  # fmt: skip


def paintings() -> list[Any]:
    """Three invented paintings."""
    return [
        {"number": "23-09", "name": "Harbour at low tide", "support": "linen, 61 x 92 cm",
         "beware": ["loose paint along the lower edge"]},
        {"number": "24-02", "name": "Winter road", "support": "linen, 50 x 70 cm, glue-paste lined", "beware": []},
        {"number": "23-21", "name": "Saint with a lamp", "support": "coarse canvas, 120 x 90 cm",
         "beware": ["wax earlier", "no water"]},
    ]  # fmt: skip


def warning(**more: Any) -> WarningView:
    """The tool is hotter than the limit set."""
    base = {
        "step": HEAT_STEP, "limit": "tool-hot", "channel": "spatula.tool_temperature", "state": "unacknowledged",
        "words": "not yet seen", "priority": "high", "painting": "Harbour at low tide", "bench": BENCH,
        "sentence": "The spatula on Harbour at low tide is at 88 °C, 85 °C at most.",
        "what_to_do": "Lift it and turn the tool down.", "causes": ["dial set too high", "thermostat swings wide"],
        "consequence": "Film may run through the canvas.", "side": "high", "at": 85.0,
        "began_ms": NOW_MS - 72_000, "since_ms": NOW_MS - 12_000, "over": False,
        "may_be_seen": True, "silent_until_ms": None,
    }  # fmt: skip
    return cast(WarningView, {**base, **more})


def ways() -> list[dict[str, Any]]:
    """A lamp that works, a telephone of the night that does not, and a broker nobody has tried."""
    base = {"least": "low", "when": "always", "hours": "", "daily_at": "09:00", "state": "works", "reason": "",
            "given_up": 0, "trying": False, "tried": None}  # fmt: skip
    return [
        {**base, "way": "lamp", "name": "lamp at the door", "words": "lamp: steady while a warning stands",
         "tried": {"at_ms": NOW_MS - 3_600_000, "outcome": "told", "reason": "", "daily": True}},
        {**base, "way": "message", "name": "phone of MK", "words": "message to a phone or a mailbox",
         "least": "high", "when": "overnight", "hours": "19:00 to 07:00", "daily_at": "", "state": "does not work",
         "reason": "no answer from the service in 30 s. See that this machine reaches it", "given_up": 2,
         "tried": {"at_ms": NOW_MS - 60_000, "outcome": "not told",
                   "reason": "no answer from the service in 30 s. See that this machine reaches it", "daily": False}},
        {**base, "way": "mqtt", "name": "house", "words": "MQTT broker: how the board stands, and each warning",
         "state": "not tried"},
    ]  # fmt: skip


def view(**more: Any) -> View:
    """The whole view; keyword arguments replace its keys."""
    whole: dict[str, Any] = {
        "at_ms": NOW_MS, "revision": 40, "studio": "Studio on the quay", "simulated": True, "time_known": True,
        "stored_at_ms": NOW_MS, "benches": [BENCH, "long table"], "probes": probes(), "paintings": paintings(),
        "steps": [room_step(), heat_step()], "warnings": [warning()],
        "sheets": [
            {"sheet": "heat-seal-spatula", "title": "Strip-lining with a heated spatula",
             "roles": {"tool": ["tool_temperature"], "room": ["air_temperature", "relative_humidity"]},
             "has_places": True, "asks_painting": True,
             "asks": [{"key": "in-front", "text": "What lies in front?", "choices": ["bare margin", "paint"]},
                      {"key": "lot", "text": "Which lot?", "choices": []}]},
            {"sheet": "room", "title": "Watch of the room", "roles": {"room": ["air_temperature"]},
             "has_places": False, "asks_painting": False, "asks": []},
        ],
        "ways": ways(),
    }  # fmt: skip
    return cast(View, copy.deepcopy({**whole, **more}))
