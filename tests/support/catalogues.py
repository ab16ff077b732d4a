"""A small folder of one's own, and the mistakes a catalogue has with it."""

from __future__ import annotations

from pathlib import Path

import pytest

from monitor.catalogue import load
from monitor.catalogue.figure_reading import unit_of
from monitor.catalogue.forms import FORMS
from monitor.errors import ManyProblems

SHEET = '''\
[sheet.trial]
title = "Trial"
asks = ["which-lot"]
roles = { tent = ["air_temperature", "relative_humidity"], room = ["relative_humidity"] }
cautions = ["never-alone"]
[[sheet.trial.stages]]
key = "taking-up"
ends = "person"
limits = ["too-damp"]
prompts = ["check-by-hand"]
[sheet.trial.limits.too-damp]
role = "tent"
quantity = "relative_humidity"
side = "high"
unit = "%RH"
deadband = 2
on_delay_s = 300
off_delay_s = 300
latching = false
levels = [ { at = 75, priority = "low", source = "project", grade = "proposal" },
           { at = 80, priority = "high", source = "cci-incorrect-rh", locator = "p. 1", grade = "published" } ]
causes = ["x"]
consequence = "y"
what_to_do = "z"
time_to_respond_s = 300
'''  # fmt: skip
LAYER = '''\
[layer.baize]
name = "baize"
thickness_um = { value = 5000, low = 3000, high = 10000, unit = "um", source = "project", grade = "proposal" }
conductivity_w_mk = { value = 0.05, unit = "W/(m K)", source = "iso", locator = "baize", grade = "published" }
density_kg_m3 = { value = 120, unit = "kg/m3", source = "iso", locator = "baize", grade = "published" }
heat_capacity_j_kgk = { value = 1400, unit = "J/(kg K)", source = "memory", grade = "recalled" }
'''  # fmt: skip
SOURCE = "[source.iso]\ntitle = 'EN ISO 10456:2007'\nread = 'A tabulated extract.'\n"
ADHESIVE = '''\
[adhesive.gel]
name = "Gel"
bond_line_min_c = { grade = "own test" }
hold_spatula_s = { grade = "own test", note = "mock-up" }
'''  # fmt: skip
SANDWICH = '''\
[sandwich.short]
name = "Short"
film = "gel"
layers = ["linen-strip", "eva-film-65", "canvas", "baize"]
bond_line = "eva-film-65"
face = "canvas"
conductance_w_m2k = { value = 150, low = 60, high = 500, unit = "W/(m2 K)", source = "memory", grade = "recalled" }
underside_w_m2k = { value = 8, unit = "W/(m2 K)", source = "memory", grade = "recalled" }
face_ceiling_c = { value = 40, unit = "degC", source = "project", grade = "proposal" }
'''  # fmt: skip
SENSOR = '''\
[response.mass]
time_constant_s = { value = 3, unit = "s", source = "project", grade = "proposal" }
'''  # fmt: skip
SENTENCE = '[caution.mine]\ntext = "Mind the step."\n'

SUPPORT = '''\
[support.hemp]
name = "hemp"
beware = [ { text = "It sags.", source = "iso", locator = "p. 2", grade = "cited" } ]
turnover_rh_pct = { value = 70, low = 65, high = 75, unit = "%RH", source = "project", grade = "proposal" }
shrinkage_rh_pct = { value = 60, unit = "%RH", source = "project", grade = "proposal", differs = "turnover_rh_pct" }
table_paint_ceiling_c = { value = 60, unit = "degC", source = "iso", locator = "p. 3", grade = "published" }
[front.glass]
name = "glass"
face_ceiling_c = { value = 60, unit = "degC", source = "project", grade = "proposal" }
'''  # fmt: skip
SOLVENT = '[solvent.ether]\nname = "Ether"\ncas = "60-29-7"\n' + "".join(
    f'{key} = {{ value = 9, unit = "{unit_of(key)}", source = "project", grade = "proposal" }}\n'
    for key in FORMS["solvent"].required
)

SUPPORTS, SOLVENTS = "supports.toml", "solvents.toml"
TRIAL, LAYERS, SANDWICHES, ADHESIVES = "sheets/trial.toml", "layers.toml", "sandwiches.toml", "adhesives.toml"
FOLDER = {
    "sheets/trial.toml": SHEET, "layers.toml": LAYER, "sources.toml": SOURCE, "adhesives.toml": ADHESIVE,
    "sandwiches.toml": SANDWICH, "sensors.toml": SENSOR, "sentences.toml": SENTENCE, "supports.toml": SUPPORT,
    "solvents.toml": SOLVENT,
}  # fmt: skip


def write(folder: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(text)
    return folder


def problems_of(folder: Path) -> list[str]:
    with pytest.raises(ManyProblems) as caught:
        load(folder)
    return caught.value.problems
