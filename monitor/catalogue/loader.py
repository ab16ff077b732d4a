"""Load the catalogue: the built-in folder, and over it a folder of one's own."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from monitor.catalogue.building import build
from monitor.catalogue.marks import Entries
from monitor.catalogue.model import Catalogue
from monitor.errors import BadInput
from monitor.tomlfile import Document, Problems, open_toml, raise_problems

Kinds = tuple[str, ...]
BUILT_IN = Path(__file__).parent

FILES: dict[str, Kinds] = {
    "sources.toml": ("source",),
    "formula_sources.toml": ("source",),
    "layers.toml": ("layer",),
    "adhesives.toml": ("adhesive",),
    "supports.toml": ("support", "front"),
    "solvents.toml": ("solvent",),
    "sandwiches.toml": ("sandwich",),
    "sensors.toml": ("response", "part"),
    "defaults.toml": ("default",),
    "sentences.toml": ("caution", "ask", "prompt"),
    "formulas.toml": ("formula",),
    "formulas_measuring.toml": ("formula",),
}
OWN_FILES = {name: kinds for name, kinds in FILES.items() if not name.startswith("formula")}
SHEETS = "sheets"


def load(extra_dir: Path | None = None, *, base_dir: Path = BUILT_IN) -> Catalogue:
    """Load every entry of what ships, and over it those of one's own folder.

    An entry of a new key is added. One of a key that ships may hold only figures of grade own
    test, which take the place of ours; the rest of the entry stays.

    Args:
        extra_dir: one's own folder.
        base_dir: the folder that ships.

    Raises:
        BadInput: a folder or a file cannot be read.
        ManyProblems: every mistake in every file, each with file, line and key.
    """
    problems: Problems = []
    documents: list[Document] = []
    ours = _folder(base_dir, FILES, problems, documents)
    own = _folder(extra_dir, OWN_FILES, problems, documents) if extra_dir else _nothing()
    if any(document.broken for document in documents):
        raise_problems("catalogue", problems)  # what leans on an unreadable file would all be false alarms
    catalogue = build(ours, own)
    raise_problems("catalogue", problems)
    return catalogue


def _nothing() -> Entries:
    return {kind: {} for kinds in (*FILES.values(), ("sheet",)) for kind in kinds}


def _folder(folder: Path, files: Mapping[str, Kinds], problems: Problems, documents: list[Document]) -> Entries:
    """Gather the tables of one folder by kind and key."""
    if not folder.is_dir():
        raise BadInput(f"catalogue {folder}", "is not a folder", "a folder of TOML files", "Check the path.")
    entries = _nothing()
    for path in sorted(folder.glob("*.toml")):
        if path.name in files:
            documents.append(_file(path, files[path.name], entries, problems))
        else:
            expected = "one of " + ", ".join(files) + f", or a sheet in the folder {SHEETS}"
            error = BadInput(f"{path}, line 1", "is not a file of the catalogue", expected, "Rename or move it.")
            problems.append((str(path), 1, str(error)))
    for path in sorted((folder / SHEETS).glob("*.toml")):
        documents.append(_file(path, ("sheet",), entries, problems))
    return entries


def _file(path: Path, kinds: Kinds, entries: Entries, problems: Problems) -> Document:
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
