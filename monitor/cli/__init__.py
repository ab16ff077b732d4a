"""The command `benchblotter`. It ends with 0, with 1 when something is not in order, with 2 after wrong use."""

from __future__ import annotations

import typer

from monitor.cli import counting, keeping, looking, replaying, running
from monitor.cli.app import app

NOT_YET = (
    "import",
    "verify",
    "plan-hold",
    "backup",
    "restore",
    "rebuild-rollups",
    "setup",
    "people",
    "keys",
)


def _later(name: str) -> None:
    @app.command(name, hidden=True, context_settings={"allow_extra_args": True, "ignore_unknown_options": True})
    def later() -> None:
        typer.echo(f"{name}: not in this version", err=True)
        raise typer.Exit(2)


for _name in NOT_YET:
    _later(_name)


def main() -> None:
    """Run the command."""
    app()


__all__ = ["app", "counting", "keeping", "looking", "main", "replaying", "running"]
