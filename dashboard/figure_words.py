"""How figures of the catalogue are named and written on screens, and where one comes from in words."""

from __future__ import annotations

import re

from dashboard.words import grade, sentence_case

OWN = ("project", "memory", "own-test", "command")
"""Sources that are no text: their grade says all there is to say."""

_NAMES: dict[str, str] = {
    "bond_line_min_c": "at the adhesive, at least", "bond_line_max_c": "at the adhesive, at most",
    "later_min_c": "at the adhesive, at least, by a later test", "hold_table_s": "held on a hot table",
    "hold_spatula_s": "held under a spatula", "release_below_c": "weights off below",
    "coat_wait_s": "a coat waits before heat", "face_ceiling_c": "at the face, at most",
    "table_face_ceiling_c": "at the face on a hot table, at most", "heat_capacity_j_kgk": "heat capacity",
    "conductance_w_m2k": "contact between layers", "underside_w_m2k": "heat given off below",
    "time_constant_s": "time constant",
}  # fmt: skip
_UNITS = {"degC": "°C", "%RH": "% RH", "um": "µm"}
_ENDING = re.compile(r"_(c|s|um|pct|pa|kpa|w_mk|w_m2k|j_kgk|kg_m3|g_m2|g_mol|kj_mol|mm2_s|n_mm|g_cm3|cas)$")
_AT = re.compile(r" (m?)(\d+)c\b")
_CHEMICAL = re.compile(r"\d|[a-z]-")
INDEX = re.compile(r"\[(\d+)\]")


def anchor_of(where: str) -> str:
    """Give the anchor of a place of the catalogue, for instance `sheet.room.warm.levels.1`."""
    return INDEX.sub(r".\1", where).replace(" ", "-")


def what_of(name: str) -> str:
    """Name a figure by its key, for instance `Vapour pressure at -20 °C` for `vapour_pressure_m20c_pa`."""
    told = _ENDING.sub("", name.replace("_rh_pct", "_humidity"))
    told = _AT.sub(lambda m: f" at {'-' if m[1] else ''}{m[2]} °C", INDEX.sub("", told).replace("_", " "))
    return sentence_case(_NAMES.get(name, told))


def title_of(name: str) -> str:
    """Begin a name with a capital, but leave a chemical's as it is, for instance `n-heptane`."""
    return name if _CHEMICAL.match(name) else sentence_case(name)


def plain(text: str) -> str:
    """Write units in a text as screens do."""
    return text.replace("degC", "°C")


def as_sentence(text: str) -> str:
    """Make a note of the catalogue a sentence, "" of nothing."""
    return plain(sentence_case(text.rstrip("."))) + "." if text else ""


def origin_of(how: str, key: str, title: str, locator: str) -> str:
    """Write grade, title and locator of a figure's source, for instance `Cited: Title, p. 3.`."""
    told = sentence_case(grade(how))
    if key not in OWN:
        told += f": {title}" + (f", {locator}" if locator else "")
    return plain(told).rstrip(".") + "."


def symbol(unit: str) -> str:
    """Write a unit as screens do."""
    told = re.sub(r"(?<=m)([23])\b", lambda m: "²³"[int(m[1]) - 2], unit)
    return _UNITS.get(unit, told.replace(" ", "\N{NO-BREAK SPACE}"))
