"""The command alarms over a played day: the same as its day-book counted by hand."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from typing import Any

import pytest
from typer.testing import CliRunner

from monitor.cli import app
from monitor.clock import iso
from tests.support.stories import StoryRun

pytestmark = pytest.mark.long
DAY = ("--from", "2026-05-04T00:00:00Z", "--to", "2026-05-05T00:00:00Z")


@pytest.fixture(scope="module")
def run(story_run: Callable[[str], StoryRun]) -> StoryRun:
    return story_run("strip-lining")


def asked(run: StoryRun, *words: str) -> str:
    done = CliRunner().invoke(app, ["alarms", *words, "--data", str(run.data)])
    assert done.exit_code == 0, done.output
    return done.output


def of(run: StoryRun, *kinds: str) -> list[dict[str, Any]]:
    return [row for row in run.events if row["kind"] in kinds]


def test_the_figures_of_the_day_are_those_of_its_rows(run: StoryRun) -> None:
    found = json.loads(asked(run, *DAY, "--json"))
    raised = of(run, "alarm_raised")
    assert len(raised) == found["warnings"] > 3
    assert found["station_ran_s"] == (run.events[-1]["at_ms"] - run.events[0]["at_ms"]) / 1000
    assert found["average"]["per_10_min"] == round(600 * len(raised) / found["station_ran_s"], 3)
    first = [row["at_ms"] for row in raised]
    most = max(sum(a <= t < a + 600_000 for t in first) for a in first)
    assert found["peak"]["ten_minutes"]["warnings"] == most
    priorities = Counter(row["body"]["priority"] for row in raised)
    assert {p: told["warnings"] for p, told in found["priorities"].items()} == {
        p: priorities[p] for p in ("low", "medium", "high")
    }
    silences = of(run, "alarm_shelved"), of(run, "alarm_unshelved")
    assert found["hushed"]["silent"]["stretches"] == len(silences[0])
    lasted = [b["at_ms"] - a["at_ms"] for a, b in zip(*silences, strict=True)]
    assert found["hushed"]["silent"]["s"] == sum(lasted) / 1000
    assert found["chattering"] == []
    assert found["standing"]["over_24_h"] == []


def test_each_warning_of_the_day_was_seen_after_as_long_as_its_rows_say(run: StoryRun) -> None:
    found = json.loads(asked(run, *DAY, "--json"))["time_to_seen"]
    took = []
    for row in of(run, "alarm_raised"):
        whose = {key: row["body"][key] for key in ("step", "limit", "channel")}
        later = (r for r in of(run, "alarm_seen") if r["seq"] > row["seq"] and whose.items() <= r["body"].items())
        took.append(next(later)["at_ms"] - row["at_ms"])
    took.sort()
    assert found["seen"] == len(took)
    assert (found["never"], found["waiting"], found["silenced"]) == (0, 0, 0)
    assert found["median_s"] == (took[(len(took) - 1) // 2] + took[len(took) // 2]) / 2000
    assert found["nine_tenths_s"] == took[-(-9 * len(took) // 10) - 1] / 1000


def test_a_part_of_the_day_counts_what_lies_in_it_and_knows_what_stood_before(run: StoryRun) -> None:
    raised = of(run, "alarm_raised")
    begin = raised[0]["at_ms"] + 1
    period = ("--from", iso(begin), "--to", iso(begin + 600_000))
    found = json.loads(asked(run, *period, "--json"))
    assert found["warnings"] == sum(begin <= row["at_ms"] < begin + 600_000 for row in raised)
    assert found["stood_before"] >= 1
    assert found["station_ran_s"] == 600


def test_it_reads_as_sentences_of_a_hundred_signs(run: StoryRun) -> None:
    text = asked(run, *DAY)
    assert max(map(len, text.splitlines())) <= 100
    assert "inside what it calls manageable" in text
    assert "recalled, not read" in text
