"""Sourced numbers as TOML, and their loader."""
