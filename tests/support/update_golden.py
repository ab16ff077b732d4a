"""Keep the day-books that the stories leave now: `python -m tests.support.update_golden [NAME ...]`.

Read the difference before committing it: each changed row is a changed decision.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from monitor.station.uses import run_story
from monitor.stories.script import load_story, names
from tests.support.golden_story import keep


def main(asked: list[str]) -> None:
    """Play the stories asked for, or all, and keep their day-books."""
    for name in asked or names():
        with tempfile.TemporaryDirectory() as folder:
            result = run_story(load_story(name), Path(folder) / "data")
        keep(name, result.events)
        sys.stdout.write("\n".join(result.summary) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
