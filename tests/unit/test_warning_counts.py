"""Random day-books of warnings, counted second by second by hand and by the program."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.report.warning_figures import WarningFigures, warning_figures
from monitor.report.warning_history import Moment
from monitor.report.warning_rates import both, floods, joined, most_at_once, most_within, peak, total_ms
from monitor.report.warning_reading import read_history
from tests.support.warned_days import START_MS, Book

instants = st.lists(st.integers(0, 120), max_size=40).map(sorted)
stretches = st.lists(st.tuples(st.integers(0, 50), st.integers(1, 20)).map(lambda t: (t[0], t[0] + t[1])), max_size=8)


@given(instants, st.integers(1, 30))
def test_the_most_in_any_stretch(found: list[int], width: int) -> None:
    most = max((sum(a <= t < a + width for t in found) for a in range(-1, 122)), default=0)
    assert peak(found, width).most == most
    assert most_within(found, width) == max((sum(a <= t <= a + width for t in found) for a in found), default=0)
    begin = peak(found, width).from_ms
    assert (begin is None) == (not found)
    assert begin is None or sum(begin <= t < begin + width for t in found) == most


@given(instants, st.integers(2, 6), st.integers(1, 3), st.integers(5, 40))
def test_floods_instant_by_instant(found: list[int], above: int, below: int, width: int) -> None:
    flooded, seconds = False, set()
    for now in range(0, 300):
        count = sum(now - width < t <= now for t in found)
        flooded = count > above if not flooded else count >= below
        if flooded:
            seconds.add(now)
    spells = floods(found, above, below, width)
    assert {now for a, b in spells for now in range(a, b)} == seconds
    assert total_ms(spells) == len(seconds)


@given(stretches, stretches)
def test_stretches_joined_and_in_common(some: list[tuple[int, int]], others: list[tuple[int, int]]) -> None:
    def covered(spells: list[tuple[int, int]]) -> set[int]:
        return {now for a, b in spells for now in range(a, b)}

    apart = joined(some)
    assert covered(apart) == covered(some)
    assert total_ms(apart) == len(covered(some))
    assert covered(both(apart, joined(others))) == covered(some) & covered(others)
    assert most_at_once(some) == max((sum(a <= now < b for a, b in some) for now in range(80)), default=0)


LIMITS, GAPS_S = ("damp", "dry"), (0, 1, 10, 20, 30, 59, 60, 61, 200, 601)
DEEDS = ("warn", "warn", "warn", "clear", "see", "hush", "hear")
deeds = st.lists(
    st.tuples(st.sampled_from(GAPS_S), st.sampled_from(LIMITS), st.sampled_from(DEEDS)), min_size=1, max_size=60
)


@dataclass
class Plain:
    """One warning, told by the words of the definitions.

    Attributes:
        stands, silent: for each second since the beginning, whether it did.
        given, seen: instants of warnings given; how long each took to be seen, where it was.
    """

    stands: list[bool] = field(default_factory=list)
    silent: list[bool] = field(default_factory=list)
    given: list[int] = field(default_factory=list)
    seen: list[int] = field(default_factory=list)


def day_of(done: list[tuple[int, str, str]]) -> tuple[Book, dict[str, Plain], int]:
    """Write a day-book of what can befall two warnings, and note each second what is the case."""
    book, now = Book(), 0
    plain = {name: Plain() for name in LIMITS}
    state: dict[str, dict[str, Any]] = {name: {"stands": False, "silent": False, "unseen": []} for name in LIMITS}

    def pass_to(second: int) -> None:
        for name in LIMITS:
            rest = second - len(plain[name].stands)
            plain[name].stands += [state[name]["stands"]] * rest
            plain[name].silent += [state[name]["silent"]] * rest

    for gap, name, deed in done:
        now += gap
        pass_to(now)
        is_now = state[name]
        if deed == "warn" and not is_now["silent"]:
            book.warn(now, limit=name, level="65")
            is_now["stands"] = True
            is_now["unseen"].append(now)
            plain[name].given.append(now)
        elif deed == "clear" and is_now["stands"]:
            book.clear(now, limit=name, state="returned_unacknowledged" if is_now["unseen"] else "normal")
            is_now["stands"] = False
        elif deed == "see" and is_now["unseen"]:
            book.see(now, limit=name)
            plain[name].seen += [now - then for then in is_now["unseen"]]
            is_now["unseen"] = []
        elif deed == "hush" and not is_now["silent"]:
            book.hush(now, "alarm_shelved", limit=name)
            is_now.update(silent=True, stands=False, unseen=[])
        elif deed == "hear" and is_now["silent"]:
            book.hear(now, "alarm_unshelved", limit=name)
            is_now["silent"] = False
    pass_to(now + 100)
    return book, plain, now + 100


@settings(max_examples=150, deadline=None)
@given(deeds, st.integers(0, 3000), st.integers(1, 12_000))
def test_random_days_counted_second_by_second(done: list[tuple[int, str, str]], begin: int, length: int) -> None:
    count_again(done, begin, length)


@pytest.mark.parametrize("seed", range(12))
def test_days_thick_with_warnings_counted_second_by_second(seed: int) -> None:
    dice = random.Random(seed)
    done = [(dice.choice(GAPS_S[:5]), dice.choice(LIMITS), dice.choice(DEEDS)) for _ in range(200)]
    figures = count_again(done, dice.randrange(2000), 6000)
    assert figures.rates.flood_ms > 0


def count_again(done: list[tuple[int, str, str]], begin: int, length: int) -> WarningFigures:
    """Hold the figures of a day against a count of its seconds."""
    book, plain, last = day_of(done)
    end = begin + length
    newest = Moment(1, last * 1000, START_MS + last * 1000)
    history = read_history(book.rows, book.segments, newest)
    found = warning_figures(history, START_MS + begin * 1000, START_MS + end * 1000)

    given_at = sorted(t for one in plain.values() for t in one.given)
    inside = [t for t in given_at if begin <= t < end]
    assert found.given == len(inside)
    assert found.ran_ms == max(0, min(end, last) - begin) * 1000
    assert found.rates.hour.most == max((sum(a <= t < a + 3600 for t in inside) for a in inside), default=0)
    flooded, seconds = False, 0
    for now in range(0, min(end, last)):
        count = sum(now - 600 < t <= now for t in given_at)
        flooded = count > 10 if not flooded else count >= 5
        seconds += flooded and now >= begin
    assert found.rates.flood_ms == seconds * 1000
    assert found.stood_before == sum(one.stands[min(begin, last) - 1] for one in plain.values() if begin)
    silent = sum(one.silent[now] for one in plain.values() for now in range(begin, min(end, last)))
    assert found.hushed[0].total_ms == silent * 1000
    took = sorted(one.seen_after_ms for one in history.given if one.seen_after_ms is not None)
    assert took == sorted(1000 * s for one in plain.values() for s in one.seen)
    of_day = {name: [t for t in one.given if begin <= t < end] for name, one in plain.items()}
    chatter = {name for name, some in of_day.items() if any(sum(a <= t <= a + 60 for t in some) >= 3 for a in some)}
    assert {one.key[1] for one in found.chattering} == chatter
    return found
