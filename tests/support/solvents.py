"""Solvents as the tests want them: out of the catalogue, or computed anew for one that it does not have."""

from __future__ import annotations

from functools import cache

from monitor.catalogue import Catalogue, load
from monitor.science.solvent_data import TABLE_C, ZERO_C_K, SolventData
from tests.support.update_solvents import Named, diffusivity, vaporisation, vapour

BENZENE = Named("benzene", "benzene", "71-43-2", 1)


@cache
def catalogue() -> Catalogue:
    """Give the catalogue that ships."""
    return load()


def listed(key: str) -> SolventData:
    """Give a solvent of the catalogue."""
    solvent = catalogue().solvents[key]
    return SolventData.from_figures(solvent.name, solvent.figures)


def computed(solvent: Named) -> SolventData:
    """Give any solvent that the package of physical data knows."""
    cool, warm = (vaporisation(solvent.cas, t + ZERO_C_K)[0] / 1000 for t in (-20, 20))
    table = tuple(vapour(solvent.cas, t + ZERO_C_K)[0] for t in TABLE_C)
    return SolventData(solvent.name, diffusivity(solvent), cool, warm, table)
