"""Sources, materials, supports, sandwiches, sensors' responses and formulas out of TOML."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from monitor.bench.sheets import Question
from monitor.catalogue.figure_reading import read_figure, read_grade, read_origin, read_statement
from monitor.catalogue.forms import ADHESIVE, FRONT, LAYER, PART, SANDWICH, SOLVENT, SUPPORT, Form
from monitor.catalogue.model import Entry, Formula, Sandwich, Solvent, Source, Support
from monitor.figures import Figure, Grade
from monitor.tomlfile import Table

FORMULA_KEYS = ("name", "function", "source", "grade", "locator", "valid", "test")


def read_source(key: str, table: Table) -> Source:
    """Read a source: its title and what of it was read."""
    table.only(("title", "read"))
    return Source(key, table.text("title"), table.text("read"))


def read_sentence(key: str, table: Table) -> Question:
    """Read a sentence shown to people; a question may list the answers to choose from."""
    table.only(("text", "choices") if table.path[0] == "ask" else ("text",))
    return Question(key, table.text("text"), table.texts("choices"))


def read_layer(key: str, table: Table, sources: Collection[str]) -> Entry:
    """Read a layer with its thermal properties."""
    return Entry(key, *_named(table, sources, LAYER))


def read_adhesive(key: str, table: Table, sources: Collection[str]) -> Entry:
    """Read an adhesive; where no figure is known for it, an own test stands in its place."""
    return Entry(key, *_named(table, sources, ADHESIVE))


def read_front(key: str, table: Table, sources: Collection[str]) -> Entry:
    """Read what may lie in front of a strip."""
    return Entry(key, *_named(table, sources, FRONT))


def read_support(key: str, table: Table, sources: Collection[str]) -> Support:
    """Read a support with the sentences on what to beware of."""
    name, figures = _named(table, sources, SUPPORT)
    told = [read_statement(inner, sources) for inner in table.tables("beware")]
    if not told:
        expected, do = "one sentence at least", "Add beware = [ { text, source, grade } ]."
        table.fault("beware", "there is nothing to beware of", expected, do)
    return Support(key, name, figures, tuple(s for s in told if s))


def read_solvent(key: str, table: Table, sources: Collection[str]) -> Solvent:
    """Read a solvent; its registry number says which substance the figures are of."""
    name, figures = _named(table, sources, SOLVENT)
    return Solvent(key, name, figures, table.text("cas"), table.text("stands_for", ""))


def read_formula(key: str, table: Table, sources: Collection[str]) -> Formula:
    """Read where a formula of the program comes from, and which test holds it against the outside."""
    table.only(FORMULA_KEYS)
    grade = read_grade(table)
    source, locator = read_origin(table, grade, sources)
    name, function, valid, test = (table.text(k) for k in ("name", "function", "valid", "test"))
    return Formula(key, name, function, source, grade or Grade.PROPOSAL, locator, valid, test)


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
    name, figures = _named(table, sources, SANDWICH)
    listed = table.texts("layers", required=True)
    for index, layer in enumerate(listed):
        if layer not in layers:
            where, found = (*table.path, "layers", index), f"{layer!r} is not in the catalogue"
            table.doc.fault(where, found, "the key of a layer", "Add it to layers.toml.")
    film = table.choice("film", adhesives)
    bond_line, face = (_depth(table, k, listed) for k in ("bond_line", "face"))
    if 0 <= face <= bond_line and listed:
        table.fault("face", "lies before the bond line", "a layer behind it", "Layers go from the tool to the base.")
    need_range(table, figures)
    return Sandwich(key, name, figures, film, listed, bond_line, face)


def need_range(table: Table, figures: Mapping[str, Figure]) -> None:
    """Note a sandwich's conductance that has no range; an estimate's band begins with it."""
    conductance = figures.get("conductance_w_m2k")
    if conductance and (conductance.low is None or conductance.high is None):
        do = "It is the model's largest unknown; give the range."
        table.fault("conductance_w_m2k", "has no range", "low and high beside the value", do)


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


def read_part(key: str, table: Table, sources: Collection[str]) -> Entry:
    """Read what a part of a probe may be off by."""
    return Entry(key, *_named(table, sources, PART))


def _named(table: Table, sources: Collection[str], form: Form) -> tuple[str, dict[str, Figure]]:
    """Read an entry's name and its figures."""
    return table.text("name"), named_figures(table, sources, form, ("name",))


def named_figures(
    table: Table, sources: Collection[str], form: Form, beside: tuple[str, ...] = ()
) -> dict[str, Figure]:
    """Read the figures of an entry, which has nothing else but what is named beside them."""
    table.only((*beside, *form.others, *form.figures))
    wanted = {**form.required, **{k: scale for k, scale in form.optional.items() if k in table.data}}
    read = {key: read_figure(table, key, sources, scale=scale) for key, scale in wanted.items()}
    figures = {key: figure for key, figure in read.items() if figure}
    for key in figures:
        _other(table, key, form)
    return figures


def _other(table: Table, key: str, form: Form) -> None:
    """See that a figure which differs names another figure of its entry."""
    inner = table.table(key)
    other = inner.text("differs", "")
    if other and (other == key or other not in form.figures or other not in table.data):
        do = "Name the figure that says otherwise."
        inner.fault("differs", f"is {other!r}", "another figure of this entry", do)
