"""What the station shows: one JSON object, complete at every change.

The dashboard draws pages from it and from nothing else that is live. Times are UTC ms;
they are None while the board does not know the time.
"""

from __future__ import annotations

from typing import TypedDict

from monitor.link.way_view import WayView


class ChannelView(TypedDict):
    """One channel's last reading. `value` is None in a gap; `quality` is the stored word."""

    channel: str
    quantity: str
    words: str
    symbol: str
    unit: str
    value: float | None
    at_ms: int | None
    quality: str


class FaultView(TypedDict):
    """What is wrong with a probe, in words, and since when."""

    quality: str
    words: str
    do: str
    since_ms: int | None


class ComputedView(ChannelView):
    """What a step computes from several channels. `value` is None while it is not known; `quality` then says so.

    With the quality `clipped` the value is a bound. `told` says what it is computed from; `limits`
    are the keys of those that judge it, since one surface may be judged in two airs.
    """

    told: str
    limits: list[str]


class ProbeView(TypedDict):
    """A probe, the instrument's part that serves it and its channels."""

    probe: str
    bench: str
    part: str
    source: str
    simulated: bool
    fault: FaultView | None
    channels: list[ChannelView]


class PaintingView(TypedDict):
    """A painting in hand."""

    number: str
    name: str
    support: str
    beware: list[str]


class LevelView(TypedDict):
    """One level of a limit with where it comes from."""

    at: float
    priority: str
    source: str
    locator: str
    grade: str
    note: str


class LimitView(TypedDict):
    """A limit in force; `off` tells that it is off during the present stage. Causes to what to do: why it warns.

    `judged_at` gives, for each channel whose levels are drawn in for its probe's error, what they are judged at.
    """

    key: str
    quantity: str
    words: str
    side: str
    symbol: str
    deadband: float
    levels: list[LevelView]
    channels: list[str]
    off: bool
    causes: list[str]
    consequence: str
    what_to_do: str
    time_to_respond_s: int
    judged_at: dict[str, list[float]]


class BindingView(TypedDict):
    """A probe's part in a step."""

    role: str
    probe: str
    touches: str
    channels: list[str]


class PlaceView(TypedDict):
    """A numbered place. `verdict` is None before the first contact there.

    Verdicts: reached, not reached, not known, over the limit set.
    """

    place: int
    verdict: str | None
    reason: str
    passes: int
    seconds: float
    tool_low: float | None
    tool_high: float | None


class PlacesView(TypedDict):
    """The places of the side in hand; `workable` tells that the tool may be set down on them in this stage."""

    side: str
    count: int
    here: int
    pass_no: int
    in_contact: bool
    contact_since_ms: int | None
    workable: bool
    places: list[PlaceView]


class BandView(TypedDict):
    """An estimate at one depth: 90 % band and most likely value, degC."""

    depth: str
    words: str
    p05: float
    p50: float
    p95: float
    at_ms: int | None


class ControlView(TypedDict):
    """The one large control: its word, and the request it makes. `do` is empty when there is none.

    `calls` is False when the sentence says to wait: the control is then outlined, not filled.
    """

    words: str
    do: str
    body: dict[str, str]
    calls: bool


class SayView(TypedDict):
    """What the right-hand sheet says."""

    sentence: str
    why: str
    facts: list[list[str]]
    control: ControlView
    cautions: list[str]


class StepView(TypedDict):
    """A running step."""

    id: str
    sheet: str
    title: str
    painting: PaintingView | None
    bench: str
    stage: str
    stage_words: str
    next_stage: str | None
    next_stage_words: str
    revision: int
    started_ms: int | None
    started_by: str | None
    bindings: list[BindingView]
    limits: list[LimitView]
    computed: list[ComputedView]
    places: PlacesView | None
    estimates: list[BandView]
    estimate_note: str
    answers: list[list[str]]
    say: SayView


class WarningView(TypedDict):
    """A warning that stands or has not been seen. `state` is the ISA-18.2 word, `words` the screen's.

    `since_ms` is when the warning came; `began_ms` when the value went past the limit, its
    on-delay before. `side` and `at` are what was passed; `judged_at` differs where a margin for the
    probe's error is kept. `silent_until_ms` is when a silence ends; one without it may end with the warning.
    `held_back`: its probe gives no reading. `comes_and_goes`: it stands until it has been quiet.
    """

    step: str
    limit: str
    channel: str
    state: str
    words: str
    priority: str
    painting: str
    bench: str
    sentence: str
    what_to_do: str
    causes: list[str]
    consequence: str
    side: str
    at: float
    began_ms: int | None
    since_ms: int | None
    over: bool
    may_be_seen: bool
    silent_until_ms: int | None
    judged_at: float
    time_to_respond_s: int
    comes_and_goes: bool
    held_back: bool


class FloodView(TypedDict):
    """Many new warnings at once: how many came in the time that `words` tells, under which they are shown as one."""

    count: int
    since_ms: int | None
    words: str


class QuestionView(TypedDict):
    """What is asked at the start of a step; without choices any words will do."""

    key: str
    text: str
    choices: list[str]


class SheetView(TypedDict):
    """A working sheet that can be started, with what it asks."""

    sheet: str
    title: str
    roles: dict[str, list[str]]
    has_places: bool
    asks_painting: bool
    asks: list[QuestionView]


class View(TypedDict):
    """Everything the station shows at one instant."""

    at_ms: int | None
    revision: int
    studio: str
    simulated: bool
    time_known: bool
    stored_at_ms: int | None
    benches: list[str]
    probes: list[ProbeView]
    paintings: list[PaintingView]
    steps: list[StepView]
    warnings: list[WarningView]
    flood: FloodView | None
    sheets: list[SheetView]
    ways: list[WayView]
