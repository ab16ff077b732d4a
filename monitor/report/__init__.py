"""Figures as SVG, the report, exports and readings files."""
