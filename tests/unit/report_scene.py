"""A day's work for tests of report and export, written straight into a real store.

An invented painting; side B of 6 places: place 2 lifted early, place 3 worked twice, place 4 marked
and taken back, an open lead on place 5, place 6 untouched; a damp quarter of an hour in the room.
Meanwhile another painting is worked on at another bench, which must appear nowhere.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from monitor.bench.outputs import Draft, Estimate
from monitor.bench.readings import Quality, Reading
from monitor.bench.sheets import Level, Limit, Sheet, Stage
from monitor.clock import Segment, from_iso
from monitor.store.batch import Batch
from monitor.store.declaring import Series
from monitor.store.migrating import migrate
from monitor.store.store import Store

START_MS = from_iso("2026-05-04T09:00:00Z")
BENCH, OTHER = "north bench", "long table"
TOOL, DAMP, WARM = "spatula.tool_temperature", "room.relative_humidity", "room.air_temperature"
FAR = "tacking iron.tool_temperature"
STEP, ROOM, OTHER_STEP = "s2", "s1", "s3"
BEGUN_MS, ENDED_MS = 60_000, 660_000
SPIKE_MS, SPIKE_C = 300_000, 88.5
GAP_FROM_MS, GAP_TO_MS = 455_000, 462_000
RECALLED = {"source": "memory", "grade": "recalled"}
OURS = {"source": "project", "locator": "", "grade": "proposal", "note": ""}
SANDWICH = {
    "words": "linen strip on canvas",
    "film_words": "EVA heat-seal film, formula of 2010",
    "min_c": 70, "max_c": 76, "ceiling_c": 50, "hold_s": None,
    "conductance_w_m2k": {"low": 60, "likely": 150, "high": 500, **OURS, **RECALLED},
    "figures": {
        "min_c": {**OURS, "source": "conserving-canvas-19", "locator": "fig. 19.4", "grade": "cited",
                  "note": "nap bond, hot table, held 10 min"},
        "max_c": OURS,
        "ceiling_c": {**OURS, "note": "for sound old oil paint"},
        "hold_s": {**OURS, "source": "own-test", "grade": "own test"},
    },
    "layers": [
        {"words": "linen strip", "thickness_um": 400, "conductivity_mw_mk": 70,
         "source": "project", "grade": "proposal",
         "figures": {"thickness_um": {**OURS, "low": 300, "high": 800, "note": "measure your own linen"},
                     "conductivity_mw_mk": {**OURS, **RECALLED, "low": 50, "high": 120}}},
        {"words": "MDF board", "thickness_um": 18000, "conductivity_mw_mk": 130, "source": "project",
         "grade": "proposal"},
    ],
}  # fmt: skip
FACES = {1: ["35.0", "42.0", "51.2"], 3: ["36.0", "43.0", "52.0"]}
ANSWERS = [{"key": "what-lies-in-front", "text": "What lies in front of the strip?", "answer": "ground only"}]


@dataclass
class Words:
    """What a person wrote; tests put hostile text here."""

    painting: str = "Harbour at low tide"
    support: str = "linen, 61 x 92 cm"
    beware: list[str] = field(default_factory=lambda: ["loose paint along the lower edge"])
    note: str = "Telephone; tool on its stand meanwhile."
    touches: str = "in the shank, behind the sole"
    by: str = "MK"
    side: str = "B"


def limit(key: str, role: str, quantity: str, side: str, *levels: float) -> Limit:
    """A limit whose levels are proposals of ours."""
    made = tuple(Level(at, "high" if i else "low", "project", "proposal") for i, at in enumerate(levels))
    return Limit(key, role, quantity, side, 1.0, 2000, 2000, made)


def heat_sheet() -> Sheet:
    """The working sheet of the step."""
    hot = limit("tool-hot", "tool", "tool_temperature", "high", 85, 95)
    stage = Stage("places", "places", ("tool-hot",), has_contacts=True)
    return Sheet("heat-seal", "Strip-lining with a heated spatula", {"tool": ("tool_temperature",)}, (stage,),
                 {"tool-hot": hot})  # fmt: skip


def room_sheet() -> Sheet:
    """The watch of the room."""
    limits = {
        "too-damp": limit("too-damp", "room", "relative_humidity", "high", 60),
        "too-dry": limit("too-dry", "room", "relative_humidity", "low", 40),
    }
    stage = Stage("watch", "watch", tuple(limits))
    return Sheet("room", "Watch of the room", {"room": ("relative_humidity",)}, (stage,), limits, asks_painting=False)


def drafts(words: Words) -> list[Draft]:
    """Every day-book row of the day, in order of time."""
    rows = [*_opening(), *_step(words), *_contacts(words), *_room(), *_other()]
    return sorted(rows, key=lambda draft: draft.mono_ms)


def _opening() -> list[Draft]:
    sources = [
        {"probe": "spatula", "source": "simulated MAX31856 on spi-0.0, type K"},
        {"probe": "room", "source": "simulated SHT45 0A1B2C3D on i2c-1"},
    ]
    return [
        Draft("station_started", 0, {"version": "0.1.0", "engine": 1, "sources": sources}),
        Draft("segment_started", 0, {"segment": 1, "offset_ms": START_MS, "gap_ms": None, "reason": "start"}),
        *_begin(ROOM, room_sheet(), 10, BENCH, None, [_binding("room", "room", "hangs free", DAMP, WARM)]),
    ]


def _binding(role: str, probe: str, touches: str, *channels: str) -> dict[str, Any]:
    return {"role": role, "probe": probe, "touches": touches, "channels": list(channels)}


def _begin(
    step: str, sheet: Sheet, at: int, bench: str, painting: str | None, bindings: list[dict[str, Any]],
    by: str | None = None, side: str | None = None, places: int | None = None,
) -> list[Draft]:  # fmt: skip
    asked = {"step": step, "sheet": sheet.as_json(), "painting": painting, "bench": bench, "bindings": bindings,
             "side": side, "places": places, "sandwich": SANDWICH if side else None,
             "answers": ANSWERS if side else []}  # fmt: skip
    started = {"sheet": sheet.key, "title": sheet.title, "painting": painting, "stage": sheet.stages[0].key,
               "side": side, "places": places}  # fmt: skip
    return [
        Draft("step_asked", at, asked, step, bench, by, "command"),
        Draft("step_started", at, started, step, bench, by, "command"),
        *(Draft("binding_started", at, binding, step, bench, by, "command") for binding in bindings),
    ]


def _step(words: Words) -> list[Draft]:
    painting = {"number": "23-09", "name": words.painting, "support": words.support, "beware": words.beware}
    bindings = [_binding("tool", "spatula", words.touches, TOOL), _binding("room", "room", "hangs free", DAMP, WARM)]
    return [
        Draft("painting_added", 30_000, painting),
        *_begin(STEP, heat_sheet(), BEGUN_MS, BENCH, "23-09", bindings, words.by, words.side, 6),
        Draft("note_written", 290_000, {"text": words.note}, STEP, BENCH, words.by, "command"),
        Draft("step_finished", ENDED_MS, {"sheet": "heat-seal", "seconds": 600}, STEP, BENCH, words.by, "command"),
    ]


def _contacts(words: Words) -> list[Draft]:
    rows: list[Draft] = []
    for place, pass_no, at, lasted, band in (
        (1, 1, 90_000, 24_000, ["60.1", "63.4", "66.8"]),
        (2, 1, 130_000, 5_000, ["40.2", "43.0", "46.1"]),
        (3, 1, 170_000, 12_000, ["52.0", "55.0", "58.2"]),
        (3, 2, 210_000, 24_000, ["61.0", "64.2", "67.5"]),
        (4, 1, 340_000, 20_000, ["59.0", "62.0", "65.0"]),
        (5, 1, 450_000, 20_000, []),
    ):
        rows += _contact(words, place, pass_no, at, lasted, band)
    voided = {"side": words.side, "place": 4, "pass": 1, "probe": "spatula", "reason": "mark taken back"}
    fault = {"probe": "spatula", "channel": TOOL, "quality": "open", "from_mono_ms": GAP_FROM_MS}
    return [
        *rows,
        Draft("contact_voided", 365_000, voided, STEP, BENCH, words.by, "pedal"),
        Draft("probe_fault", GAP_FROM_MS + 1_000, fault, bench=BENCH),
        Draft("probe_restored", GAP_TO_MS, {"probe": "spatula", "channel": TOOL, "gap_ms": GAP_TO_MS - GAP_FROM_MS},
              bench=BENCH),
    ]  # fmt: skip


def _contact(words: Words, place: int, pass_no: int, at: int, lasted: int, band: list[str]) -> list[Draft]:
    here = {"side": words.side, "place": place, "pass": pass_no, "probe": "spatula"}
    gaps = 0 if band else 35
    read = {"readings": lasted // 200 - gaps, "gaps": gaps}
    tool = {"tool_low": f"{74 + place}.0", "tool_mean": f"{75 + pass_no}.0", "tool_high": f"{76 + place}.5"}
    ended = {**here, "ended_by": "mark", "milliseconds": lasted, **read, **tool}
    reason = "not yet tried on a mock-up" if band else "no reading from the tool for 7.0 s"
    judged = {
        "side": words.side, "place": place, "pass": pass_no, "verdict": "not known", "reason": reason,
        "bond_line": band, "face": FACES.get(place, []) if band else [],
    }  # fmt: skip
    return [
        Draft("contact_started", at, here, STEP, BENCH, words.by, "pedal"),
        Draft("contact_ended", at + lasted, ended, STEP, BENCH, words.by, "pedal"),
        Draft("place_judged", at + lasted, judged, STEP, BENCH),
    ]


def _room() -> list[Draft]:
    warning = {"step": ROOM, "limit": "too-damp", "channel": DAMP}
    raised = {**warning, "quantity": "relative_humidity", "side": "high", "at": "60", "value": "61.20",
              "priority": "low", "source": "project", "grade": "proposal", "locator": ""}  # fmt: skip
    return [
        Draft("alarm_raised", 400_000, raised, ROOM, BENCH),
        Draft("alarm_seen", 420_000, {**warning, "state": "acknowledged"}, ROOM, BENCH, "TB", "browser:1"),
        Draft("alarm_returned", 560_000, {**warning, "value": "57.90", "state": "normal"}, ROOM, BENCH),
    ]


def _other() -> list[Draft]:
    painting = {"number": "24-02", "name": "Winter road", "support": "linen", "beware": []}
    tools = [_binding("tool", "tacking iron", "in the iron", FAR)]
    stale = {"probe": "tacking iron", "channel": FAR, "last_mono_ms": 205_000}
    begun = _begin(OTHER_STEP, heat_sheet(), 100_000, OTHER, "24-02", tools, "AB", "A", 4)
    return [
        Draft("painting_added", 40_000, painting),
        *begun,
        Draft("note_written", 200_000, {"text": "Winter road is heavy."}, None, OTHER, "AB", "command"),
        Draft("probe_stale", 210_000, stale, bench=OTHER),
    ]


def tool_c(at: int) -> float | None:
    """What the tool's probe reads at an instant, degC: steady, one spike of one reading, one gap."""
    if GAP_FROM_MS <= at < GAP_TO_MS:
        return None
    return SPIKE_C if at == SPIKE_MS else 78.0 + (at // 200 % 9) * 0.0078125


def readings() -> list[Reading]:
    """All readings in the order of their instants; they begin before the step and end after it."""
    made: list[Reading] = []
    for at in range(50_000, 670_000, 200):
        value = tool_c(at)
        made.append(Reading(at, TOOL, value, Quality.OPEN if value is None else Quality.GOOD))
        if at % 1000 == 0:
            damp = 64.25 if 390_000 <= at < 560_000 else 52.5
            made += [Reading(at, DAMP, damp), Reading(at, WARM, 20.75), Reading(at, FAR, 60.0)]
    return made


def estimates() -> list[Estimate]:
    """Two estimate rows of the first contact."""
    return [
        Estimate(100_000, STEP, "B", 1, 1, depth, p50 - 3.3, p50, p50 + 3.4)
        for depth, p50 in (("bond_line", 63.4), ("face", 48.0))
    ]


def lay_out(where: Path, words: Words | None = None, *, known: bool = True) -> Store:
    """Make a store and write the day into it, with few readings if the time is not known; the caller closes it."""
    migrate(where)
    store = Store.open(where)
    boot = store.begin_boot("board", "boot-of-the-test", START_MS, 1, "0.1.0")
    store.declare_series(
        [
            Series(BENCH, "spatula", "max31856", ("tool_temperature",), 200, "simulated MAX31856"),
            Series(BENCH, "room", "sht45", ("air_temperature", "relative_humidity"), 1000, "simulated SHT45"),
            Series(OTHER, "tacking iron", "max31856", ("tool_temperature",), 1000, "simulated MAX31856"),
        ],
        (BENCH, OTHER),
    )
    segment = Segment(1, boot, 0, START_MS, known)
    read = readings() if known else readings()[:12]
    store.write(Batch(segment, read, drafts(words or Words()), estimates()))
    return store
