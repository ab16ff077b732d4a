"""Bench Blotter: what a painting's moisture and heat did while it was treated.

The station samples, decides and stores; the command line starts it. Nothing here
imports the dashboard.
"""

__version__ = "0.1.0"
