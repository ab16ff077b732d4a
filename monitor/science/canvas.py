"""Which way a held canvas moves with humidity, in words; of how hard it pulls nothing is said.

Below about 80 %RH a canvas on its stretcher slackens as humidity rises, since its layers take up
water. Above, the cloth's own shrinkage takes over: yarns swell, their waves deepen, the cloth
shortens and tightens. Where and how much differs from cloth to cloth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum, StrEnum

from monitor.figures import Figure, Grade
from monitor.science.elementwise import within

CRACKED = Figure(
    35.0, "%RH", "cci-time-lapse", Grade.PUBLISHED, "commentary, step from 50 to 35 %RH",
    "from 50 %RH: new cracks within a day; an oil painting on sized canvas, keyed tight",
)  # fmt: skip
WAX_RESIN = Figure(
    60.0, "%RH", "andersen-2013-report", Grade.CITED, "report on the thesis",
    "a lining with wax-resin may shrink above it; another study found such linings to answer least of all",
)  # fmt: skip
SHRINKER = Figure(
    78.0, "%RH", "pocobene-hodkinson-1992", Grade.PUBLISHED, "notes",
    "one painting reacted there: tightly woven, of 1887, thin brittle ground on a size layer of its own",
)  # fmt: skip
TURNOVER = Figure(
    80.0, "%RH", "hedley-1988", Grade.PUBLISHED, "abstract",
    "about; five naturally aged samples of 1825 to 1912, one direction, room temperature",
)  # fmt: skip
TENDENCY = Figure(85.0, "%RH", "cci-notes-10-9", Grade.PUBLISHED, "earlier edition", "about; canvas tends to shrink")
EXTREME_RH = Figure(
    90.0, "%RH", "berger-russell-1994", Grade.PUBLISHED, "abstract",
    "above it: extremely dangerous for canvas paintings",
)  # fmt: skip

FIGURES = {
    "canvas.cracked": CRACKED,
    "canvas.wax-resin": WAX_RESIN,
    "canvas.shrinker": SHRINKER,
    "canvas.turnover": TURNOVER,
    "canvas.tendency": TENDENCY,
    "canvas.extreme": EXTREME_RH,
}


class Held(StrEnum):
    """What is held on the stretcher, as far as the sources tell such canvases apart."""

    SIZED = "sized canvas"
    SUSPECTED_SHRINKER = "suspected shrinker"
    WAX_RESIN_LINED = "wax-resin lined"


@dataclass(frozen=True)
class Told:
    """What is said of a canvas, and on what grounds.

    Attributes:
        words: one sentence.
        figures: the humidities it rests on, each with its source.
        also: keys of sources that say it without a humidity, or contradict it.
    """

    words: str
    figures: tuple[Figure, ...]
    also: tuple[str, ...] = ()


class CanvasBehaviour(Enum):
    """A held canvas at a humidity."""

    NOT_KNOWN = Told("no humidity was measured", ())
    TIGHT = Told("dry: size, ground and paint are stiff and pull; keyed tight, a painting may crack anew", (CRACKED,))
    SLACKENS = Told("slackens as humidity rises, tightens as it falls", (TURNOVER,))
    TURNS = Told(
        "near the turnover: which way it moves is not sure, and a cloth prone to shrink may do so",
        (SHRINKER, TURNOVER, TENDENCY),
    )
    SHRINKS = Told("tightens as humidity rises, as far as its cloth tends to shrink", (TURNOVER, TENDENCY))
    EXTREME = Told("extremely dangerous for a painting on canvas", (EXTREME_RH,))
    SHRINKER_SLACKENS = Told(
        "slackens as humidity rises, up to where its cloth begins to shrink; one shrank at 78 %RH, where this one "
        "begins is not known",
        (SHRINKER, TURNOVER),
    )
    SHRINKER_SHRINKS = Told(
        "a cloth like it has shrunk at this humidity: expect it to shorten and tighten", (SHRINKER, TURNOVER)
    )
    WAX_RESIN_QUIET = Told(
        "hardly answers to humidity, by one study of such linings", (WAX_RESIN,), ("young-ackroyd-2001",)
    )
    WAX_RESIN_SHRINKS = Told(
        "may shrink and pull harder as humidity rises; the studies disagree, and this is the cautious one",
        (WAX_RESIN,), ("andersen-2014", "young-ackroyd-2001"),
    )  # fmt: skip

    @property
    def words(self) -> str:
        """Give what is said, one sentence."""
        return self.value.words

    @property
    def sources(self) -> tuple[str, ...]:
        """Give the keys of the sources, each once."""
        return tuple(dict.fromkeys((*(figure.source for figure in self.value.figures), *self.value.also)))


_BELOW_EXTREME: dict[Held, tuple[tuple[Figure, CanvasBehaviour], ...]] = {
    Held.SIZED: ((TENDENCY, CanvasBehaviour.SHRINKS), (SHRINKER, CanvasBehaviour.TURNS)),
    Held.SUSPECTED_SHRINKER: ((SHRINKER, CanvasBehaviour.SHRINKER_SHRINKS),),
    Held.WAX_RESIN_LINED: ((WAX_RESIN, CanvasBehaviour.WAX_RESIN_SHRINKS),),
}
"""From which humidity up, itself included, what is said; the highest first."""
_OTHERWISE = {
    Held.SIZED: CanvasBehaviour.SLACKENS,
    Held.SUSPECTED_SHRINKER: CanvasBehaviour.SHRINKER_SLACKENS,
    Held.WAX_RESIN_LINED: CanvasBehaviour.WAX_RESIN_QUIET,
}


def canvas_behaviour(rh_pct: float, held: Held = Held.SIZED) -> CanvasBehaviour:
    """Say what a held canvas does at a humidity that it has come to rest with.

    The steps are the figures of this module: at most 35 %RH tight (not for wax-resin), from 78 near
    the turnover, from 85 shrinking, above 90 extreme; a suspected shrinker from 78 shrinking; a
    wax-resin lining from 60. That the turnover's neighbourhood reaches from 78 to 85 is our reading
    of three sources, none of which gives it a width.

    Args:
        rh_pct: relative humidity of the air at the canvas in %RH, a number; 0 to 100.
        held: what is held on the stretcher.

    Returns:
        What is said of it; `NOT_KNOWN` for NaN.

    Raises:
        ValueError: the humidity lies outside 0 to 100 %RH.
    """
    rh = float(rh_pct)
    within("relative humidity at the canvas", "%RH", rh, 0.0, 100.0)
    if math.isnan(rh):
        return CanvasBehaviour.NOT_KNOWN
    if rh > _at(EXTREME_RH):
        return CanvasBehaviour.EXTREME
    if rh <= _at(CRACKED) and held is not Held.WAX_RESIN_LINED:
        return CanvasBehaviour.TIGHT
    for figure, behaviour in _BELOW_EXTREME[held]:
        if rh >= _at(figure):
            return behaviour
    return _OTHERWISE[held]


def _at(figure: Figure) -> float:
    """Give a figure's humidity; none here is without one."""
    if figure.value is None:
        raise ValueError(f"figure of {figure.source} has no value")
    return figure.value
