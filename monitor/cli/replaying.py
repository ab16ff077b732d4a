"""The command replay: what would these limits have said, of a file or of what is stored?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from monitor.cli.app import Json, command, instant, opened, show
from monitor.errors import BadInput

if TYPE_CHECKING:
    from monitor.bench.replayed import OfLimit, Replayed

StaleAfter = Annotated[
    float | None,
    typer.Option("--stale-after", help="How long a reading speaks, seconds; without it three intervals."),
]


@command()
def replay(
    file: Annotated[Path | None, typer.Argument(help="Readings as CSV.", metavar="FILE.csv")] = None,
    sheet: Annotated[str | None, typer.Option(help="Hold them against this working sheet.")] = None,
    limit: Annotated[str | None, typer.Option(help="Or against one limit, in one line.")] = None,
    stale_after: StaleAfter = None,
    data: Annotated[
        str | None, typer.Option("--data", help="Instead of a file: a data directory.", metavar="DIR")
    ] = None,
    begin: Annotated[str | None, typer.Option("--from", help="With --data: from this instant, ISO 8601.")] = None,
    end: Annotated[str | None, typer.Option("--to", help="With --data: up to this instant.")] = None,
    as_json: Json = False,
) -> int:
    """What would these limits have said?

    Example: benchblotter replay day.csv --limit 'room.relative_humidity high 65 deadband 2 on-delay 300'
    """
    if (sheet is None) == (limit is None):
        raise BadInput("replay", "both or neither of --sheet and --limit", "one of them", "Name one.")
    if stale_after is not None and not 0 < stale_after < 1e7:
        raise BadInput("--stale-after", f"{stale_after}", "seconds above 0", "Name a time.")
    stale_ms = None if stale_after is None else max(1, round(stale_after * 1000))
    if (file is None) == (data is None):
        raise BadInput("replay", "both or neither of FILE.csv and --data", "one of them", "Name one.")
    if file is not None and (begin or end):
        raise BadInput("replay", "a period of a file", "--from and --to with --data only", "Leave them out.")
    result = _of_file(file, sheet, limit, stale_ms) if file else _of_store(data, sheet, limit, stale_ms, begin, end)
    if as_json:
        show(result.as_json())
    else:
        typer.echo("\n".join(_lines(result)))
    return 0


def _of_file(file: Path, sheet: str | None, limit: str | None, stale_ms: int | None) -> Replayed:
    from monitor.bench.limit_text import parse_limit
    from monitor.catalogue.loader import load
    from monitor.probes.replay import by_limit, by_sheet

    if limit is not None:
        return by_limit(file, *parse_limit(limit), stale_ms)
    return by_sheet(file, load().sheet(str(sheet)), stale_ms)


def _of_store(
    data: str | None, sheet: str | None, limit: str | None, stale_ms: int | None, begin: str | None, end: str | None
) -> Replayed:
    from monitor.bench.limit_text import parse_limit
    from monitor.catalogue.loader import load
    from monitor.store.replaying import by_limit, by_sheet

    period = instant("--from", begin), instant("--to", end)
    wanted = None if limit is None else parse_limit(limit)
    held = load().sheet(str(sheet)) if wanted is None else None
    with opened(str(data)) as store:
        if wanted is not None:
            return by_limit(store, *wanted, period, stale_after_ms=stale_ms)
        assert held is not None
        return by_sheet(store, held, period, stale_after_ms=stale_ms)


def _lines(result: Replayed) -> list[str]:
    lines = []
    for row in result.transitions:
        verb = "beyond the limit" if row["event"] == "raise" else "back inside"
        value = "no reading" if row["value"] is None else f"{row['value']:g}"
        line = f"{row['time']} {row['probe']} {row['quantity']} {verb}: {value} {row.get('limit', '')}"
        lines.append(line.rstrip())
    lines += [_of_limit(one) for one in result.limits]
    if result.not_judged:
        lines.append(f"not judged, since not all they need was read: {', '.join(result.not_judged)}")
    return [
        *lines,
        f"{result.readings} readings, {result.as_json()['outside_s']} s of known time beyond what you set",
    ]


def _of_limit(one: OfLimit) -> str:
    from monitor.bench.replayed import seconds

    spells = one.spells
    level = f"{one.channel} {one.side} {one.at:g}"
    name = level if one.limit == level else f"{one.limit}, {level}"
    told = f"{one.count} warning{'' if one.count == 1 else 's'}"
    beyond = f"{seconds(spells.outside_ms)} s beyond it in {spells.count} spell{'' if spells.count == 1 else 's'}"
    longest = f", the longest {seconds(spells.longest_ms)} s" if spells.count else ""
    return f"{name}: {told}, {beyond}{longest}; known for {seconds(spells.known_ms)} s"
