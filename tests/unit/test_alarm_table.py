"""The warning's states: the whole product, and row by row against the published list."""

from __future__ import annotations

from itertools import product

import pytest

from monitor.bench.alarms import CAN_BE_SEEN, SCREEN_WORDS, SHOWN, TABLE, AlarmState, Happening, follow
from tests.support import reference

S, H = AlarmState, Happening
ROWS = reference.rows("alarm_states")

LETTERS = {
    "Normal (A)": S.NORMAL, "Unacknowledged alarm (B)": S.UNACKNOWLEDGED, "B": S.UNACKNOWLEDGED,
    "Acknowledged alarm (C)": S.ACKNOWLEDGED, "C": S.ACKNOWLEDGED, "RTN unacknowledged (D)": S.RETURNED,
    "D": S.RETURNED, "Latched unacknowledged (E)": S.LATCHED_UNACKNOWLEDGED, "E": S.LATCHED_UNACKNOWLEDGED,
    "Latched acknowledged (F)": S.LATCHED, "F": S.LATCHED, "Shelved (G)": S.SHELVED, "G": S.SHELVED,
    "Suppressed by design (H)": S.SUPPRESSED, "Out of service (I)": S.OUT_OF_SERVICE,
}  # fmt: skip
HAPPENINGS = {
    "condition true after on-delay": H.RAISE, "acknowledge": H.SEE, "return to normal": H.RETURN,
    "return to normal, auto-ack alarm": H.RETURN, "condition true again (re-alarm)": H.WORSEN,
    "condition true": H.RAISE, "reset": H.RESET, "operator shelves": H.SHELVE,
    "timer ends or operator unshelves": H.UNSHELVE, "designed suppression": H.SUPPRESS,
    "removed for maintenance": H.REMOVE, "released": H.RELEASE,
}  # fmt: skip


def test_every_pair_of_state_and_happening_is_listed() -> None:
    assert set(TABLE) == set(product(S, H))


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['from']}, {row['event']}")
def test_each_published_transition(row: dict[str, str]) -> None:
    latching = row["from"].startswith("latched: ")
    named = row["from"].removeprefix("latched: ")
    starts = list(S) if named == "any" else [LETTERS[part] for part in _split(named)]
    for start, condition in product(starts, (True, False)):
        got = follow(
            start, HAPPENINGS[row["event"]],
            condition=condition, latching=latching, must_be_seen="auto-ack" not in row["event"],
        )  # fmt: skip
        if row["to"] == "Normal or Unacknowledged alarm":
            assert got is (S.UNACKNOWLEDGED if condition else S.NORMAL)
        else:
            assert got is LETTERS[row["to"]]


def _split(named: str) -> list[str]:
    return ["Suppressed by design (H)", "Out of service (I)"] if named == "H or I" else [named]


def test_what_a_person_may_not_ask() -> None:
    refused = {
        (s, h) for s, h in product(S, H)
        if follow(s, h, condition=True, latching=False, must_be_seen=True) is None
    }  # fmt: skip
    assert (S.NORMAL, H.SEE) in refused
    assert (S.UNACKNOWLEDGED, H.RESET) in refused
    assert (S.LATCHED, H.RESET) not in refused
    assert not {h for s, h in refused} & {H.RAISE, H.RETURN, H.SHELVE, H.SUPPRESS, H.REMOVE}


def test_a_silent_warning_hears_nothing() -> None:
    for state, happening in product((S.SHELVED, S.SUPPRESSED, S.OUT_OF_SERVICE), (H.RAISE, H.WORSEN, H.RETURN)):
        assert follow(state, happening, condition=True, latching=True, must_be_seen=True) is state


def test_every_state_has_its_words_and_what_is_unseen_is_shown() -> None:
    assert set(SCREEN_WORDS) == set(S)
    assert CAN_BE_SEEN <= SHOWN
    assert S.NORMAL not in SHOWN
