"""Sourced numbers as TOML, and their loader."""

from monitor.catalogue.checking import check_config
from monitor.catalogue.listing import FigureRow, figure_rows
from monitor.catalogue.loader import load
from monitor.catalogue.model import Catalogue, Entry, Sandwich, Source

__all__ = ["Catalogue", "Entry", "FigureRow", "Sandwich", "Source", "check_config", "figure_rows", "load"]
