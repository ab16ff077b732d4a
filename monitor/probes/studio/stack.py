"""What lies under the simulated tool: the world's own layers, chosen apart from any catalogue.

Every figure here is a property of an invented stack (grade: proposal), within the range of the
material it is modelled on but deliberately none of the values an estimate would start from.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer, from the tool's side downwards.

    Attributes:
        name: what it is.
        thickness_m: thickness, m.
        conductivity_w_mk: thermal conductivity, W/(m K).
        density_kg_m3: density, kg/m3.
        heat_capacity_j_kgk: specific heat capacity, J/(kg K).
        cells: how many cells it is cut into.
        below_w_m2k: conductance of the joint to the next layer, W/(m2 K); infinite = grown together.
        growth: each cell is this many times as thick as the one above it.
    """

    name: str
    thickness_m: float
    conductivity_w_mk: float
    density_kg_m3: float
    heat_capacity_j_kgk: float
    cells: int
    below_w_m2k: float = inf
    growth: float = 1.0


# units m, W/(m K), kg/m3, J/(kg K); joints W/(m2 K). Modelled on: siliconed polyester film, plain-weave
# linen in air, an EVA film, glue-sized linen, chalk ground with oil paint, soft blotting paper.
WORK: tuple[Layer, ...] = (
    Layer("release film", 39e-6, 0.17, 1370.0, 1210.0, 1, 420.0),
    Layer("strip", 0.43e-3, 0.083, 570.0, 1390.0, 5, 650.0),
    Layer("adhesive", 68e-6, 0.28, 938.0, 2230.0, 2, 560.0),
    Layer("canvas", 0.52e-3, 0.094, 640.0, 1410.0, 5),
    Layer("ground and paint", 0.23e-3, 0.47, 1830.0, 960.0, 3, 700.0),
    Layer("interleaf", 39e-6, 0.17, 1370.0, 1210.0, 1, 480.0),
    Layer("blotter", 0.56e-3, 0.074, 530.0, 1370.0, 4, 310.0),
)
BOND_LINE = 2  # index of the layer whose lower face is the bond line
FACE = 4  # index of the layer whose lower face is the painted face

_BOARD = Layer("wood-fibre board", 16e-3, 0.13, 720.0, 1640.0, 9, growth=1.5)
# modelled on: wool felt over board, board alone, polished stone slab
BASES: dict[str, tuple[Layer, ...]] = {
    "felt": (Layer("felt", 5.5e-3, 0.057, 165.0, 1360.0, 6, 250.0, growth=1.5), _BOARD),
    "board": (_BOARD,),
    "stone": (Layer("stone", 19e-3, 2.6, 2680.0, 870.0, 8, growth=1.4),),
}


@dataclass(frozen=True, slots=True)
class Footprint:
    """The plan of the contact: columns of cells along the strip, the sole over the middle ones.

    Attributes:
        covered_m: lengths of the columns under the sole, m; short ones at its ends, where the edge is felt.
        margin_m: lengths of the bare columns beyond each end, from the sole outwards, m.
        width_m: of the sole across the strip, m.
        spread_m: distance over which heat leaks sideways into the cold work around, m.
        free_w_m2k: loss from bare surfaces to the air, radiation included, W/(m2 K).
    """

    covered_m: tuple[float, ...]
    margin_m: tuple[float, ...]
    width_m: float
    spread_m: float
    free_w_m2k: float

    @property
    def lengths_m(self) -> tuple[float, ...]:
        """List the lengths of all columns along the strip, m."""
        return (*reversed(self.margin_m), *self.covered_m, *self.margin_m)

    @property
    def under(self) -> slice:
        """Pick the columns under the sole."""
        return slice(len(self.margin_m), len(self.margin_m) + len(self.covered_m))


# a spatula's sole of 42 mm by 21 mm (grade: proposal)
SOLE = Footprint(
    covered_m=(0.0015, 0.0035, 0.0065, 0.0095, 0.0095, 0.0065, 0.0035, 0.0015),
    margin_m=(0.0015, 0.0035, 0.0080),
    width_m=0.021,
    spread_m=0.006,
    free_w_m2k=9.0,
)
