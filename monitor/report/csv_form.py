"""The form of a readings row."""

from __future__ import annotations

import csv
import io

from monitor.bench.readings import Quality
from monitor.clock import iso

HEADER = "time,probe,quantity,value,unit,quality"


def format_row(
    at_ms: int, probe: str, quantity: str, value: float | None, unit: str, quality: Quality
) -> str:
    """Write one reading as a CSV row without its line end; a gap has an empty value."""
    out = io.StringIO()
    shown = "" if value is None else repr(value)
    csv.writer(out, lineterminator="").writerow([iso(at_ms), probe, quantity, shown, unit, quality.word])
    return out.getvalue()
