"""Gives what `deploy/check` has fetched into tests/.data; without it a test is skipped and says so."""

from __future__ import annotations

import csv
import importlib.util
from pathlib import Path
from types import ModuleType

import pytest

FOLDER = Path(__file__).parents[1] / ".data"


def file(name: str) -> Path:
    """Give a fetched file's path."""
    path = FOLDER / name
    if not path.exists():
        pytest.skip(f"tests/.data/{name} is not there; deploy/check fetches it")
    return path


def psychrolib() -> ModuleType:
    """Give PsychroLib 2.5.0 in SI units, imported by its path: it is installed nowhere."""
    spec = importlib.util.spec_from_file_location("psychrolib", file("psychrolib.py"))
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.SetUnitSystem(module.SI)
    return module


def weather() -> list[dict[str, str]]:
    """Give the measured hours that have temperature, dew point and relative humidity."""
    with file("weather.csv").open(newline="") as opened:
        rows = list(csv.DictReader(opened))
    return [row for row in rows if "NA" not in (row["temp"], row["dewp"], row["humid"])]
