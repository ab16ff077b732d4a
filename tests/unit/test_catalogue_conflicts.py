"""Heat that an adhesive needs against what bears it: pair by pair, told and never averaged."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from monitor.catalogue import Catalogue, check_config, conflicts, load
from monitor.catalogue.conflicts import warnings
from tests.support.catalogues import write

EXAMPLE = Path(__file__).parents[2] / "deploy/studio.example.toml"


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return load()


def test_every_pair_is_held_against_each_other(catalogue: Catalogue) -> None:
    """Walks all pairs anew: a conflict is told exactly where the least heat lies above the ceiling."""
    expected = set()
    for film in catalogue.adhesives.values():
        least = film.value("bond_line_min_c")
        bearing = [("front", e.key, e.value("face_ceiling_c")) for e in catalogue.fronts.values()]
        bearing += [("support", e.key, e.value("paint_ceiling_c")) for e in catalogue.supports.values()]
        bearing += [("sandwich", e.key, e.value("face_ceiling_c")) for e in catalogue.sandwiches.values()
                    if e.film == film.key]  # fmt: skip
        for kind, key, ceiling in bearing:
            if least is not None and ceiling is not None and ceiling < least:
                expected.add((film.key, kind, key))
    found = [(one.adhesive, one.kind, one.key) for one in conflicts(catalogue)]
    assert len(found) == len(set(found))
    assert set(found) == expected
    assert {kind for _, kind, _ in found} == {"front", "support", "sandwich"}


def test_equal_is_no_conflict(catalogue: Catalogue) -> None:
    assert catalogue.adhesives["acrylic-303"].value("bond_line_min_c") == 50
    assert catalogue.fronts["paint"].value("face_ceiling_c") == 50
    assert conflicts(catalogue, "acrylic-303", front="paint") == []


def test_a_step_asks_for_its_own_adhesive_front_and_support(catalogue: Catalogue) -> None:
    (one,) = conflicts(catalogue, "eva-film-2010", front="paint")
    assert one.words == (
        "EVA heat-seal film, formula of 2010 needs 70 degC (cited) and the ceiling of paint is 50 degC (proposal); "
        "both can be kept only while the heat has not gone through, or by another method."
    )
    assert conflicts(catalogue, "eva-film-2010", front="bare margin") == []
    both = conflicts(catalogue, "eva-film-2010", front="paint with impasto", support="acrylic")
    assert [(one.kind, one.key, one.ceiling.value) for one in both] == [
        ("front", "paint-with-impasto", 45), ("support", "acrylic", 40),
    ]  # fmt: skip
    assert conflicts(catalogue, "polyamide-powder", front="paint", support="unknown") == []


def test_what_lies_in_front_is_named_as_the_start_of_a_step_asks_it(catalogue: Catalogue) -> None:
    (asked,) = [q for q in catalogue.sheet("heat-seal-spatula").asks if q.key == "what-lies-in-front"]
    assert tuple(front.name for front in catalogue.fronts.values()) == asked.choices


def test_both_figures_stay_as_they_are(catalogue: Catalogue) -> None:
    for one in conflicts(catalogue):
        assert one.least == catalogue.adhesives[one.adhesive].figures["bond_line_min_c"]
        assert one.least.value != one.ceiling.value
        assert f"{one.least.value:g} degC ({one.least.grade})" in one.words
        assert f"{one.ceiling.value:g} degC ({one.ceiling.grade})" in one.words
        assert one.as_json()["ceiling_c"] == one.ceiling.value


def test_figures_that_disagree_stand_side_by_side_and_name_each_other(catalogue: Catalogue) -> None:
    for where, other in catalogue.differs.items():
        kind, key, name = where.split(".")
        entry = {"adhesive": catalogue.adhesives, "front": catalogue.fronts}[kind][key]
        assert catalogue.differs[other] == where
        assert entry.value(name) != entry.value(other.split(".")[2])
    old = catalogue.adhesives["eva-film-original"]
    assert (old.value("bond_line_min_c"), old.value("later_min_c")) == (65, 70)


def test_the_configurations_check_warns(tmp_path: Path) -> None:
    told = [warning for warning in check_config(EXAMPLE) if warning.startswith(("sandwich ", "adhesive "))]
    assert told == warnings(load())
    assert told[0].startswith("sandwich strip-on-margin-film-before-2010: ")
    assert "needs 65 degC (cited) and the face's ceiling is 50 degC (proposal)" in told[0]
    assert "needs 70 degC (cited) and the face's ceiling is 50 degC (proposal)" in told[1]
    names = [warning.split()[1] for warning in told[2:]]
    assert len(names) == len(set(names)), "one warning an adhesive"
    (nap,) = [warning for warning in told if warning.startswith("adhesive acrylic-d540-k360-nap ")]
    assert nap == (
        "adhesive acrylic-d540-k360-nap needs 42 degC (proposal): too warm for fill or overpaint, unknown, at most "
        "40 degC (proposal); wax resin lined, acrylic, at most 40 degC (published)."
    )
    own = '[front.paint]\nface_ceiling_c = { value = 41, unit = "degC", grade = "own test" }\n'
    told = check_config(EXAMPLE, write(tmp_path, {"supports.toml": own}))
    assert any("adhesive acrylic-d540-k360-nap " in w and "paint, at most 41 degC (own test)" in w for w in told)


def test_no_adhesive_has_a_default_where_none_was_found(catalogue: Catalogue) -> None:
    without = {
        "eva-film-2017",
        "eva-brushed-coat",
        "eva-gel",
        "polyamide-powder",
        "polyvinyl-acetate",
        "another-film",
    }
    for key in without:
        assert catalogue.adhesives[key].value("bond_line_min_c") is None
    powder = catalogue.adhesives["polyamide-powder"]
    assert [figure.value for figure in powder.figures.values()] == [None, None]


def test_supports_say_what_to_beware_of(catalogue: Catalogue) -> None:
    assert list(catalogue.supports) == [
        "glue-sized-linen", "suspected-shrinker", "glue-paste-lined", "wax-resin-lined", "acrylic", "unknown",
    ]  # fmt: skip
    for support in catalogue.supports.values():
        assert len(support.beware) >= 2
        assert all(said.source in catalogue.sources and said.text.endswith(".") for said in support.beware)
    ceilings = {key: support.value("paint_ceiling_c") for key, support in catalogue.supports.items()}
    assert ceilings == dict.fromkeys(catalogue.supports, 50) | dict.fromkeys(
        ("wax-resin-lined", "acrylic", "unknown"), 40
    )
    for pair in itertools.combinations(catalogue.supports.values(), 2):
        assert pair[0].beware != pair[1].beware
