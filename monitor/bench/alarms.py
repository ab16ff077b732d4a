"""The states of a warning after ISA-18.2 / IEC 62682, as one table.

Every pair of state and happening is listed: where it leads, or that nothing changes
(`None`), or that a person may not ask for it there (`REFUSED`). Three destinations depend
on the limit or on the present condition; they are named and resolved by `follow`.
A higher level is a new, graver condition, and always warns again.
Source of the states and transitions: a published list of the standard's states, known at
second hand; see tests/reference/README.md.
"""

from __future__ import annotations

from enum import StrEnum


class AlarmState(StrEnum):
    """The standard's states, letters A to I."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "returned_unacknowledged"
    LATCHED_UNACKNOWLEDGED = "latched_unacknowledged"
    LATCHED = "latched_acknowledged"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed_by_design"
    OUT_OF_SERVICE = "out_of_service"


class Happening(StrEnum):
    """What can befall a warning."""

    RAISE = "condition true after on-delay"
    WORSEN = "condition true again, or a higher level"
    RETURN = "return to normal"
    SEE = "acknowledge"
    RESET = "reset"
    SHELVE = "shelve"
    UNSHELVE = "timer ends or unshelve"
    SUPPRESS = "designed suppression"
    REMOVE = "out of service"
    RELEASE = "released"


SCREEN_WORDS: dict[AlarmState, str] = {
    AlarmState.NORMAL: "inside what you set",
    AlarmState.UNACKNOWLEDGED: "not yet seen",
    AlarmState.ACKNOWLEDGED: "seen",
    AlarmState.RETURNED: "over, not yet seen",
    AlarmState.LATCHED_UNACKNOWLEDGED: "over, not yet seen, to be reset",
    AlarmState.LATCHED: "over, to be reset",
    AlarmState.SHELVED: "silent for a time",
    AlarmState.SUPPRESSED: "off during this stage",
    AlarmState.OUT_OF_SERVICE: "probe not in use",
}

REFUSED = "refused"
BY_LIMIT = "by limit"
BY_CONDITION = "by condition"

_S, _H = AlarmState, Happening
_HELD = (_S.SHELVED, _S.SUPPRESSED, _S.OUT_OF_SERVICE)

TABLE: dict[tuple[AlarmState, Happening], AlarmState | str | None] = {
    (_S.NORMAL, _H.RAISE): _S.UNACKNOWLEDGED,
    (_S.NORMAL, _H.WORSEN): _S.UNACKNOWLEDGED,
    (_S.NORMAL, _H.RETURN): None,
    (_S.NORMAL, _H.SEE): REFUSED,
    (_S.UNACKNOWLEDGED, _H.RAISE): None,
    (_S.UNACKNOWLEDGED, _H.WORSEN): _S.UNACKNOWLEDGED,
    (_S.UNACKNOWLEDGED, _H.RETURN): BY_LIMIT,
    (_S.UNACKNOWLEDGED, _H.SEE): _S.ACKNOWLEDGED,
    (_S.ACKNOWLEDGED, _H.RAISE): None,
    (_S.ACKNOWLEDGED, _H.WORSEN): _S.UNACKNOWLEDGED,
    (_S.ACKNOWLEDGED, _H.RETURN): BY_LIMIT,
    (_S.ACKNOWLEDGED, _H.SEE): None,
    (_S.RETURNED, _H.RAISE): _S.UNACKNOWLEDGED,
    (_S.RETURNED, _H.WORSEN): _S.UNACKNOWLEDGED,
    (_S.RETURNED, _H.RETURN): None,
    (_S.RETURNED, _H.SEE): _S.NORMAL,
    (_S.LATCHED_UNACKNOWLEDGED, _H.RAISE): _S.UNACKNOWLEDGED,
    (_S.LATCHED_UNACKNOWLEDGED, _H.WORSEN): _S.UNACKNOWLEDGED,
    (_S.LATCHED_UNACKNOWLEDGED, _H.RETURN): None,
    (_S.LATCHED_UNACKNOWLEDGED, _H.SEE): _S.LATCHED,
    (_S.LATCHED, _H.RAISE): _S.UNACKNOWLEDGED,
    (_S.LATCHED, _H.WORSEN): _S.UNACKNOWLEDGED,
    (_S.LATCHED, _H.RETURN): None,
    (_S.LATCHED, _H.SEE): None,
    (_S.LATCHED, _H.RESET): _S.NORMAL,
    (_S.SHELVED, _H.UNSHELVE): BY_CONDITION,
    (_S.SUPPRESSED, _H.RELEASE): BY_CONDITION,
    (_S.OUT_OF_SERVICE, _H.RELEASE): BY_CONDITION,
    **{(s, h): None for s in _HELD for h in (_H.RAISE, _H.WORSEN, _H.RETURN)},
    **{(s, _H.SEE): REFUSED for s in _HELD},
    **{(s, _H.RESET): REFUSED for s in _S if s is not _S.LATCHED},
    **{(s, _H.SHELVE): _S.SHELVED for s in _S},
    **{(s, _H.SUPPRESS): _S.SUPPRESSED for s in _S},
    **{(s, _H.REMOVE): _S.OUT_OF_SERVICE for s in _S},
    **{(s, _H.UNSHELVE): REFUSED for s in _S if s is not _S.SHELVED},
    **{(s, _H.RELEASE): REFUSED for s in _S if s not in (_S.SUPPRESSED, _S.OUT_OF_SERVICE)},
}


def follow(
    state: AlarmState, happening: Happening, *, condition: bool, latching: bool, must_be_seen: bool
) -> AlarmState | None:
    """Give the state a happening leads to; the same state where nothing changes.

    Args:
        state, happening: where it is and what befalls it.
        condition: whether the condition holds at this instant.
        latching, must_be_seen: what the limit says.

    Returns:
        The next state, or None where a person may not ask for this in this state.
    """
    to = TABLE[state, happening]
    if to is None:
        return state
    if to == REFUSED:
        return None
    if to == BY_CONDITION:
        return AlarmState.UNACKNOWLEDGED if condition else AlarmState.NORMAL
    if to == BY_LIMIT:
        return _returned(state, latching=latching, must_be_seen=must_be_seen)
    return AlarmState(to)


def _returned(state: AlarmState, *, latching: bool, must_be_seen: bool) -> AlarmState:
    unseen = state is AlarmState.UNACKNOWLEDGED and must_be_seen
    if latching:
        return AlarmState.LATCHED_UNACKNOWLEDGED if unseen else AlarmState.LATCHED
    return AlarmState.RETURNED if unseen else AlarmState.NORMAL


SHOWN = frozenset(AlarmState) - {AlarmState.NORMAL, AlarmState.SUPPRESSED}
CAN_BE_SEEN = frozenset(
    {AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED, AlarmState.LATCHED_UNACKNOWLEDGED}
)  # fmt: skip
