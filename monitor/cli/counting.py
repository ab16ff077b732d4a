"""The command alarms: the guide's figures of warnings for a period, from the day-book."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from monitor.cli.app import DEFAULT_DATA, Data, Json, command, instant, opened, show
from monitor.clock import iso
from monitor.errors import BadInput

if TYPE_CHECKING:
    from monitor.report.warning_figures import WarningFigures


@command()
def alarms(
    begin: Annotated[str, typer.Option("--from", help="From this instant, ISO 8601.", metavar="T")],
    end: Annotated[str, typer.Option("--to", help="Up to this instant.", metavar="T")],
    data: Data = DEFAULT_DATA,
    as_json: Json = False,
) -> int:
    """Count warnings as a guide for control rooms does: how many, how fast, which, seen when.

    Example: benchblotter alarms --from 2026-05-04T00:00:00Z --to 2026-05-11T00:00:00Z --data day
    """
    from monitor.catalogue.loader import load
    from monitor.report.warning_compared import as_json as figures_json
    from monitor.report.warning_words import lines

    from_ms, to_ms = instant("--from", begin), instant("--to", end)
    if to_ms <= from_ms:
        found = f"from {iso(from_ms)} to {iso(to_ms)}"
        raise BadInput("period", found, "an end after the beginning", "Exchange --from and --to.")
    figures = _figures(data, from_ms, to_ms)
    if as_json:
        show(figures_json(figures))
    else:
        titles = {key: f"{source.title}. {source.read}" for key, source in load().sources.items()}
        typer.echo("\n".join(lines(figures, titles)))
    return 0


def _figures(data: str, from_ms: int, to_ms: int) -> WarningFigures:
    from monitor.report.warning_figures import warning_figures
    from monitor.report.warning_history import Moment
    from monitor.report.warning_reading import KINDS, read_history

    with opened(data) as store:
        found = store.newest_segment()
        newest = None if found is None else Moment(found[0].boot, found[1], found[0].at_ms(found[1]))
        history = read_history(store.daybook(kinds=KINDS), store.segments(), newest)
    return warning_figures(history, from_ms, to_ms)
