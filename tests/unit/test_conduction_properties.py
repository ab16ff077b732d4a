"""What must hold for any stack: superposition, the maximum principle, and the same answer upside down."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from monitor.science.conduction import Convective, Fixed, Insulated, Layer, SemiInfinite, temperatures
from monitor.science.conduction.layers import Boundary

LAYER = st.builds(
    Layer, st.floats(20e-6, 0.02), st.floats(0.03, 50.0), st.floats(100.0, 8000.0), st.floats(400.0, 4200.0)
)
TEMP = st.floats(-20.0, 90.0)
MANY = settings(max_examples=60)


def boundaries(temp: st.SearchStrategy[float]) -> st.SearchStrategy[Boundary]:
    return st.one_of(
        st.builds(Fixed, temp),
        st.builds(Convective, temp, st.floats(2.0, 2000.0)),
        st.just(Insulated()),
        st.builds(SemiInfinite, LAYER),
    )


@dataclass(frozen=True)
class Case:
    """A stack with its ends, start, contacts, and what is asked of it."""

    layers: list[Layer]
    initial_c: list[float]
    top: Boundary
    bottom: Boundary
    contact_w_m2k: list[float]
    times_s: list[float]
    shares: list[float]

    @property
    def thickness_m(self) -> float:
        return sum(layer.thickness_m for layer in self.layers)

    def run(self, cells: int | None = 8) -> np.ndarray:
        """Ask for the temperatures, with so many cells for each body, or as many as it chooses itself."""
        bodies = len(self.layers) + sum(isinstance(end, SemiInfinite) for end in (self.top, self.bottom))
        return temperatures(
            self.layers, initial_c=self.initial_c, top=self.top, bottom=self.bottom, times_s=self.times_s,
            depths_m=np.array(self.shares) * self.thickness_m, contact_w_m2k=self.contact_w_m2k,
            cells=cells and [cells] * bodies,
        )  # fmt: skip


@st.composite
def cases(draw: st.DrawFn) -> Case:
    count = draw(st.integers(1, 4))
    contact = st.one_of(st.floats(10.0, 5000.0), st.just(inf))
    return Case(
        draw(st.lists(LAYER, min_size=count, max_size=count)),
        draw(st.lists(TEMP, min_size=count, max_size=count)),
        draw(boundaries(TEMP)),
        draw(boundaries(TEMP)),
        draw(st.lists(contact, min_size=count - 1, max_size=count - 1)),
        sorted(draw(st.lists(st.floats(0.1, 1e5), min_size=1, max_size=4))),
        [0.0, 1.0, *draw(st.lists(st.floats(0.0, 1.0), max_size=5))],
    )


@settings(max_examples=25)
@given(cases())
def test_nothing_becomes_hotter_or_colder_than_all_that_acts(case: Case) -> None:
    acting = [
        *case.initial_c,
        *(end.temp_c for end in (case.top, case.bottom) if isinstance(end, Fixed | Convective)),
    ]
    found = case.run(cells=None)
    assert found.min() >= min(acting) - 1e-5
    assert found.max() <= max(acting) + 1e-5


@MANY
@given(cases())
def test_a_stack_upside_down_is_the_same(case: Case) -> None:
    # away from contacts, whose two faces change places
    shares = [share for share in (0.013, 0.29, 0.57, 0.83) if _within_a_layer(case, share)]
    over = Case(
        case.layers[::-1], case.initial_c[::-1], case.bottom, case.top, case.contact_w_m2k[::-1], case.times_s,
        [1 - share for share in shares],
    )  # fmt: skip
    here = Case(case.layers, case.initial_c, case.top, case.bottom, case.contact_w_m2k, case.times_s, shares)
    assert np.allclose(here.run(), over.run(), rtol=0, atol=1e-5)


def _within_a_layer(case: Case, share: float) -> bool:
    faces = np.cumsum([layer.thickness_m for layer in case.layers]) / case.thickness_m
    return bool(np.abs(faces - share).min() > 1e-9)


def scaled(end: Boundary, factor: float, other: Boundary | None = None) -> Boundary:
    """Give an end with its temperature times a factor, plus another's."""
    if not isinstance(end, Fixed | Convective):
        return end
    more = other.temp_c if isinstance(other, Fixed | Convective) else 0.0
    assert not callable(end.temp_c)
    assert not callable(more)
    temp = factor * end.temp_c + more
    return Fixed(temp) if isinstance(end, Fixed) else Convective(temp, end.coefficient_w_m2k)


@MANY
@given(cases(), st.floats(-3.0, 3.0), TEMP, TEMP)
def test_what_acts_adds_up(case: Case, factor: float, start_c: float, end_c: float) -> None:
    starts = [start_c + n for n in range(len(case.layers))]
    ends = [scaled(end, 0.0, Fixed(end_c)) for end in (case.top, case.bottom)]
    other = Case(case.layers, starts, *ends, case.contact_w_m2k, case.times_s, case.shares)
    both = Case(
        case.layers, [factor * a + b for a, b in zip(case.initial_c, starts, strict=True)],
        scaled(case.top, factor, ends[0]), scaled(case.bottom, factor, ends[1]),
        case.contact_w_m2k, case.times_s, case.shares,
    )  # fmt: skip
    assert np.allclose(both.run(), factor * case.run() + other.run(), rtol=0, atol=1e-5)


@MANY
@given(cases(), TEMP)
def test_what_is_even_stays_even(case: Case, temp: float) -> None:
    ends = [scaled(end, 0.0, Fixed(temp)) for end in (case.top, case.bottom)]
    even = Case(case.layers, [temp] * len(case.layers), *ends, case.contact_w_m2k, case.times_s, case.shares)
    assert np.allclose(even.run(), temp, rtol=0, atol=1e-9)
