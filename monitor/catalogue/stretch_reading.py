"""What a limit on a stretch of time looks back on, out of TOML: `of` and `threshold`, and the shortest delay."""

from __future__ import annotations

from monitor.bench.derived import DERIVED
from monitor.bench.pace import MINUTE_MS
from monitor.bench.quantities import MEASURED, QUANTITIES
from monitor.bench.windowed import MINUTES_ABOVE, WINDOWS
from monitor.tomlfile import Table

COUNTED = (*MEASURED, *(key for key, needs in DERIVED.items() if not needs.each))
LEAST_DELAY_MS = MINUTE_MS
"""They are looked at once a minute, so a shorter delay says nothing."""


def read_of(table: Table, quantity: str) -> tuple[str, float]:
    """Read what it is made of, "" where that is as by default, and above what minutes are counted."""
    if quantity not in WINDOWS:
        for key in ("of", "threshold"):
            _surplus(table, key, quantity)
        return "", 0.0
    allowed = COUNTED if quantity == MINUTES_ABOVE else WINDOWS[quantity].of
    if quantity != MINUTES_ABOVE:
        _surplus(table, "threshold", quantity)
        return (table.choice("of", allowed) if "of" in table.data else ""), 0.0
    of = table.choice("of", allowed)
    return of, table.number("threshold", QUANTITIES[of].unit if of else "the unit of what is counted") or 0.0


def _surplus(table: Table, key: str, quantity: str) -> None:
    if key in table.data and quantity:
        table.fault(key, f"stands beside {quantity}", "a quantity that looks back on another", "Leave it out.")


def made_of(quantity: str, of: str) -> str:
    """Give the quantity whose channels are looked back on; the limit's own where it looks at the instant."""
    return (of or next(iter(WINDOWS[quantity].of), "")) if quantity in WINDOWS else quantity
