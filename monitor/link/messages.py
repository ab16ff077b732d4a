"""The words of the two local sockets: newline JSON, 1 MB a line at most.

`requests.sock`: the station greets with `Greeting`; each line of the client is a `Request`,
each answered by one `Answer` after the commit. A repeated id gets the same answer for 24 h.
`feed.sock`: the station greets, then sends feed rows for as long as the client listens.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any, Literal, TypedDict

from monitor.errors import LinkError
from monitor.link.view import View

PROTOCOL = 1
LINE_LIMIT = 1_000_000
REQUESTS_SOCKET = "requests.sock"
FEED_SOCKET = "feed.sock"

VERBS: dict[str, str] = {
    "add_painting": "painting_asked",
    "hand_back": "hand_back_asked",
    "start_step": "step_asked",
    "finish_step": "finish_asked",
    "next_stage": "stage_asked",
    "mark": "mark_asked",
    "undo": "undo_asked",
    "note": "note_asked",
    "see": "see_asked",
    "shelve": "shelve_asked",
    "unshelve": "unshelve_asked",
    "suppress": "suppress_asked",
    "out_of_service": "out_of_service_asked",
    "release": "release_asked",
    "reset": "reset_asked",
}

TEST_WAY = "test_way"  # asks for a trial of a way to be told, by name; stands beside the fold


class Greeting(TypedDict):
    """The first line of either socket."""

    protocol: int
    board: str
    boot: int
    version: str


@dataclass(frozen=True)
class Request:
    """A request: `do` is a verb of `VERBS`, `TEST_WAY`, or `view` to be shown the state without a record.

    `expects` is the revision of the step the asker saw; `age_ms` how long ago the key was pressed.
    """

    id: str
    do: str
    body: dict[str, Any] = field(default_factory=dict)
    by: str | None = None
    via: str = "command"
    expects: int | None = None
    age_ms: int = 0

    def as_json(self) -> dict[str, Any]:
        """Give the message as a JSON object."""
        return asdict(self)

    @classmethod
    def from_json(cls, message: Any) -> Request:  # noqa: ANN401
        """Read a message; LinkError naming the field that is missing or of another type."""
        wanted: dict[str, tuple[type, ...]] = {
            "id": (str,), "do": (str,), "body": (dict,), "by": (str, type(None)), "via": (str,),
            "expects": (int, type(None)), "age_ms": (int,),
        }  # fmt: skip
        if not isinstance(message, dict):
            raise LinkError("request", f"a {type(message).__name__}", "a JSON object", "Send one object a line.")
        for key in message:
            if key not in wanted:
                raise LinkError("request", f"unknown field {key!r}", ", ".join(wanted), "Leave it out.")
        for key, types in wanted.items():
            if key in ("id", "do") and key not in message:
                raise LinkError("request", f"no field {key!r}", "an id and a verb", "Add it.")
            if key in message and not isinstance(message[key], types):
                names = " or ".join(t.__name__ for t in types)
                raise LinkError(f"request field {key!r}", repr(message[key]), names, "Correct it.")
        return cls(**message)


class AnswerDict(TypedDict):
    """The answer to a request. `error` has the four parts of a BlotterError."""

    id: str
    ok: bool
    result: dict[str, Any]
    conflict: bool
    error: dict[str, str] | None


class FeedReadings(TypedDict):
    """Readings as decided: rows of [channel, at_ms or None, value or None, quality word]."""

    feed: Literal["readings"]
    stored: bool
    rows: list[list[Any]]


class FeedView(TypedDict):
    """The whole view after a change, and once at the start."""

    feed: Literal["view"]
    view: View


class FeedEvent(TypedDict):
    """A day-book row, after its commit."""

    feed: Literal["event"]
    row: dict[str, Any]


class FeedEstimates(TypedDict):
    """Estimates of a running contact: rows of [step, depth, p05, p50, p95, at_ms]."""

    feed: Literal["estimates"]
    rows: list[list[Any]]


class FeedSignal(TypedDict):
    """A signal for eye or ear, sent when decided."""

    feed: Literal["signal"]
    name: str
    body: dict[str, Any]


class FeedStored(TypedDict):
    """Once a second at least: the time up to which readings are stored. Also the heartbeat."""

    feed: Literal["stored"]
    at_ms: int | None
    now_ms: int | None


FeedRow = FeedReadings | FeedView | FeedEvent | FeedEstimates | FeedSignal | FeedStored
