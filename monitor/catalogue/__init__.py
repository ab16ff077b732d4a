"""Sourced numbers as TOML, and their loader."""

from monitor.catalogue.loader import load
from monitor.catalogue.model import Catalogue, Entry, Sandwich, Source

__all__ = ["Catalogue", "Entry", "Sandwich", "Source", "load"]
