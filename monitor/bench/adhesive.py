"""What may be said of the adhesive: the depths that matter, and the fixed rule of the verdict."""

from __future__ import annotations

from monitor.bench.outputs import Estimate

BOND_LINE = "bond_line"
FACE = "face"

SPANS = (
    "The band spans the contact from light to firm, the ranges of the layers' figures and the thermocouple's "
    "class; the difference between the place of the probe and the sole is not in it."
)
"""What an estimate before a mock-up covers, for screens and reports."""


def verdict(peak: Estimate | None, gap_ms: int, outside: str) -> tuple[str, str]:
    """Judge a place by a fixed rule over stored rows alone: verdict and reason.

    Args:
        peak: the row of the contact with the highest most likely temperature at the
            adhesive, or None when there is none.
        gap_ms: how long the tool's probe gave nothing during the contact.
        outside: what of the tool's own limits was passed meanwhile, in words, or "".
    """
    if gap_ms > 0:
        return "not known", f"no reading from the tool for {-(-gap_ms // 1000)} s"
    if outside:
        return "not known", f"not yet tried on a mock-up; {outside}"
    if peak is None:
        return "not known", "no estimate for this contact"
    return "not known", "not yet tried on a mock-up"
