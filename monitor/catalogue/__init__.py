"""Sourced numbers as TOML, and their loader."""

from monitor.catalogue.checking import check_config
from monitor.catalogue.conflicts import Conflict, conflicts
from monitor.catalogue.listing import FigureRow, figure_rows
from monitor.catalogue.loader import load
from monitor.catalogue.model import Catalogue, Entry, Formula, Sandwich, Solvent, Source, Support
from monitor.catalogue.resting import resting_on

__all__ = [
    "Catalogue",
    "Conflict",
    "Entry",
    "FigureRow",
    "Formula",
    "Sandwich",
    "Solvent",
    "Source",
    "Support",
    "check_config",
    "conflicts",
    "figure_rows",
    "load",
    "resting_on",
]
