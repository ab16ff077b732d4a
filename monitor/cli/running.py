"""Commands that run something: demo, story, station, dashboard, probes."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from monitor.cli.app import DEFAULT_CONFIG, DEFAULT_DATA, Config, Data, Json, command, default_runtime, show
from monitor.cli.page import Page


@command()
def demo(
    story: Annotated[str, typer.Option(help="Which story the simulated studio plays.")] = "strip-lining",
    speed: Annotated[float, typer.Option(help="Studio seconds in one real second, 1 to 20.")] = 1.0,
    port: Annotated[int, typer.Option(help="Port of the page on this machine.")] = 8460,
    data: Annotated[str | None, typer.Option("--data", help="Data directory; a new one by default.")] = None,
) -> int:
    """Station and dashboard over the simulated studio. Example: benchblotter demo --speed 5"""
    from monitor.station.uses import run_demo

    with _folder(data) as folder, tempfile.TemporaryDirectory(prefix="blotter-") as runtime:
        page = Page(Path(runtime), folder, "127.0.0.1", port)
        try:
            run_demo(story, speed, folder, Path(runtime), page.start)
        finally:
            page.stop()
    return 0


@contextmanager
def _folder(given: str | None) -> Iterator[Path]:
    """Give the data directory that was named, or a new one that goes away again."""
    if given is not None:
        yield Path(given)
        return
    with tempfile.TemporaryDirectory(prefix="benchblotter-demo-") as name:
        yield Path(name)


@command()
def story(
    name: Annotated[str, typer.Argument(help="Name of the story, for instance strip-lining.")],
    as_json: Json = False,
    data: Annotated[str | None, typer.Option("--data", help="Keep the store in this new directory.")] = None,
) -> int:
    """A story without screens, as fast as it computes. Example: benchblotter story strip-lining --json"""
    from monitor.station.uses import run_story
    from monitor.stories.script import load_story

    script = load_story(name)
    with _folder(data) as folder:
        told = run_story(script, folder)
    if as_json:
        show(told.events)
    else:
        typer.echo("\n".join(told.summary))
    return 0


@command()
def station(config: Config = DEFAULT_CONFIG, data: Data = DEFAULT_DATA) -> int:
    """The station alone, over the probes of the configuration. Example: benchblotter station --config studio.toml"""
    from monitor.config import load_studio
    from monitor.station.uses import run_station

    run_station(load_studio(config), Path(data), default_runtime(data))
    return 0


@command()
def dashboard(config: Config = DEFAULT_CONFIG, data: Data = DEFAULT_DATA) -> int:
    """The dashboard alone, for a station that runs. Example: benchblotter dashboard --config studio.toml"""
    from monitor.config import load_studio

    studio = load_studio(config)
    page = Page(default_runtime(data), Path(data), studio.listen_host, studio.listen_port, studio.store)
    os.execv(sys.executable, page.command())


@command()
def probes(config: Config = DEFAULT_CONFIG, as_json: Json = False) -> int:
    """Read every probe once and name every fault. Example: benchblotter probes --config studio.toml"""
    from monitor.clock import SystemClock
    from monitor.config import load_studio
    from monitor.probes.check_up import probe_lines
    from monitor.probes.opening import open_probes

    opened = open_probes(load_studio(config), clock=SystemClock(), strict=False)
    try:
        lines = probe_lines(opened)
    finally:
        opened.close()
    if as_json:
        show(lines)
    for line in [] if as_json else lines:
        value = "no reading" if line["value"] is None else f"{line['value']:g} {line['unit']}"
        typer.echo(f"{line['probe']}: {line['quantity']}: {value} ({line['source']})")
        if line["fault"]:
            typer.echo(f"  {line['fault']}. {line['do']}")
    return 1 if any(line["fault"] for line in lines) else 0
