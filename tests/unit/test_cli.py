"""The commands' errors: one sentence, no traceback, the right exit code."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from monitor.cli import NOT_YET, app
from monitor.store.migrating import migrate

NINE = "2026-05-04T09:00:00Z"


@pytest.fixture(scope="module")
def torn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a store from which a table is gone."""
    import sqlite3
    from contextlib import closing

    folder = tmp_path_factory.mktemp("torn")
    migrate(folder)
    with closing(sqlite3.connect(folder / "benchblotter.db")) as base:
        base.execute("DROP TABLE steps")
        base.execute("DROP TABLE clock_segments")
        base.commit()
    return folder


def said(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(app, list(words))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.output


@pytest.mark.parametrize("words", [("steps",), ("check-store",), ("check-store", "--recompute")])
def test_a_store_with_a_part_missing_is_told_in_one_sentence(torn: Path, words: tuple[str, ...]) -> None:
    code, text = said(*words, "--data", str(torn))
    assert code == 1
    assert "benchblotter.db" in text
    assert "Traceback" not in text


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("replay", "nowhere.csv", "--sheet", "room"), 2, "nowhere.csv"),
        (("replay", "nowhere.csv"), 2, "--sheet and --limit"),
        (("replay", "nowhere.csv", "--sheet", "room", "--stale-after", "-1"), 2, "--stale-after"),
        (("story", "no-such-story"), 2, "strip-lining"),
        (("demo", "--port", "99999"), 2, "1 to 65535"),
        (("export", "--from", "yesterday", "--to", "2026-05-04T09:00:00Z", "--data", "none"), 1, "no store"),
        (("steps", "--data", "none"), 1, "benchblotter migrate"),
        (("alarms", "--from", NINE), 2, "--to"),
        (("alarms", "--from", "2026-05-04T00:00:00Z", "--to", "2026-05-04T00:00:00Z"), 2, "Exchange --from and --to"),
        (("alarms", "--from", "2026-05-04", "--to", "2026-05-05T00:00:00Z"), 2, "no instant"),
        (
            ("alarms", "--from", "2026-05-04T00:00:00Z", "--to", "2026-05-05T00:00:00Z", "--data", "none"),
            1,
            "no store",
        ),
        (("probes", "--config", "none.toml"), 2, "none.toml"),
        *(((name,), 2, "not in this version") for name in NOT_YET),
    ],
)
def test_what_cannot_be_done_is_said_with_its_exit_code(words: tuple[str, ...], code: int, says: str) -> None:
    found, text = said(*words)
    assert (found, says in text) == (code, True), text
