"""Every public formula stands in the catalogue with its source, its range and a test, and nothing else does."""

from __future__ import annotations

import ast
import inspect
from functools import cache
from importlib import import_module
from pathlib import Path
from types import ModuleType

import pytest

from monitor.catalogue import Catalogue, Formula, load
from monitor.figures import NEEDS_LOCATOR, Grade

ROOT = Path(__file__).parents[2]
MODULES = (
    "humidity", "salts", "size", "canvas", "climate", "thermocouple", "resistance", "conduction", "solvents",
    "uncertainty",
)  # fmt: skip
NO_FORMULA = {
    "climate.record": "puts a series together and computes nothing",
    "conduction.grid": "cuts layers into cells and computes nothing that is measured",
}
"""Public functions that are none, each with why."""
CLASSES = {"monitor.science.uncertainty.Budget", "monitor.science.conduction.Modes"}
"""Formulas that are classes."""


@cache
def catalogue() -> Catalogue:
    return load()


def formulas() -> list[Formula]:
    return list(catalogue().formulas.values())


def public(module: ModuleType) -> list[str]:
    """Give the paths of a module's public functions: what it names in `__all__`, or what it defines itself."""
    names = getattr(module, "__all__", None) or [
        name for name, thing in vars(module).items() if getattr(thing, "__module__", "") == module.__name__
    ]
    found = [name for name in names if not name.startswith("_") and inspect.isfunction(getattr(module, name))]
    short = module.__name__.removeprefix("monitor.science.")
    return [f"{module.__name__}.{name}" for name in found if f"{short}.{name}" not in NO_FORMULA]


def test_every_public_function_of_science_has_its_entry() -> None:
    listed = {formula.function for formula in formulas()}
    for name in MODULES:
        for path in public(import_module(f"monitor.science.{name}")):
            if path != "monitor.science.size.canvas_behaviour":  # stands under canvas, where it is defined
                assert path in listed, f"{path}: add it to formulas.toml with its source and its test"


def test_no_function_has_two_entries() -> None:
    listed = [formula.function for formula in formulas()]
    assert len(listed) == len(set(listed)) >= 30


@pytest.mark.parametrize("formula", formulas(), ids=lambda formula: formula.key)
def test_an_entry_leads_to_its_function_its_source_and_its_test(formula: Formula) -> None:
    module, _, name = formula.function.rpartition(".")
    thing = getattr(import_module(module), name)
    assert inspect.isfunction(thing) or formula.function in CLASSES
    assert thing.__doc__
    assert formula.source in catalogue().sources
    assert (formula.grade in NEEDS_LOCATOR) <= bool(formula.locator)
    assert (formula.grade is Grade.PROPOSAL) <= (formula.source == "project")
    assert collectable(formula.test), formula.test


def collectable(test: str) -> bool:
    """Tell whether `path::name` is a test that pytest would find, and not merely a text that looks like one."""
    path, _, name = test.partition("::")
    file = ROOT / path
    if not (file.is_file() and file.name.startswith("test_") and name.startswith("test_")):
        return False
    return any(isinstance(node, ast.FunctionDef) and node.name == name for node in ast.parse(file.read_text()).body)


def test_what_is_no_test_is_not_taken_for_one() -> None:
    assert collectable("tests/reference/test_formula_list.py::test_no_function_has_two_entries")
    assert not collectable("tests/reference/test_formula_list.py::collectable")
    assert not collectable("tests/reference/test_formula_list.py::test_nothing")
    assert not collectable("tests/reference/README-humidity.md::test_nothing")


def test_the_tests_of_formulas_name_something_of_their_module() -> None:
    """A test that never mentions the module it is to hold could not fail for it."""
    for formula in formulas():
        module = formula.function.rpartition(".")[0].rpartition(".")[2]
        text = (ROOT / formula.test.partition("::")[0]).read_text()
        assert module in text or formula.function.rpartition(".")[2] in text, formula.key
