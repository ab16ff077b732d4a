"""The day-book's row: its envelope, its hash and the registry of its kinds.

The envelope is fixed for ever because it is hashed. A row's body may change only by a new
version of its kind, which the row's `v` names; every old version stays in the registry and readable.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from typing import Any, Literal

GENESIS = "0" * 64
ENVELOPE = (
    "v", "seq", "id", "kind", "at_ms", "segment", "boot", "mono_ms",
    "board", "bench", "step", "by", "verified", "via", "body", "prev",
)  # fmt: skip

Role = Literal["input", "output", "note"]


@dataclass(frozen=True)
class Kind:
    """A kind of day-book row.

    Attributes:
        key, version: the stable name and the version of its body.
        role: "input" rows are fed to the fold again when it is recomputed, "output" rows
            must come out of it again, "note" rows stand beside it.
        fields: required body fields with the JSON type of each (str, int, bool, list,
            dict, or "decimal" for a number written as a string); "?" marks one that may be null.
        says: what it means, one sentence.
        optional: fields that are left out where there is nothing to say.
    """

    key: str
    version: int
    role: Role
    fields: dict[str, str]
    says: str
    optional: dict[str, str] = field(default_factory=dict)


def canonical(value: Any) -> str:  # noqa: ANN401
    """Write JSON with sorted keys and no spaces; TypeError on a float anywhere."""
    _refuse_floats(value, "body")
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def _refuse_floats(value: Any, where: str) -> None:  # noqa: ANN401
    if isinstance(value, float):
        raise TypeError(f"{where}: {value!r} is a float; write it as a decimal string")
    if isinstance(value, dict):
        for key, inner in value.items():
            _refuse_floats(inner, f"{where}.{key}")
    elif isinstance(value, list | tuple):
        for index, inner in enumerate(value):
            _refuse_floats(inner, f"{where}[{index}]")


def row_hash(row: dict[str, Any]) -> str:
    """Give the SHA-256 of a row's envelope, `prev` included and `hash` left out."""
    return hashlib.sha256(canonical({k: row[k] for k in ENVELOPE}).encode()).hexdigest()


def decimal(value: float, places: int) -> str:
    """Write a number with a fixed count of places, as day-book bodies carry it."""
    text = f"{value:.{places}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text
