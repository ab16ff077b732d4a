"""The heated spatula: a body with heater and thermostat, and the tip that meets the work."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from monitor.probes.studio.layers import GAMMA, LATER


@dataclass(frozen=True, slots=True)
class ToolFigures:
    """What the invented spatula is made of, in W, J/K, W/K, K and s (grade: proposal).

    Modelled on a small hand iron of some 45 W with a thin brass sole and a bimetal switch in its body.
    """

    heater_w: float = 45.0
    body_j_k: float = 14.0
    tip_j_k: float = 2.4
    body_to_tip_w_k: float = 0.30
    body_loss_w_k: float = 0.10
    tip_loss_w_k: float = 0.012
    in_hand_factor: float = 1.3  # moved through the air it loses more than on its stand
    band_k: float = 2.2  # the switch opens this much above and closes this much below the set value
    switch_lag_s: float = 3.2


class Tool:
    """The spatula's state. Temperatures in degC.

    It is a `layers.Partner`: `begin`, then two calls of `stage`, make one step.
    """

    def __init__(self, start_c: float, figures: ToolFigures | None = None) -> None:
        self.figures = figures or ToolFigures()
        self.tip_c = start_c
        self.body_c = start_c
        self.switch_c = start_c
        self.set_c: float | None = None
        self.heating = False
        self.on_stand = True

    def begin(self, step_s: float, air_c: float) -> None:
        """Start a step: the switch decides, the air is noted."""
        self._decide()
        self._air_c = air_c
        self._short_s = GAMMA * step_s
        self._step_s = step_s
        self._tip_known, self._body_known = self.tip_c, self.body_c
        self._tip_first, self._body_first = self.tip_c, self.body_c

    def _decide(self) -> None:
        """Open or close the switch by its own lagging temperature."""
        if self.set_c is None or self.switch_c >= self.set_c + self.figures.band_k:
            self.heating = False
        elif self.switch_c <= self.set_c - self.figures.band_k:
            self.heating = True

    def stage(self, number: int, pull_w_k: float, offer_w: float) -> float:
        """Solve the balance of body and tip for one stage and give the tip's temperature, degC."""
        f, h = self.figures, self._short_s
        link, lose = f.body_to_tip_w_k, 1.0 if self.on_stand else f.in_hand_factor
        tip_loss, body_loss = f.tip_loss_w_k * lose, f.body_loss_w_k * lose
        a = f.tip_j_k / h + link + tip_loss + pull_w_k
        b = f.body_j_k / h + link + body_loss
        p = f.tip_j_k / h * self._tip_known + tip_loss * self._air_c + offer_w
        q = f.body_j_k / h * self._body_known + body_loss * self._air_c + (f.heater_w if self.heating else 0.0)
        tip = (p * b + link * q) / (a * b - link * link)
        body = (q + link * tip) / b
        if number == 0:
            self._tip_known = self._tip_first + LATER * (tip - self._tip_first)
            self._body_known = self._body_first + LATER * (body - self._body_first)
        else:
            self._finish(tip, body)
        return tip

    def _finish(self, tip_c: float, body_c: float) -> None:
        """Take over the step's end; the switch follows the body."""
        self.tip_c, self.body_c = tip_c, body_c
        self.switch_c += (body_c - self.switch_c) * (1.0 - exp(-self._step_s / self.figures.switch_lag_s))

    def alone(self, step_s: float, air_c: float) -> None:
        """Make one step touching nothing."""
        self.begin(step_s, air_c)
        self.stage(0, 0.0, 0.0)
        self.stage(1, 0.0, 0.0)
