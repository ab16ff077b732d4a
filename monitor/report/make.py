"""Makes a report: gathers it, sets it in a child process, puts it in place whole."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from monitor.catalogue import load
from monitor.errors import BadInput, BlotterError
from monitor.report import readings_out
from monitor.report.digest import last_row, sha256_of
from monitor.report.document import Document, document_of
from monitor.report.words import When

if TYPE_CHECKING:
    from monitor.store.store import Store

READINGS = "readings.csv"
READINGS_MIME = "text/csv"
READINGS_SAYS = "Every reading behind the chart and the table, as written by benchblotter export"


@dataclass(frozen=True)
class Bounds:
    """What the child process may use: written memory, processor time, time on the wall."""

    data_mb: int = 768
    cpu_s: int = 60
    wall_s: float = 120


def make_report(
    store: Store, step: str, out: Path, *, when: When | None = None, bounds: Bounds | None = None
) -> Path:
    """Write a step's report as PDF; the file declares PDF/A-3b and holds its readings.

    Args:
        store: whence everything comes.
        step: id of the step.
        out: file to write; one that exists is replaced once the new one is whole.
        when: zone of the printed times; UTC unless told.
        bounds: what the child process may use.

    Raises:
        BadInput: no such step, a step without a date, or no folder to write into.
        BlotterError: the typesetter failed or passed its bounds; nothing is written then.
    """
    if not out.parent.is_dir():
        found = f"there is no folder {out.parent}"
        raise BadInput(str(out), found, "a folder that exists", "Make it, or name another.")
    document = document_of(store, step, when, load().sources)
    with tempfile.TemporaryDirectory(prefix=".report-", dir=out.parent) as name:
        folder = Path(name)
        _lay_out(folder, store, document, bounds or Bounds())
        _run(folder, bounds or Bounds())
        os.replace(folder / "report.pdf", out)
    return out


def _lay_out(folder: Path, store: Store, document: Document, bounds: Bounds) -> None:
    count = readings_out.write(folder / READINGS, store, document.selection)
    for name, drawn in document.pictures.items():
        (folder / name).write_text(drawn, encoding="utf-8")
    job = {
        "data": _printed(document),
        "fixed": _fixed(document, folder, count),
        "made_s": document.made_ms // 1000,
        "data_mb": bounds.data_mb,
        "cpu_s": bounds.cpu_s,
    }
    (folder / "job.json").write_text(json.dumps(job), encoding="utf-8")


def _printed(document: Document) -> dict[str, Any]:
    """Give the words: what a person wrote is among them, so all of it is made printable."""
    heading = document.data["heading"]
    return {
        **document.data,
        "title": f"{heading['name']}: {heading['step']}",
        "author": heading["who"],
        "subject": f"Report of step {heading['id']}, {heading['when']}",
        "foot": f"Bench Blotter · {heading['name'][:40]} · step {heading['id']} · inside or outside what was set, "
        "by what was measured",
    }


def _fixed(document: Document, folder: Path, count: int) -> dict[str, Any]:
    """Give what must reach the page sign by sign: file names, digests, texts for the blind."""
    row, row_hash = last_row(document.rows)
    readings_hash = sha256_of(folder / READINGS)
    return {
        "chart": {"name": "chart.svg", "alt": _says(document, "chart.svg")},
        "seam": {"name": "seam.svg", "alt": _says(document, "seam.svg")},
        "rule_alt": _says(document, "rule-head.svg"),
        "attachments": [{"name": READINGS, "mime": READINGS_MIME, "says": READINGS_SAYS}],
        "digest": [
            {"words": f"SHA-256 of {READINGS}, {count} rows, attached to this file", "sign": readings_hash},
            {"words": f"SHA-256 of day-book row {row}, the last one used", "sign": row_hash},
        ],
    }


def _says(document: Document, name: str) -> str:
    drawn = document.pictures.get(name, "")
    return drawn.partition("<title>")[2].partition("</title>")[0]


def _run(folder: Path, bounds: Bounds) -> None:
    command = [sys.executable, "-m", "monitor.report.compile_main", str(folder)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=bounds.wall_s, check=False)
    except subprocess.TimeoutExpired:
        raise _failed(f"took longer than {bounds.wall_s:g} s") from None
    if done.returncode or not (folder / "report.pdf").is_file():
        told = done.stderr.strip().splitlines()
        raise _failed(f"said: {told[-1]}" if told else f"ended with {done.returncode}")


def _failed(found: str) -> BlotterError:
    what = f"the typesetter {found}"
    return BlotterError("report", what, "a finished file", "Nothing was written; try a shorter step.")
