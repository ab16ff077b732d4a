"""What lay between tool and base: the film, its figures, and each layer with what it rests on."""

from __future__ import annotations

from typing import Any

from monitor.report.origins import Numbers, origin_words
from monitor.report.record import StepRecord

SET = {
    "min_c": "at the adhesive at least",
    "max_c": "at the adhesive at most",
    "ceiling_c": "at the face at most",
}
FILM = ("min_c", "max_c")
WHOSE = {"min_c": "the film", "max_c": "the film", "ceiling_c": "this side"}


def film_sentence(record: StepRecord) -> str:
    """Name the film and what is set, each figure with the condition it holds for."""
    sandwich = record.sandwich or {}
    film = [
        f"{'at least' if key == 'min_c' else 'at most'} {_set(sandwich, key)}"
        for key in FILM
        if _given(sandwich, key)
    ]
    name = sandwich.get("film_words") or "Film without a name"
    said = f"{name}: at the adhesive {', '.join(film)}." if film else f"{name}: nothing is set at the adhesive."
    face = f" At the face at most {_set(sandwich, 'ceiling_c')}." if _given(sandwich, "ceiling_c") else ""
    return said + face if sandwich else ""


def _set(sandwich: dict[str, Any], key: str) -> str:
    return f"{sandwich[key]} °C{_note(sandwich, key)}"


def _given(sandwich: dict[str, Any], key: str) -> bool:
    return sandwich.get(key) is not None


def _note(sandwich: dict[str, Any], key: str) -> str:
    note = sandwich.get("figures", {}).get(key, {}).get("note", "")
    return f" ({note})" if note else ""


def adhesive_rows(record: StepRecord, numbers: Numbers) -> list[dict[str, str]]:
    """Give what is set at the adhesive and the face, as `limit_rows` gives the limits."""
    sandwich = record.sandwich or {}
    figures = sandwich.get("figures", {})
    rows = [
        {"what": words, "value": f"{sandwich[key]} °C", "whose": WHOSE[key], "from": _origin(numbers, figures[key])}
        for key, words in SET.items()
        if _given(sandwich, key) and key in figures
    ]
    if "hold_s" in figures and not _given(sandwich, "hold_s"):
        own = "it comes from a test of one's own, and none is recorded"
        rows.append({"what": "time held at the adhesive", "value": "none", "whose": "the film", "from": own})
    return rows


def layer_rows(record: StepRecord, numbers: Numbers) -> list[dict[str, str]]:
    """Give the layers from the tool down: words, thickness and conductivity with range and origin."""
    return [
        {
            "words": raw["words"],
            "thickness": _figure(raw, "thickness_um", 1),
            "thickness_of": _of(numbers, raw, "thickness_um"),
            "conducts": _figure(raw, "conductivity_mw_mk", 1000),
            "conducts_of": _of(numbers, raw, "conductivity_mw_mk"),
        }
        for raw in (record.sandwich or {}).get("layers", [])
    ]


def contact_sentence(record: StepRecord, numbers: Numbers) -> str:
    """Say how well the layers are taken to touch, or "" where it is not recorded."""
    contact = (record.sandwich or {}).get("conductance_w_m2k")
    if not contact:
        return ""
    return (
        f"Contact between tool, layers and base: {contact['low']} to {contact['high']} W/(m² K), most likely "
        f"{contact['likely']} ({_origin(numbers, contact)})."
    )


def sandwich_sources(record: StepRecord) -> set[str]:
    """Give the keys of the sources that layers, film and face rest on."""
    sandwich = record.sandwich or {}
    origins = [sandwich.get("conductance_w_m2k") or {}]
    origins += [figure for key, figure in sandwich.get("figures", {}).items() if _given(sandwich, key)]
    for raw in sandwich.get("layers", []):
        told = raw.get("figures", {})
        origins += [told.get(key, raw) for key in ("thickness_um", "conductivity_mw_mk")]
    return {origin["source"] for origin in origins if origin.get("source")}


def _figure(raw: dict[str, Any], key: str, per: int) -> str:
    told = raw.get("figures", {}).get(key, {})
    values = [value for value in (raw[key], told.get("low"), told.get("high")) if value is not None]
    likely, *ends = (f"{value / per:.6g}" for value in values)
    low_high = f", {ends[0]} to {ends[1]}" if len(ends) == 2 else ""
    return f"{likely}{low_high}"


def _of(numbers: Numbers, raw: dict[str, Any], key: str) -> str:
    return _origin(numbers, raw.get("figures", {}).get(key, raw))


def _origin(numbers: Numbers, told: dict[str, Any]) -> str:
    return origin_words(numbers, told["source"], told.get("locator", ""), told["grade"], told.get("note", ""))
