"""The systemd units agree with each other, with the commands and, where it exists, with systemd's own lint."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

UNITS = Path(__file__).parents[2] / "deploy/units"
STATION = UNITS / "benchblotter-station.service"
DASHBOARD = UNITS / "benchblotter-dashboard.service"


def settings(unit: Path) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for line in unit.read_text().splitlines():
        if "=" in line and not line.startswith("#"):
            key, value = line.split("=", 1)
            found.setdefault(key, []).append(value)
    return found


def test_both_units_share_user_state_and_sockets() -> None:
    for key in ("User", "Group", "StateDirectory", "RuntimeDirectory", "RuntimeDirectoryPreserve"):
        assert settings(STATION)[key] == settings(DASHBOARD)[key], key
    assert settings(STATION)["RuntimeDirectoryPreserve"] == ["yes"]


def test_the_station_is_watched_and_reaches_its_buses() -> None:
    station = settings(STATION)
    assert station["Type"] == ["notify"]
    assert int(station["WatchdogSec"][0]) == 20
    assert station["SupplementaryGroups"] == ["i2c spi gpio"]
    assert set(station["DeviceAllow"]) == {"char-i2c rw", "char-spi rw", "char-gpiochip rw"}
    assert "PrivateDevices" not in station
    assert station["OOMPolicy"] == ["continue"], "a child that sends messages must not take the station with it"


@pytest.mark.parametrize("unit", [STATION, DASHBOARD], ids=["station", "dashboard"])
def test_hardened_and_free_of_what_needs_it_not(unit: Path) -> None:
    found = settings(unit)
    for key in ("NoNewPrivileges", "PrivateTmp", "ProtectHome", "RestrictNamespaces", "LockPersonality"):
        assert found[key] == ["yes"], key
    assert found["ProtectSystem"] == ["strict"]
    assert found["CapabilityBoundingSet"] == [""]
    assert found["SystemCallFilter"] == ["@system-service"]


def lint(folder: Path, text: str) -> str:
    """Give systemd's complaints; the program is not where the unit expects it, so any other stands in."""
    unit = folder / "tried.service"
    unit.write_text(re.sub(r"^ExecStart=\S+", "ExecStart=/bin/true", text, flags=re.MULTILINE))
    done = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", "--recursive-errors=no", str(unit)],
        capture_output=True,
        check=False,
    )
    said = done.stderr.decode()
    return said or f"exit code {done.returncode}" if done.returncode else said


# Not a skip: without systemd the rules above are all there is to hold the units to.
if shutil.which("systemd-analyze"):

    @pytest.mark.parametrize("unit", [STATION, DASHBOARD], ids=["station", "dashboard"])
    def test_systemd_finds_nothing(unit: Path, tmp_path: Path) -> None:
        assert lint(tmp_path, unit.read_text()) == ""

    def test_systemd_would_find_a_misspelling(tmp_path: Path) -> None:
        assert "WatchdogSecs" in lint(tmp_path, STATION.read_text().replace("WatchdogSec=", "WatchdogSecs="))
