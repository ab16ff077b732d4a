"""Figures as SVG, drawn the same way for paper and screen: chart, seam, rule with the frame."""
