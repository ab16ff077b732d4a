"""The store's contract: what is written comes back, whole or not at all, on both stores."""

from __future__ import annotations

from collections.abc import Callable

import pytest
import sqlalchemy as sa

from monitor.bench.outputs import Draft, Estimate
from monitor.bench.readings import Quality, Reading
from monitor.errors import StoreError
from monitor.store.batch import Batch, Position, Snapshot
from monitor.store.integrity import check, counts
from monitor.store.store import Store
from tests.support.drafts import STEP, contact, draft, note, painting, step_started, whole_step
from tests.support.stores import NOON, RH, STUDIO, TOOL, begin, segment

ODD = [0.1, 1 / 3, 5e-324, -2.2250738585072014e-308, 1.7976931348623157e308, 45.0078125, -17.77, 0.30000000000000004]


def test_floats_come_back_to_the_last_bit(begun: Store) -> None:
    begun.write(Batch(segment(), [Reading(i, RH, value) for i, value in enumerate(ODD)]))
    assert [row.value.hex() for row in begun.readings(RH, 0, 2 * NOON) if row.value is not None] == [
        value.hex() for value in ODD
    ]


def test_negative_zero_reads_back_as_zero_on_both(begun: Store) -> None:
    begun.write(Batch(segment(), [Reading(1, RH, -0.0)]))
    assert [str(row.value) for row in begun.readings(RH, 0, 2 * NOON)] == ["0.0"]


def test_every_quality_comes_back(begun: Store) -> None:
    given = [Reading(i, RH, None if q.is_gap else 100.0, q) for i, q in enumerate(Quality)]
    begun.write(Batch(segment(), given))
    stored = list(begun.readings(RH, NOON, NOON + 100))
    assert [(row.at_ms - NOON, row.value, row.quality) for row in stored] == [
        (r.mono_ms, r.value, r.quality) for r in given
    ]
    assert {row.segment for row in stored} == {1}


def test_readings_are_given_from_inclusive_to_exclusive_and_in_pages(
    begun: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("monitor.store.reading.PAGE", 7)
    begun.write(Batch(segment(), [Reading(i * 10, TOOL, float(i)) for i in range(50)]))
    assert [row.value for row in begun.readings(TOOL, NOON + 100, NOON + 300)] == [float(i) for i in range(10, 30)]
    from monitor.store.reading import iter_readings

    paged = iter_readings(begun.engine, begun.channel_id(TOOL), NOON, NOON + 1000, page=7)
    assert [row.value for row in paged] == [float(i) for i in range(50)]


def test_a_repeated_reading_is_stored_once(begun: Store) -> None:
    again = [Reading(5, RH, 50.0), Reading(6, RH, 51.0), Reading(5, RH, 50.0)]
    begun.write(Batch(segment(), again))
    begun.write(Batch(segment(), again))
    assert [row.value for row in begun.readings(RH, 0, 2 * NOON)] == [50.0, 51.0]
    assert check(begun) == []


@pytest.mark.parametrize("known", [True, False])
def test_another_reading_at_the_same_instant_is_refused(begun: Store, known: bool) -> None:
    begun.write(Batch(segment(known=known), [Reading(5, RH, 50.0)]))
    with pytest.raises(StoreError, match=r"a second reading 51\.0.*the stored 50\.0"):
        begun.write(Batch(segment(known=known), [Reading(5, RH, 51.0)]))


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_no_number_is_no_reading(begun: Store, value: float) -> None:
    with pytest.raises(StoreError, match="finite number"):
        begun.write(Batch(segment(), [Reading(5, RH, value)]))
    assert counts(begun)["readings"] == 0


def test_an_undeclared_channel_is_refused(begun: Store) -> None:
    with pytest.raises(StoreError, match=r"channel loft\.air_temperature: not in this store"):
        begun.write(Batch(segment(), [Reading(5, "loft.air_temperature", 20.0)]))
    with pytest.raises(StoreError, match="Name one of these"):
        list(begun.readings("loft.air_temperature", 0, 1))


BAD_ENDS = {
    "a body that does not fit": Batch(segment(), drafts=[Draft("note_written", 1, {"words": "x"})]),
    "a float in a body": Batch(segment(), drafts=[Draft("settings_in_force", 1, {"engine": 1, "channels": [0.5]})]),
    "an unknown kind": Batch(segment(), drafts=[Draft("made_up", 1, {})]),
    "too large a state": Batch(segment(), snapshot=Snapshot(Position(1, 1, 3, "", 0), None, 1, "x" * 65_537)),
    "a step started twice": Batch(segment(), drafts=[step_started(1), step_started(2)]),
    "no finite number": Batch(segment(), [Reading(9, RH, float("nan"))]),
    "another offset": Batch(segment(at_ms=NOON + 1)),
    "another boot": Batch(segment(boot=2)),
    "the same estimate twice": Batch(segment(), estimates=[Estimate(9, STEP, "left", 1, 1, "face", 1, 2, 3)] * 2),
}


@pytest.mark.parametrize("bad", BAD_ENDS.values(), ids=list(BAD_ENDS))
def test_a_failing_row_leaves_nothing_of_its_transaction(begun: Store, bad: Batch) -> None:
    begun.write(Batch(segment(), [Reading(1, RH, 50.0)], [note(1)]))
    before = counts(begun)
    good = Batch(
        segment(), [Reading(70_000, RH, 51.0)], [note(2), painting(3)],
        [Estimate(8, STEP, "left", 1, 1, "face", 1, 2, 3)],
        Snapshot(Position(1, 2, 3, "", 0), NOON, 1, "{}"), {"r1": {"ok": True}},
    )  # fmt: skip
    with pytest.raises((StoreError, ValueError, TypeError, sa.exc.IntegrityError)):
        begun.write_all([good, bad])
    assert counts(begun) == before
    assert begun.answer("r1") is None
    rows = begun.write_all([good])[0]
    assert [row["seq"] for row in rows] == [2, 3]
    begun.write(Batch(segment(), [], [step_started(80_000)]))
    assert check(begun) == []


def test_answers_are_given_again_for_a_day(begun: Store) -> None:
    begun.write(Batch(segment(), [], [note(1000)], answers={"r1": {"ok": True, "result": {"step": "s1"}}}))
    begun.write(Batch(segment(), [], [note(2000)], answers={"r1": {"ok": False}}))
    day = 86_400_000
    assert begun.prune_answers(NOON + 1000 + day) == 0
    assert begun.answer("r1") == {"ok": True, "result": {"step": "s1"}}
    assert begun.prune_answers(NOON + 1001 + day) == 1
    assert begun.answer("r1") is None


def test_the_same_studio_declared_twice_adds_nothing(begun: Store) -> None:
    before = counts(begun)
    numbers = {row.name: row.channel_id for row in begun.channels()}
    begin(begun)
    assert {row.name: row.channel_id for row in begun.channels()} == numbers
    assert counts(begun) == {**before, "boots": before["boots"] + 1}
    assert begun.boot == 2


def test_what_a_studio_declares_is_there(begun: Store) -> None:
    assert [(row.name, row.unit, row.interval_ms, row.bench) for row in begun.channels()] == [
        ("air.air_temperature", "degC", 1000, "long table"),
        ("air.relative_humidity", "%RH", 1000, "long table"),
        ("spatula.tool_temperature", "degC", 200, "long table"),
    ]
    assert [(row.probe, row.instrument, row.thermocouple) for row in begun.probes()] == [
        ("air", "sht45 0x1234", ""),
        ("spatula", "max31856 at spatula", "K"),
    ]
    assert begun.board == STUDIO.board


def test_steps_bindings_contacts_and_paintings_follow_the_rows(begun: Store) -> None:
    begun.write(Batch(segment(), [], whole_step()))
    (step,) = begun.steps()
    assert (step.step, step.title, step.painting, step.stage, step.started_by) == (
        STEP, "Strip-lining", "2026/14", "contacts", "MK",
    )  # fmt: skip
    assert (step.started_at_ms, step.finished_at_ms) == (NOON + 1010, NOON + 61_000)
    (binding,) = begun.bindings(STEP)
    assert (binding.probe, binding.touches, binding.from_at_ms, binding.to_at_ms) == (
        "spatula", "the tool", NOON + 1010, NOON + 61_000,
    )  # fmt: skip
    assert [(c.place, c.milliseconds, c.verdict, c.voided) for c in begun.contacts(STEP)] == [
        (1, 20_000, "reached", None),
        (2, None, None, "wrong place"),
        (2, 12_000, "not reached", None),
    ]
    assert [(p.number, p.name, p.bench) for p in begun.paintings()] == [("2026/14", "Harbour at dusk", "long table")]
    assert check(begun) == []


def test_a_painting_entered_again_is_corrected(begun: Store) -> None:
    begun.write(Batch(segment(), [], [painting(1), painting(2, name="Harbour at dawn")]))
    assert [(p.name, p.seq) for p in begun.paintings()] == [("Harbour at dawn", 1)]


def test_a_painting_handed_back_may_come_again(begun: Store) -> None:
    back = draft("painting_handed_back", 500, {"number": "2026/14", "name": "Harbour at dusk"})
    begun.write(Batch(segment(), [], [painting(1), back]))
    assert [(p.handed_back_seq, p.handed_back_at_ms) for p in begun.paintings()] == [(2, NOON + 500)]
    begun.write(Batch(segment(), [], [painting(900)]))
    assert [(p.handed_back_seq, p.handed_back_at_ms) for p in begun.paintings()] == [(None, None)]
    assert check(begun) == []


def test_estimates_come_back_in_order_with_their_bench(begun: Store) -> None:
    begun.write(Batch(segment(), [], [painting(1), step_started(2), contact("contact_started", 3, 1)]))
    given = [
        Estimate(t, STEP, "left", 1, 1, depth, 60.1, 61.25, 1 / 3, None if t == 100 else 0.5)
        for t in (200, 100)
        for depth in ("face", "bond line")
    ]
    begun.write(Batch(segment(), estimates=given))
    rows = list(begun.estimates(STEP))
    assert [(row.mono_ms, row.depth) for row in rows] == [
        (100, "bond line"), (100, "face"), (200, "bond line"), (200, "face"),
    ]  # fmt: skip
    assert {(row.bench, row.at_ms - row.mono_ms, row.p05, row.p50, row.p95) for row in rows} == {
        ("long table", NOON, 60.1, 61.25, 1 / 3)
    }
    assert [row.p_reached for row in rows] == [None, None, 0.5, 0.5]


def test_readers_see_what_is_committed_and_cannot_write(begun: Store, open_place: Callable[..., Store]) -> None:
    reader = open_place(read_only=True)
    begun.write(Batch(segment(), [Reading(1, RH, 50.0)], [note(1)]))
    assert [row.value for row in reader.readings(RH, 0, 2 * NOON)] == [50.0]
    assert reader.board == STUDIO.board
    with pytest.raises(StoreError, match="opened for reading"):
        reader.write(Batch(segment()))
    for store in (reader, begun):
        with pytest.raises(sa.exc.DBAPIError), store.engine.begin() as connection:
            connection.exec_driver_sql("DELETE FROM readings")
    assert counts(begun)["readings"] == 1


def test_a_lost_connection_is_made_anew(begun: Store, writing: sa.Engine) -> None:
    """PostgreSQL is restarted, as it is by an upgrade; SQLite has no server, and nothing happens to it."""
    begun.write(Batch(segment(), [Reading(1, RH, 50.0)]))
    if writing.dialect.name == "postgresql":
        with writing.connect() as connection:
            ended = connection.exec_driver_sql(
                "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            ).scalar_one()
        assert ended >= 2
    begun.write(Batch(segment(), [Reading(2, RH, 51.0)]))
    assert [row.value for row in begun.readings(RH, 0, 2 * NOON)] == [50.0, 51.0]
