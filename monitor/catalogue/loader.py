"""Load the catalogue: the built-in folder, and over it a folder of one's own."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from monitor.bench.quantities import MEASURED
from monitor.bench.sheets import Question
from monitor.catalogue.entry_reading import (
    ADHESIVE_OPTIONAL,
    ADHESIVE_REQUIRED,
    LAYER_FIGURES,
    read_entry,
    read_response,
    read_sandwich,
    read_sentence,
    read_source,
)
from monitor.catalogue.model import Catalogue
from monitor.catalogue.sheet_reading import Known, read_sheet
from monitor.errors import BadInput
from monitor.tomlfile import Document, Problems, Table, open_toml, raise_problems

BUILT_IN = Path(__file__).parent

FILES: dict[str, tuple[str, ...]] = {
    "sources.toml": ("source",),
    "layers.toml": ("layer",),
    "adhesives.toml": ("adhesive",),
    "sandwiches.toml": ("sandwich",),
    "sensors.toml": ("response",),
    "sentences.toml": ("caution", "ask", "prompt"),
}
SHEETS = "sheets"

Entries = dict[str, dict[str, Table]]


def load(extra_dir: Path | None = None) -> Catalogue:
    """Load every entry; one of `extra_dir` stands in for a built-in one of the same key.

    Raises:
        BadInput: a folder or a file cannot be read.
        ManyProblems: every mistake in every file, each with file, line and key.
    """
    problems: Problems = []
    entries: Entries = {kind: {} for kinds in (*FILES.values(), ("sheet",)) for kind in kinds}
    documents: list[Document] = []
    for folder in [BUILT_IN, *([extra_dir] if extra_dir else [])]:
        for kind, found in _folder(folder, problems, documents).items():
            entries[kind].update(found)
    if any(document.broken for document in documents):
        raise_problems("catalogue", problems)  # what leans on an unreadable file would all be false alarms
    catalogue = _build(entries)
    raise_problems("catalogue", problems)
    return catalogue


def _folder(folder: Path, problems: Problems, documents: list[Document]) -> Entries:
    """Gather the tables of one folder by kind and key."""
    if not folder.is_dir():
        raise BadInput(f"catalogue {folder}", "is not a folder", "a folder of TOML files", "Check the path.")
    entries: Entries = {kind: {} for kinds in (*FILES.values(), ("sheet",)) for kind in kinds}
    for path in sorted(folder.glob("*.toml")):
        if path.name in FILES:
            documents.append(_file(path, FILES[path.name], entries, problems))
        else:
            expected = "one of " + ", ".join(FILES) + f", or a sheet in the folder {SHEETS}"
            error = BadInput(f"{path}, line 1", "is not a file of the catalogue", expected, "Rename or move it.")
            problems.append((str(path), 1, str(error)))
    for path in sorted((folder / SHEETS).glob("*.toml")):
        documents.append(_file(path, ("sheet",), entries, problems))
    return entries


def _file(path: Path, kinds: tuple[str, ...], entries: Entries, problems: Problems) -> Document:
    root = open_toml(path, problems).root
    root.only(kinds)
    for kind in kinds:
        outer = root.table(kind)
        for key in outer.data:
            if key in entries[kind]:
                other = entries[kind][key].doc.name
                outer.fault(key, f"is in {other} too", "one entry of this key in a folder", "Take one of them out.")
            entries[kind][key] = outer.table(key)
    return root.doc


def _build(entries: Entries) -> Catalogue:
    sources = {k: read_source(k, t) for k, t in entries["source"].items()}
    layers = {k: read_entry(k, t, sources, LAYER_FIGURES, {}) for k, t in entries["layer"].items()}
    adhesives = {
        k: read_entry(k, t, sources, ADHESIVE_REQUIRED, ADHESIVE_OPTIONAL) for k, t in entries["adhesive"].items()
    }
    responses = {
        k: figure for k, t in entries["response"].items() if (figure := read_response(k, t, sources, MEASURED))
    }
    sentences: Mapping[str, Mapping[str, Question]] = {
        kind: {k: read_sentence(k, t) for k, t in entries[kind].items()} for kind in FILES["sentences.toml"]
    }
    known = Known(sources, sentences, responses)
    return Catalogue(
        sources=sources,
        layers=layers,
        adhesives=adhesives,
        sandwiches={k: read_sandwich(k, t, sources, layers, adhesives) for k, t in entries["sandwich"].items()},
        responses=responses,
        sheets={k: read_sheet(k, t, known) for k, t in entries["sheet"].items()},
    )
