"""One-dimensional transient conduction through layers, in its exact modal form.

Finite volumes: every layer is cut into cells, neighbouring layers meet at a contact
conductance, and either end is held, gives heat to a fluid, is insulated or goes on as a
half-space. With the capacity matrix C and the conductance matrix K,

    C dT/dt = -K T + g u(t),

the symmetrised C^-1/2 K C^-1/2 is diagonalised once (`eigh`); each mode then follows a
scalar equation that is solved exactly for an input that is straight, or a polynomial, between
samples. So nothing rings after a step and no step of time is too long. Equation of heat
conduction: Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, sec. 1.6
(recalled). The scheme itself is ours and is checked in the tests against closed forms.

`temperatures` answers for given times and depths; `Modes` steps a stack live under a tool.
"""

from monitor.science.conduction.layers import Array, Convective, Fixed, Insulated, Layer, OfTime, SemiInfinite
from monitor.science.conduction.mesh import Grid, grid
from monitor.science.conduction.modes import Modes
from monitor.science.conduction.solve import temperatures

__all__ = [
    "Array",
    "Convective",
    "Fixed",
    "Grid",
    "Insulated",
    "Layer",
    "Modes",
    "OfTime",
    "SemiInfinite",
    "grid",
    "temperatures",
]
