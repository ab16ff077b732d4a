"""What is said before a painting is handed back: how its places stand, from the day-book."""

from __future__ import annotations

from dashboard.past import Readable
from dashboard.words import counted

_KINDS = ["step_started", "place_judged", "contact_voided"]


def hand_back_sentence(store: Readable, number: str) -> str:
    """Say how many places of a painting were worked and how many are not known.

    A check by hand has no row of its own in this version's day-book, so none is ever counted.
    """
    verdicts = standing(store, number)
    if not verdicts:
        return "No place of it was worked."
    worked, unknown = counted(len(verdicts), "place"), sum(v == "not known" for v in verdicts)
    other = len(verdicts) - unknown
    reached = f", {other} judged otherwise" if other else ""
    return f"{worked} worked on it: {counted(unknown, 'place')} not known{reached}, none checked by hand."


def standing(store: Readable, number: str) -> list[str]:
    """Give the verdict that stands on each place of a painting's steps; marks taken back do not count."""
    steps: set[str] = set()
    passes: dict[tuple[str, str, int], dict[int, str]] = {}
    for row in store.daybook(kinds=_KINDS):
        step, body = row["step"] or "", row["body"]
        if row["kind"] == "step_started":
            if body["painting"] == number:
                steps.add(step)
        elif step in steps:
            here = passes.setdefault((step, body["side"], body["place"]), {})
            if row["kind"] == "place_judged":
                here[body["pass"]] = body["verdict"]
            else:
                here.pop(body["pass"], None)
    return [here[max(here)] for here in passes.values() if here]
