"""One station a store, whichever kind it is."""

from __future__ import annotations

import pytest

from monitor.errors import BlotterError
from monitor.station.places import opened_store


def test_a_second_station_is_refused_and_a_later_one_is_not(place: str) -> None:
    with (
        opened_store(place),
        pytest.raises(BlotterError, match="another station"),
        opened_store(place),
    ):
        raise AssertionError("two stations write one store")
    with opened_store(place) as store:
        assert not store.read_only
