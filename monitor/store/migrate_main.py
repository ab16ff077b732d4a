"""The child process that migrates a store: `python -m monitor.store.migrate_main WHERE`."""

from __future__ import annotations

import json
import sys

from monitor.errors import BlotterError
from monitor.store.migrating import migrate


def main(arguments: list[str]) -> int:
    """Migrate; write {"from", "to"} on success, the error's four parts on stderr otherwise."""
    if len(arguments) != 1:
        sys.stderr.write("one place expected: a data directory or a postgresql:// address\n")
        return 2
    try:
        before, after = migrate(arguments[0])
    except BlotterError as error:
        sys.stderr.write(json.dumps(error.as_json()) + "\n")
        return 1
    sys.stdout.write(json.dumps({"from": before, "to": after}) + "\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
