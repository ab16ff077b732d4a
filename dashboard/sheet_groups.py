"""The working sheets in the order a treatment goes, under the headings a studio would look for."""

from __future__ import annotations

from collections.abc import Sequence

from monitor.link.view import SheetView

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Moisture and drying", (
        "off-the-stretcher", "air-humidification", "contact-humidification", "local-moisture", "gel-or-poultice",
        "drying-under-weight",
    )),
    ("Heat", ("heat-seal-spatula", "heat-seal-iron", "hot-table", "low-heat-flattening")),
    ("Back on the stretcher, and the surface", (
        "stretching-and-keys", "adhesive-drying", "cleaning-tests", "brush-varnish", "spray-varnish",
    )),
    ("The room", ("room",)),
)  # fmt: skip
OWN = "Your own"


def grouped(sheets: Sequence[SheetView]) -> list[tuple[str, list[SheetView]]]:
    """Give heading and sheets, empty groups left out; a sheet of one's own stands under the last heading."""
    there = {sheet["sheet"]: sheet for sheet in sheets}
    found = [(heading, [there.pop(key) for key in keys if key in there]) for heading, keys in GROUPS]
    return [(heading, some) for heading, some in [*found, (OWN, list(there.values()))] if some]
