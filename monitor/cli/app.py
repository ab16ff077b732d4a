"""What all commands share: options, printing, and how errors become exit codes."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, ParamSpec

import typer

from monitor.clock import from_iso
from monitor.errors import BadInput, BlotterError, ManyProblems, StoreError

if TYPE_CHECKING:
    from monitor.store.store import Store

P = ParamSpec("P")

app = typer.Typer(
    help="Watches moisture and heat while a painting is treated, and writes the day down. It is no safety device.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

Data = Annotated[str, typer.Option("--data", help="Data directory, or a postgresql:// address.", metavar="DIR")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON.")]
Config = Annotated[
    Path, typer.Option("--config", help="The studio's configuration.", metavar="FILE", envvar="BENCHBLOTTER_CONFIG")
]


def default_data() -> str:
    """Give the data directory that holds without --data."""
    state = os.environ.get("STATE_DIRECTORY")
    home = os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return state or str(Path(home) / "benchblotter")


def default_runtime(data: str) -> Path:
    """Give the directory of the sockets for a data directory: one station, one pair of sockets."""
    given = os.environ.get("RUNTIME_DIRECTORY")
    return Path(given) if given else Path(data) / "run"


DEFAULT_CONFIG = Path("/etc/benchblotter/studio.toml")
DEFAULT_DATA = default_data()


def command(name: str | None = None) -> Callable[[Callable[P, int | None]], Callable[P, None]]:
    """Register a command; its errors are printed as sentences and turned into exit codes."""

    def register(function: Callable[P, int | None]) -> Callable[P, None]:
        @wraps(function)
        def run(*args: P.args, **kwargs: P.kwargs) -> None:
            try:
                code = function(*args, **kwargs)
            except (BadInput, ManyProblems) as error:
                typer.echo(str(error), err=True)
                raise typer.Exit(2) from error
            except BlotterError as error:
                typer.echo(str(error), err=True)
                raise typer.Exit(1) from error
            raise typer.Exit(code or 0)

        return app.command(name)(run)

    return register


def show(value: Any) -> None:  # noqa: ANN401
    """Print JSON, the same bytes for the same value."""
    typer.echo(json.dumps(value, indent=1, ensure_ascii=False, sort_keys=False))


def instant(name: str, text: str | None) -> int:
    """Read an instant given with option `name`; BadInput when it is none."""
    try:
        return from_iso(text or "")
    except ValueError as error:
        found = f"{text!r} is no instant"
        raise BadInput(name, found, "for instance 2026-05-04T09:00:00Z", "Write it with its offset.") from error


@contextmanager
def opened(data: str) -> Iterator[Store]:
    """Open a store for reading; what the database itself complains of becomes one sentence.

    Raises:
        StoreError: it cannot be opened, or something in it cannot be read.
    """
    from sqlalchemy.exc import DBAPIError

    from monitor.store.store import Store

    store = Store.open(data, read_only=True)
    try:
        yield store
    except DBAPIError as error:
        found = f"cannot be read ({str(error.orig).splitlines()[0]})"
        do = "Keep the file as it is, and go on with the copy made before the last migration or with a backup."
        raise StoreError(store.name, found, "a whole store of this version", do) from error
    finally:
        store.close()
