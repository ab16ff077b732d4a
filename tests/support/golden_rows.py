"""Golden day-book rows of every kind.

`python -m tests.support.golden_rows` appends the kinds that are new; no line is ever changed.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from monitor.bench.events import GENESIS
from monitor.bench.kinds import KINDS
from monitor.bench.outputs import Draft
from monitor.store.sealing import seal
from tests.support.stores import BOARD, segment

FILE = Path(__file__).parent.parent / "reference" / "daybook_rows_v1.jsonl"
EXAMPLES: dict[str, Any] = {
    "str": "Zwölf µm, “quoted”", "int": -7, "bool": True, "list": [1, "b", {"z": "0.50", "a": []}],
    "dict": {"b": "1.25", "a": {"ü": 0}}, "decimal": "-0.5",
}  # fmt: skip


def golden() -> list[dict[str, Any]]:
    """Give the rows as they were sealed when their kinds were new."""
    return [json.loads(line) for line in FILE.read_text(encoding="utf-8").splitlines()]


def draft_of(row: dict[str, Any]) -> Draft:
    """Give the draft a row was sealed from."""
    return Draft(row["kind"], row["mono_ms"], row["body"], row["step"], row["bench"], row["by"], row["via"], row["v"])


def example(key: str, version: int, number: int) -> Draft:
    """Give a draft of a kind; fields that may be null are null in every second one."""
    kind = KINDS[key, version]
    body = {
        name: None if spec.endswith("?") and number % 2 else EXAMPLES[spec.rstrip("?")]
        for name, spec in {**kind.fields, **kind.optional}.items()
    }
    who = "MK" if number % 3 else None
    return Draft(key, 1000 * number, body, step=f"s{number}", bench="easel", by=who, via="pedal", v=version)


def main() -> None:
    """Append a row for each version of a kind that has none."""
    rows = golden() if FILE.exists() else []
    new = sorted(set(KINDS) - {(row["kind"], row["v"]) for row in rows})
    prev = rows[-1]["hash"] if rows else GENESIS
    with FILE.open("a", encoding="utf-8") as file:
        for seq, (key, version) in enumerate(new, start=len(rows) + 1):
            row = seal(example(key, version, seq), BOARD, segment(), seq, prev)
            prev = row["hash"]
            file.write(json.dumps(row, sort_keys=True, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
