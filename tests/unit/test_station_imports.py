"""What a station at rest carries: none of the heavy libraries that only some work needs."""

from __future__ import annotations

import json
import platform
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

FORBIDDEN = ("numpy", "scipy", "typst", "alembic", "apprise", "fastapi", "starlette", "uvicorn", "plotly", "pandas",
             "psycopg", "hypothesis", "pytest", "aiomqtt", "paho", "gpiod")  # fmt: skip
MQTT_MB = 10
MOST_MB = 95  # the budget is 75 on the board; allocators of other machines differ

AT_REST = """
import asyncio, json, resource, shutil, sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from monitor.clock import SystemClock
from monitor.probes.opening import open_probes
from monitor.probes.wire.still_world import StillWorld
from monitor.station.housekeeping import Housekeeping
from monitor.station.places import opened_store
from monitor.station.station import Station
from monitor.catalogue.loader import load
from monitor.config import load_studio
from monitor.store.writer import Writer

async def rest(folder):
    studio = load_studio(Path(sys.argv[3]))
    clock = SystemClock()
    with opened_store(folder / "data") as store:
        opened = open_probes(studio, sensed=StillWorld(), clock=clock)
        writer = Writer(store)
        station = Station(studio, clock, opened, store, writer, folder / "r", load(), boot_id="rest")
        keeping = Housekeeping(store, None, clock)
        def ready():
            keeping.start()
            asyncio.get_running_loop().call_later(2.5, station.stopped.set)
        await station.run(ready)
        keeping.stop()
        writer.close()
        rows = [row["kind"] for row in store.daybook()]
    mb = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmRSS")) // 1024
    print(json.dumps({"modules": sorted({m.partition(".")[0] for m in sys.modules}), "mb": mb, "rows": rows}))

asyncio.run(rest(Path(sys.argv[1])))
"""


ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "deploy" / "studio.example.toml"
WAYS = """
[[tell]]
way = "mqtt"
name = "house"
host = "127.0.0.1"
port = 9
[[tell]]
way = "message"
name = "phone"
url_file = "/nowhere/phone.url"
self_test = true
"""


def rest(folder: Path, config: Path) -> dict[str, Any]:
    """Let a station rest for a while; give what it has loaded and written, and its size."""
    command = [sys.executable, "-c", AT_REST, str(folder), str(ROOT), str(config)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


@pytest.mark.long
def test_a_station_that_tells_carries_only_what_its_ways_need(tmp_path: Path) -> None:
    config = tmp_path / "studio.toml"
    config.write_text(EXAMPLE.read_text() + WAYS)
    found = rest(tmp_path, config)
    assert "telling_failed" in found["rows"], "no broker is there"
    assert {"aiomqtt", "paho"} <= set(found["modules"])
    assert not {"apprise", "requests", "gpiod"} & set(found["modules"])
    assert found["mb"] <= MOST_MB + MQTT_MB


@pytest.mark.long
def test_a_station_at_rest_carries_nothing_heavy(tmp_path: Path) -> None:
    found = rest(tmp_path, EXAMPLE)
    assert found["rows"][-1] == "station_stopped"
    assert [name for name in FORBIDDEN if name in found["modules"]] == []
    assert "apscheduler" in found["modules"]
    assert found["mb"] <= MOST_MB, f"{found['mb']} MB resident on {platform.machine()}, at most {MOST_MB}"
