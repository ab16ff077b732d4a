"""Commands that look back: steps, export, report."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from monitor.cli.app import DEFAULT_DATA, Data, Json, command, instant, opened, show
from monitor.clock import iso
from monitor.errors import BadInput


@command()
def steps(data: Data = DEFAULT_DATA, as_json: Json = False) -> int:
    """List steps. Example: benchblotter steps --data day"""

    with opened(data) as store:
        rows = [
            {
                "id": s.step, "sheet": s.sheet, "painting": s.painting,
                "state": "running" if s.finished_seq is None else "finished",
                "started_at": None if s.started_at_ms is None else iso(s.started_at_ms),
                "finished_at": None if s.finished_at_ms is None else iso(s.finished_at_ms),
            }
            for s in store.steps()
        ]  # fmt: skip
    if as_json:
        show(rows)
    for row in [] if as_json else rows:
        typer.echo(f"{row['id']}  {row['sheet']}  {row['painting'] or '-'}  {row['state']}  {row['started_at']}")
    return 0


@command()
def export(
    step: Annotated[str | None, typer.Argument(help="A step's id; see `benchblotter steps`.")] = None,
    out: Annotated[Path, typer.Option("--out", help="New folder to write.", metavar="DIR")] = Path("export"),
    begin: Annotated[
        str | None, typer.Option("--from", help="Instead of a step: from this instant, ISO 8601.")
    ] = None,
    end: Annotated[str | None, typer.Option("--to", help="Up to this instant.")] = None,
    data: Data = DEFAULT_DATA,
) -> int:
    """Write readings, estimates and day-book of a step or a period. Example: benchblotter export s2 --out s2"""
    from monitor.report.export import export as write
    from monitor.report.selection import of_period, of_step

    if (step is None) == (begin is None or end is None):
        raise BadInput(
            "export", "neither a step nor a whole period, or both", "one of them", "Name a step or a period."
        )
    with opened(data) as store:
        chosen = of_step(store, step) if step else of_period(store, instant("--from", begin), instant("--to", end))
        manifest = write(store, chosen, out)
    for name, file in manifest["files"].items():
        typer.echo(f"{out / name}  {file['rows']} rows  sha256 {file['sha256']}")
    return 0


@command()
def report(
    step: Annotated[str, typer.Argument(help="A step's id; see `benchblotter steps`.")],
    out: Annotated[Path, typer.Option("--out", help="File to write.", metavar="FILE.pdf")] = Path("report.pdf"),
    data: Data = DEFAULT_DATA,
) -> int:
    """Make a step's report, its readings inside. Example: benchblotter report s2 --out harbour.pdf"""
    from monitor.report.make import make_report

    with opened(data) as store:
        typer.echo(str(make_report(store, step, out)))
    return 0
