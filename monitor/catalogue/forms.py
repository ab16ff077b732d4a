"""Which figures each kind of entry has: the form of the catalogue's files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

# Key of a figure -> the steps (1/scale) in which it must be whole, since the record holds whole numbers; 0 for any.
Figures = Mapping[str, int]


@dataclass(frozen=True)
class Form:
    """The figures of a kind of entry.

    Attributes:
        required: every entry has them.
        optional: an entry may have them.
        others: what an entry has beside its name and its figures.
    """

    required: Figures = field(default_factory=dict)
    optional: Figures = field(default_factory=dict)
    others: tuple[str, ...] = ()

    @property
    def figures(self) -> dict[str, int]:
        """Give all keys of figures with their steps."""
        return {**self.required, **self.optional}


def _any(*keys: str) -> dict[str, int]:
    return dict.fromkeys(keys, 0)


LAYER = Form(
    {"thickness_um": 1, "conductivity_w_mk": 1000, "density_kg_m3": 1, "heat_capacity_j_kgk": 1},
    _any("areal_g_m2", "diffusivity_mm2_s", "conductance_w_m2k"),
)
ADHESIVE = Form(
    {"bond_line_min_c": 1, "hold_spatula_s": 1},
    {"bond_line_max_c": 1, "hold_table_s": 1, "release_below_c": 1, "coat_wait_s": 1}
    | _any(
        # what a source says of heat, each by what it was said of
        "later_min_c", "activation_from_c", "activation_to_c", "minimum_seal_c", "weak_to_c", "good_from_c",
        "excellent_from_c", "onto_strip_c", "iron_at_c", "spatula_at_c", "lining_at_c", "flattening_at_c",
        "table_at_c", "early_table_at_c", "soak_from_c", "melt_at_c", "other_melt_at_c", "paint_reached_c",
        "interface_below_c", "holds_at_c", "reversed_at_c", "dent_relaxed_at_c", "cooled_to_c",
        "working_from_c", "working_to_c", "prepared_at_c", "cooked_from_c", "cooked_to_c", "gel_melts_from_c",
        "gel_melts_to_c", "mobile_at_c", "under_cloth_from_c", "under_cloth_to_c", "softening_ayac_c",
        "softening_ayaa_c", "other_softening_ayac_c", "other_softening_ayaa_c",
        # the material itself, and what was measured of its bonds
        "glass_transition_c", "film_forms_c", "areal_g_m2", "table_pressure_kpa", "hold_table_to_s",
        "dent_relaxed_after_s", "pressed_from_kpa", "pressed_to_kpa",
        "peel_least_n_mm", "peel_reliable_from_n_mm", "peel_reliable_to_n_mm", "peel_strong_n_mm",
        "peel_too_strong_n_mm",
    ),
)  # fmt: skip
SUPPORT = Form(
    {},
    _any(
        "paint_ceiling_c", "table_paint_ceiling_c", "turnover_rh_pct", "shrinkage_rh_pct", "shrinker_rh_pct",
        "wax_resin_rh_pct", "danger_rh_pct", "cracks_at_rh_pct", "free_shrinkage_pct", "size_softens_from_rh_pct",
        "size_softens_to_rh_pct", "primer_softens_from_c", "primer_softens_to_c", "stiff_below_c",
    ),
    ("beware",),
)  # fmt: skip
FRONT = Form(
    {"face_ceiling_c": 0},
    _any("table_face_ceiling_c", "altered_at_c", "softens_from_c", "softens_to_c", "primer_from_c", "primer_to_c"),
)
SOLVENT = Form(
    _any(
        "molar_mass_g_mol", "boiling_point_c", "diffusivity_25c_mm2_s", "vaporisation_m20c_kj_mol",
        "vaporisation_20c_kj_mol", "vapour_pressure_m40c_pa", "vapour_pressure_m30c_pa", "vapour_pressure_m20c_pa",
        "vapour_pressure_m10c_pa", "vapour_pressure_0c_pa", "vapour_pressure_10c_pa", "vapour_pressure_20c_pa",
        "vapour_pressure_30c_pa", "vapour_pressure_40c_pa",
    ),
    _any(
        "freezing_point_c", "flash_point_c", "lower_flammable_limit_pct", "upper_flammable_limit_pct",
        "autoignition_c",
    ),
    ("cas", "stands_for"),
)  # fmt: skip
SANDWICH = Form(
    {"conductance_w_m2k": 1, "underside_w_m2k": 1, "face_ceiling_c": 1},
    {},
    ("film", "layers", "bond_line", "face"),
)

DEFAULT = Form({"on_delay_s": 1000, "off_delay_s": 1000}, _any("deadband_c", "deadband_rh_pct"))
PART = Form({}, _any("air_temperature_c", "relative_humidity_rh_pct", "tool_temperature_c", "surface_temperature_c"))

FORMS: dict[str, Form] = {
    "layer": LAYER, "adhesive": ADHESIVE, "support": SUPPORT, "front": FRONT, "solvent": SOLVENT,
    "sandwich": SANDWICH, "default": DEFAULT, "part": PART,
}  # fmt: skip
