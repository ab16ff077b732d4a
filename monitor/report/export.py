"""Writes readings, estimates and day-book rows into a folder that others can read without us."""

from __future__ import annotations

import csv
import json
import os
import shutil
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from monitor import __version__
from monitor.bench.events import canonical, decimal
from monitor.clock import iso
from monitor.errors import BadInput
from monitor.report import readings_out
from monitor.report.digest import sha256_of
from monitor.report.selection import Selection, rows_of

if TYPE_CHECKING:
    from monitor.store.store import Store

READINGS, ESTIMATES, EVENTS, MANIFEST = "readings.csv", "estimates.csv", "events.json", "manifest.json"
ESTIMATES_HEADER = ("time", "step", "side", "place", "pass", "depth", "p05", "p50", "p95", "unit", "p_reached")
FORM = 1


def export(store: Store, selection: Selection, out: Path) -> dict[str, Any]:
    """Write a selection into a new folder; it appears whole or not at all.

    Args:
        store: whence it comes.
        selection: a step or a period, as `monitor.report.selection` makes them.
        out: folder to make; one that exists must be empty.

    Returns:
        The manifest: what was chosen, and for each file its SHA-256, bytes and rows.

    Raises:
        BadInput: the folder exists and holds something, or its parent does not exist.
    """
    _refuse(out)
    folder = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=out.parent))
    try:
        manifest = _write(store, selection, folder)
        folder.chmod(0o755)
        if out.exists():
            out.rmdir()
        os.replace(folder, out)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return manifest


def _refuse(out: Path) -> None:
    if not out.parent.is_dir():
        found = f"there is no folder {out.parent}"
        raise BadInput(str(out), found, "a folder whose parent exists", "Make it, or name another.")
    if out.exists() and not out.is_dir():
        raise BadInput(str(out), "a file of that name", "a new or an empty folder", "Name another with --out.")
    if out.is_dir() and any(out.iterdir()):
        raise BadInput(str(out), "the folder is not empty", "a new or an empty folder", "Name another with --out.")


def _write(store: Store, selection: Selection, folder: Path) -> dict[str, Any]:
    rows = rows_of(store, selection)
    counts = {
        READINGS: readings_out.write(folder / READINGS, store, selection),
        ESTIMATES: _write_estimates(folder / ESTIMATES, _estimates(store, selection, rows)),
        EVENTS: _write_events(folder / EVENTS, rows),
    }
    manifest = {
        "form": FORM,
        "version": __version__,
        "step": selection.step,
        "from": iso(selection.from_ms),
        "to": iso(selection.to_ms),
        "channels": list(selection.channels),
        "files": {
            name: {"sha256": sha256_of(folder / name), "bytes": (folder / name).stat().st_size, "rows": count}
            for name, count in counts.items()
        },
    }
    (folder / MANIFEST).write_text(json.dumps(manifest, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return manifest


def _estimates(store: Store, selection: Selection, rows: list[dict[str, Any]]) -> Iterator[Any]:
    steps = [selection.step] if selection.step else sorted({row["step"] for row in rows if row["step"]})
    for step in steps:
        for row in store.estimates(step):
            if row.at_ms is not None and selection.from_ms <= row.at_ms < selection.to_ms:
                yield row


def _write_estimates(path: Path, estimates: Iterable[Any]) -> int:
    count = 0
    with path.open("w", encoding="utf-8", newline="") as file:
        out = csv.writer(file, lineterminator="\n")
        out.writerow(ESTIMATES_HEADER)
        for row in estimates:
            reached = "" if row.p_reached is None else decimal(row.p_reached, 3)
            band = [decimal(value, 1) for value in (row.p05, row.p50, row.p95)]
            out.writerow(
                [iso(row.at_ms), row.step, row.side, row.place, row.pass_no, row.depth, *band, "degC", reached]
            )
            count += 1
    return count


def _write_events(path: Path, rows: list[dict[str, Any]]) -> int:
    """Write the day-book's rows one a line inside a JSON list, each in its canonical form."""
    lines = ",\n".join(canonical(row) for row in rows)
    path.write_text(f"[\n{lines}\n]\n" if rows else "[]\n", encoding="utf-8")
    return len(rows)
