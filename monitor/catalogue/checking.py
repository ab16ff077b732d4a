"""A studio's configuration held against the catalogue: mistakes stop, conflicts warn."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

from monitor.bench.quantities import QUANTITIES
from monitor.bench.sheets import Limit
from monitor.catalogue.conflicts import warnings as conflict_warnings
from monitor.catalogue.loader import load
from monitor.catalogue.model import Catalogue
from monitor.catalogue.priorities import unfitting
from monitor.config import PARTS, Studio, load_studio
from monitor.errors import ManyProblems


def check_config(path: Path, catalogue_dir: Path | None = None) -> list[str]:
    """Check a configuration and a catalogue together; give the warnings, one sentence each.

    Raises:
        BadInput: a file or folder cannot be read.
        ManyProblems: every mistake of both.
    """
    problems: list[str] = []
    studio: Studio | None = None
    catalogue: Catalogue | None = None
    try:
        studio = load_studio(path)
    except ManyProblems as error:
        problems += error.problems
    try:
        catalogue = load(catalogue_dir)
    except ManyProblems as error:
        problems += error.problems
    if studio is None or catalogue is None:
        raise ManyProblems(str(path), problems)
    found = _unserved(studio, catalogue) + _shut_windows(catalogue) + unfitting(catalogue)
    return found + conflict_warnings(catalogue)


def _unserved(studio: Studio, catalogue: Catalogue) -> list[str]:
    """Name the roles of sheets for which no bench has a probe."""
    measured = {q for probe in studio.probes for q in PARTS[probe.part].quantities}
    return [
        f"working sheet {sheet.key}: no probe gives {QUANTITIES[quantity].words} for its role {role!r}; "
        "it cannot be started until one is configured."
        for sheet in catalogue.sheets.values()
        for role, quantities in sheet.roles.items()
        for quantity in quantities
        if quantity not in measured
    ]


def _shut_windows(catalogue: Catalogue) -> list[str]:
    """Name pairs of limits that may judge one probe at once and leave no value inside both."""
    limits = [(sheet.key, limit) for sheet in catalogue.sheets.values() for limit in sheet.limits.values()]
    found: list[str] = []
    for first, second in combinations(limits, 2):
        low, high = (first, second) if first[1].side == "low" else (second, first)
        if _shut(low[1], high[1]):
            quantity = QUANTITIES[low[1].quantity]
            found.append(
                f"limits {low[0]}.{low[1].key} (at least {low[1].levels[0].at:g} {quantity.unit}) and "
                f"{high[0]}.{high[1].key} (at most {high[1].levels[0].at:g} {quantity.unit}) on "
                f"{quantity.words} cannot both be kept."
            )
    return found


def _shut(low: Limit, high: Limit) -> bool:
    """Tell whether two limits leave nothing between them; a table and a mat are never one probe, one room may be."""
    pair = (low.side, high.side) == ("low", "high") and (low.role, low.quantity) == (high.role, high.quantity)
    return pair and low.levels[0].at > high.levels[0].at
