"""Probes over the sensors' own drivers, used as they are."""
