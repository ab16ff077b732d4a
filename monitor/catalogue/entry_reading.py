"""Sources, layers, adhesives, sandwiches and sensors' responses out of TOML."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from monitor.bench.sheets import Question
from monitor.catalogue.figure_reading import read_figure
from monitor.catalogue.model import Entry, Sandwich, Source
from monitor.figures import Figure
from monitor.tomlfile import Table

# Key of a figure -> the steps (1/scale) in which it must be whole, since the record holds whole numbers; 0 for any.
LAYER_FIGURES: dict[str, int] = {
    "thickness_um": 1, "conductivity_w_mk": 1000, "density_kg_m3": 1, "heat_capacity_j_kgk": 1,
}  # fmt: skip
ADHESIVE_REQUIRED: dict[str, int] = {"bond_line_min_c": 1, "hold_spatula_s": 1}
ADHESIVE_OPTIONAL: dict[str, int] = {"bond_line_max_c": 1, "hold_table_s": 1, "release_below_c": 1, "coat_wait_s": 1}
SANDWICH_FIGURES: dict[str, int] = {"conductance_w_m2k": 1, "underside_w_m2k": 1, "face_ceiling_c": 1}


def read_source(key: str, table: Table) -> Source:
    """Read a source: its title and what of it was read."""
    table.only(("title", "read"))
    return Source(key, table.text("title"), table.text("read"))


def read_sentence(key: str, table: Table) -> Question:
    """Read a sentence shown to people; a question may list the answers to choose from."""
    table.only(("text", "choices") if table.path[0] == "ask" else ("text",))
    return Question(key, table.text("text"), table.texts("choices"))


def read_entry(
    key: str, table: Table, sources: Collection[str], required: Mapping[str, int], optional: Mapping[str, int]
) -> Entry:
    """Read a named thing with its figures."""
    table.only(("name", *required, *optional))
    return Entry(key, table.text("name"), _figures(table, sources, required, optional))


def read_response(key: str, table: Table, sources: Collection[str], measured: Collection[str]) -> Figure | None:
    """Read the time constant of the sensor that gives a quantity."""
    table.only(("time_constant_s",))
    if key not in measured:
        expected = "a measured quantity: " + ", ".join(measured)
        table.fault("", f"{key!r} is not measured", expected, "Mend the table's name.")
    return read_figure(table, "time_constant_s", sources)


def read_sandwich(
    key: str, table: Table, sources: Collection[str], layers: Mapping[str, Entry], adhesives: Collection[str]
) -> Sandwich:
    """Read a sandwich; film, layers and the two depths must be known."""
    table.only(("name", "film", "layers", "bond_line", "face", *SANDWICH_FIGURES))
    listed = table.texts("layers", required=True)
    for index, name in enumerate(listed):
        if name not in layers:
            where, found = (*table.path, "layers", index), f"{name!r} is not in the catalogue"
            table.doc.fault(where, found, "the key of a layer", "Add it to layers.toml.")
    film = table.choice("film", adhesives)
    bond_line, face = (_depth(table, k, listed) for k in ("bond_line", "face"))
    if 0 <= face <= bond_line and listed:
        table.fault("face", "lies before the bond line", "a layer behind it", "Layers go from the tool to the base.")
    figures = _figures(table, sources, SANDWICH_FIGURES, {})
    conductance = figures.get("conductance_w_m2k")
    if conductance and (conductance.low is None or conductance.high is None):
        do = "It is the model's largest unknown; give the range."
        table.fault("conductance_w_m2k", "has no range", "low and high beside the value", do)
    return Sandwich(key, table.text("name"), figures, film, listed, bond_line, face)


def _depth(table: Table, key: str, listed: tuple[str, ...]) -> int:
    """Give the index of a depth's layer; -1 after a mistake."""
    name = table.text(key)
    if not name:
        return -1
    if listed.count(name) != 1:
        found = f"{name!r} is {'not one' if name not in listed else 'more than once'} of the layers"
        table.fault(key, found, "a layer that is there once", "Mend it or the list of layers.")
        return -1
    return listed.index(name)


def _figures(
    table: Table, sources: Collection[str], required: Mapping[str, int], optional: Mapping[str, int]
) -> dict[str, Figure]:
    wanted = {**required, **{k: scale for k, scale in optional.items() if k in table.data}}
    read = {key: read_figure(table, key, sources, scale=scale) for key, scale in wanted.items()}
    return {key: figure for key, figure in read.items() if figure}
