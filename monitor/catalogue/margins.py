"""The margin that a limit keeps for its probe's error, worked out when a step is started.

The error is what the maker or the wire's standard states, taken as bounds of a rectangular distribution:
u = a / sqrt(3), and the margin is U = 2 u (JCGM 100:2008, recalled). Rounded up, since a margin is not to be
smaller than what it stands for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from monitor.bench.quantities import QUANTITIES, channel_name
from monitor.bench.sheets import Guard, Limit, Sheet
from monitor.catalogue.defaulting import ending_of
from monitor.catalogue.model import Catalogue
from monitor.config import PARTS, ProbeConfig
from monitor.errors import BadInput
from monitor.figures import Figure
from monitor.science.budget import rectangular_standard
from monitor.science.thermocouple import FIGURES, tolerance_c

TIMES = 2  # the `k` of margin k2
STEP = 100  # a margin is whole hundredths
WIRE_CLASS = 1
"""The class a thermocouple's wire is taken to be of; a studio that bought another gives a figure of its own."""


def with_margins(catalogue: Catalogue, probes: Sequence[ProbeConfig], sheet: Sheet,
                 bindings: Sequence[Mapping[str, str]]) -> Sheet:  # fmt: skip
    """Give a sheet whose limits carry the margins of the probes that serve it.

    Raises:
        BadInput: a limit keeps a margin, and nothing is known of the error of a probe it judges.
    """
    if not any(limit.margin for limit in sheet.limits.values()):
        return sheet
    known = {probe.name: probe for probe in probes}
    limits = {
        key: replace(limit, guards=tuple(
            _guard(catalogue, known[b["probe"]], limit)
            for b in bindings
            if limit.margin and b["role"] == limit.role and b["probe"] in known
            and _gives(known[b["probe"]], limit.quantity)
        ))
        for key, limit in sheet.limits.items()
    }  # fmt: skip
    return replace(sheet, limits=limits)


def _gives(probe: ProbeConfig, quantity: str) -> bool:
    return quantity in ((probe.quantity,) if probe.quantity else PARTS[probe.part].quantities)


def _guard(catalogue: Catalogue, probe: ProbeConfig, limit: Limit) -> Guard:
    furthest = max((level.at for level in limit.levels), key=abs)
    figure = error_of(catalogue, probe, limit.quantity, furthest)
    if figure is None or figure.value is None:
        unit = QUANTITIES[limit.quantity].unit
        found, expected = f"nothing is known of the error of probe {probe.name} ({probe.part})", f"a figure in {unit}"
        do = f"Add [part.{probe.part}] with {limit.quantity}{ending_of(limit.quantity)}, or take the margin out."
        raise BadInput(f"limit {limit.key}, margin {limit.margin}", found, expected, do)
    expanded = TIMES * rectangular_standard(figure.value)
    by = math.ceil(round(expanded * STEP, 6)) / STEP
    return Guard(channel_name(probe.name, limit.quantity), by, figure.source, str(figure.grade), figure.locator)


def error_of(catalogue: Catalogue, probe: ProbeConfig, quantity: str, at: float) -> Figure | None:
    """Give what a probe may be off by, either way, in the quantity's unit; None where it is not known.

    Args:
        at: the value at which it is asked for; a thermocouple's grows with it.
    """
    part = catalogue.parts.get(probe.part)
    own = part.figures.get(f"{quantity}{ending_of(quantity)}") if part else None
    if own is not None or not probe.thermocouple or QUANTITIES[quantity].unit != "degC":
        return own
    cited = FIGURES[f"thermocouple.{probe.thermocouple}.class-{WIRE_CLASS}.fixed"]
    return replace(cited, value=tolerance_c(probe.thermocouple, WIRE_CLASS, at))
