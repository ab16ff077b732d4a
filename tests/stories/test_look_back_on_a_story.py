"""Look back over the store of a played story: what the pages read is what the store gives."""

from __future__ import annotations

from collections.abc import Callable

import plotly.graph_objects as go
import pytest

from dashboard.look_back import Wish, choices, seen
from dashboard.past import steps
from monitor.store.store import Store
from tests.support.stories import StoryRun


@pytest.mark.long
def test_a_played_step_can_be_looked_back_at(story_run: Callable[[str], StoryRun]) -> None:
    run = story_run("strip-lining")
    store = Store.open(run.data, read_only=True)
    try:
        channels = [name for name, _ in choices(store)]
        (step,) = [s for s in steps(store) if s.painting is not None]
        told = seen(store, Wish("step", channels, step=step.step), step.to_ms, "day")
        alone = seen(store, Wish("step", ["spatula.tool_temperature"], step=step.step), step.to_ms, "day")
    finally:
        store.close()
    figure = go.Figure(told["spec"]["data"], told["spec"]["layout"], skip_invalid=False)
    assert len(figure.data) == 2 * len(channels) == 6
    assert not told["empty"]
    assert all(row["text"] for row in told["rows"])
    assert {limit.at for limit in step.limits if limit.channel == "spatula.tool_temperature"} == {65.0, 85.0}
    line = alone["spec"]["data"][1]
    values = [value for value in line["y"] if value is not None]
    assert 60 < max(values) < 95
    assert None in line["y"], "the lead that opens in mid-contact must stay an open gap"
