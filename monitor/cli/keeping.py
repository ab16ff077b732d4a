"""Commands that keep things in order: check-store, migrate, check-config, sources."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from monitor.cli.app import DEFAULT_DATA, Data, Json, command, instant, opened, show
from monitor.errors import ManyProblems


@command("check-store")
def check_store(
    data: Data = DEFAULT_DATA,
    recompute: Annotated[bool, typer.Option("--recompute", help="Fold everything again and compare.")] = False,
    begin: Annotated[
        str | None, typer.Option("--from", help="Recompute from the last state kept before this.")
    ] = None,
    as_json: Json = False,
) -> int:
    """Check database, day-book and rollups. Example: benchblotter check-store --recompute --data day"""
    from monitor.store.checking import check_all

    with opened(data) as store:
        found = check_all(store, again=recompute, from_ms=None if begin is None else instant("--from", begin))
    if as_json:
        show(found.as_json())
    else:
        typer.echo("\n".join(found.lines()))
    return 0 if found.in_order else 1


@command()
def migrate(data: Data = DEFAULT_DATA) -> int:
    """Make a store, or bring it to this version's form; a copy is kept. Example: benchblotter migrate --data day"""
    from monitor.store.migrating_apart import migrate_apart

    before, now = migrate_apart(data)
    typer.echo(f"{data}: version {before or 'none'} before, {now} now")
    return 0


@command("check-config")
def check_config(
    file: Annotated[Path, typer.Argument(help="The studio's configuration.")],
    catalogue: Annotated[Path | None, typer.Option("--catalogue", help="Your own figures.", metavar="DIR")] = None,
) -> int:
    """Name every mistake at once. Example: benchblotter check-config studio.toml"""
    from monitor.catalogue.checking import check_config as check

    try:
        warnings = check(file, catalogue)
    except ManyProblems as error:
        typer.echo(str(error), err=True)
        return 1
    for warning in warnings:
        typer.echo(f"warning: {warning}")
    typer.echo(f"{file}: in order")
    return 0


@command()
def sources(
    catalogue: Annotated[Path | None, typer.Option("--catalogue", help="Your own figures.", metavar="DIR")] = None,
    as_json: Json = False,
) -> int:
    """List every figure and formula with source, grade and test. Example: benchblotter sources"""
    from monitor.catalogue.loader import load
    from monitor.catalogue.print_text import sources_json, sources_lines

    try:
        loaded = load(catalogue)
    except ManyProblems as error:
        typer.echo(str(error), err=True)
        return 1
    if as_json:
        show(sources_json(loaded))
    else:
        typer.echo("\n".join(sources_lines(loaded)))
    return 0
