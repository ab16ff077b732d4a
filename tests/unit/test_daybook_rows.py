"""The day-book's row: canonical form, hash, registry."""

from __future__ import annotations

import hashlib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from monitor.bench.events import ENVELOPE, canonical, decimal, row_hash
from monitor.bench.kinds import KINDS, check_body

ROW: dict[str, Any] = {
    "v": 1, "seq": 7, "id": "b-1-7", "kind": "note_written", "at_ms": 1, "segment": 1, "boot": 1, "mono_ms": 1,
    "board": "b", "bench": None, "step": "s1", "by": "MK", "verified": False, "via": "command",
    "body": {"text": "été"}, "prev": "0" * 64,
}  # fmt: skip


def test_the_hash_of_a_known_row_never_changes() -> None:
    """Written out by hand, so that nobody changes the envelope or its order unseen."""
    text = (
        '{"at_ms":1,"bench":null,"board":"b","body":{"text":"été"},"boot":1,"by":"MK","id":"b-1-7",'
        '"kind":"note_written","mono_ms":1,"prev":"' + "0" * 64 + '","segment":1,"seq":7,"step":"s1","v":1,'
        '"verified":false,"via":"command"}'
    )
    assert row_hash(ROW) == hashlib.sha256(text.encode()).hexdigest()


@pytest.mark.parametrize("field", ENVELOPE)
def test_every_field_of_the_envelope_is_under_the_hash(field: str) -> None:
    assert row_hash({**ROW, field: "changed"}) != row_hash(ROW)


@pytest.mark.parametrize("body", [{"a": 1.0}, {"a": [{"b": 2.5}]}, {"a": float("nan")}])
def test_a_float_is_refused_wherever_it_hides(body: dict[str, Any]) -> None:
    with pytest.raises(TypeError, match="decimal string"):
        canonical(body)


@given(st.floats(-1e6, 1e6), st.integers(0, 3))
def test_decimals_read_back_and_know_no_minus_zero(value: float, places: int) -> None:
    text = decimal(value, places)
    assert abs(float(text) - value) <= 0.5 * 10**-places * (1 + 1e-9)
    assert not text.startswith("-") or float(text) != 0


def test_kinds_refuse_what_is_not_registered() -> None:
    check_body("note_written", {"text": "x"})
    for kind, body, says in (
        ("nothing", {}, "not registered"),
        ("note_written", {}, "fields text"),
        ("note_written", {"text": 3}, "expected str"),
        ("step_finished", {"sheet": "room", "seconds": True}, "expected int"),
    ):
        with pytest.raises(ValueError, match=says):
            check_body(kind, body)


def test_every_reserved_request_has_a_kind_and_every_kind_says_what_it_means() -> None:
    reserved = {"see", "reset", "shelve", "unshelve", "suppress", "out_of_service", "release"}
    assert {f"{name}_asked" for name in reserved} <= {key for key, _ in KINDS}
    assert all(k.says.endswith(".") for k in KINDS.values())
