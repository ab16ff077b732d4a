"""Run a migration in a child process, so that alembic never enters the caller."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from monitor.errors import StoreError


def migrate_apart(where: str | Path) -> tuple[str | None, str]:
    """Make or migrate a store in a child process; give the versions before and after.

    Raises:
        StoreError: as `monitor.store.migrating.migrate` raised it in the child.
    """
    child = subprocess.run(
        [sys.executable, "-m", "monitor.store.migrate_main", str(where)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if child.returncode == 0:
        answer = json.loads(child.stdout.splitlines()[-1])
        return answer["from"], answer["to"]
    last = (child.stderr.strip().splitlines() or [""])[-1]
    try:
        raise StoreError(**json.loads(last))
    except (ValueError, TypeError) as error:
        raise StoreError(
            str(where), f"the migration ended with {child.returncode}: {last}", "exit 0",
            "Run `benchblotter migrate` to see all of its words.",
        ) from error  # fmt: skip
