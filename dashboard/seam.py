"""The seam: the places of a side as numbered circles, what a tap on one offers, and what is said of them."""

from __future__ import annotations

from dataclasses import dataclass

from dashboard.words import counted, lasting, numbers, spanned
from monitor.link.view import PlacesView, PlaceView, StepView

SHAPES = {
    None: "empty",
    "reached": "reached",
    "not reached": "missed",
    "not known": "unknown",
    "over the limit set": "over",
}


@dataclass(frozen=True)
class Spot:
    """One place of the seam.

    Attributes:
        number, shape: its number and the shape drawn.
        words: what is said of it.
        here: the tool is there, or goes there next.
        offer: what a tap offers, for instance `Go over place 11 again, pass 2`; "" when nothing can be marked.
        why_not: why nothing is offered, or "".
        fields: the mark the offer makes.
    """

    number: int
    shape: str
    words: str
    here: bool
    offer: str
    why_not: str
    fields: dict[str, str]


def seam(step: StepView) -> list[Spot]:
    """Lay out the places of the side in hand, one spot each; none when the step has no places."""
    places = step["places"]
    return [_spot(step, places, place) for place in places["places"]] if places else []


def goes_on(step: StepView) -> bool:
    """Tell whether the tool is on a place, or one is still to come."""
    places = step["places"]
    return places is not None and (places["in_contact"] or step["say"]["control"]["do"] == "mark")


def _spot(step: StepView, places: PlacesView, place: PlaceView) -> Spot:
    number, verdict = place["place"], place["verdict"]
    here = number == places["here"] and goes_on(step)
    said = verdict or ("not yet judged" if place["passes"] else "not yet")
    if place["reason"]:
        said += f", {place['reason']}"
    if here:
        said = ("here, in contact" if places["in_contact"] else "here next") + (
            f"; before: {said}" if verdict else ""
        )
    why_not = _why_not(places)
    again = f"Go over place {number} again, pass {place['passes'] + 1}"
    return Spot(
        number=number,
        shape=SHAPES.get(verdict, "unknown"),
        words=f"place {number}: {said}{_worked(place)}",
        here=here,
        offer="" if why_not else again if place["passes"] else f"Mark: tool down on place {number}, pass 1",
        why_not=why_not,
        fields={"step": step["id"], "mark": "down", "place": str(number)},
    )


def _why_not(places: PlacesView) -> str:
    if places["in_contact"]:
        return f"The tool is on place {places['here']}. Mark it lifted first."
    return "" if places["workable"] else "Places are worked in another stage than this one."


def _worked(place: PlaceView) -> str:
    if not place["passes"]:
        return ""
    low, high = place["tool_low"], place["tool_high"]
    heat = "" if low is None or high is None else f", tool {spanned(low, high, '°C')}"
    return f"; {lasting(int(place['seconds'] * 1000))} in {counted(place['passes'], 'pass', 'passes')}{heat}"


def tally(places: PlacesView) -> str:
    """Count the verdicts in words, for instance `5 reached · 1 not reached`."""
    counts: dict[str, int] = {}
    for place in places["places"]:
        if place["verdict"]:
            counts[place["verdict"]] = counts.get(place["verdict"], 0) + 1
    return " · ".join(f"{counts[v]} {v}" for v in SHAPES if v and v in counts)


def reasons(places: PlacesView) -> list[str]:
    """Say why places are not reached: one sentence for each reason they share, then what else is said of some."""
    judged = [p for p in places["places"] if p["verdict"]]
    groups: dict[tuple[str, str], list[PlaceView]] = {}
    for place in judged:
        if place["verdict"] and place["verdict"] != "reached":
            groups.setdefault((place["verdict"], place["reason"].partition("; ")[0]), []).append(place)
    told = []
    for (verdict, reason), group in sorted(groups.items(), key=lambda item: -len(item[1])):
        who = f"All {len(judged)}" if 1 < len(judged) == len(group) else _named([p["place"] for p in group])
        told.append(f"{who}: {', '.join(part for part in (verdict, reason) if part)}.")
        told += _besides(group)
    return told


def _besides(group: list[PlaceView]) -> list[str]:
    more: dict[str, list[int]] = {}
    for place in group:
        if rest := place["reason"].partition("; ")[2]:
            more.setdefault(rest, []).append(place["place"])
    return [f"{_named(where)} besides: {rest}." for rest, where in more.items()]


def _named(where: list[int]) -> str:
    return f"Place{'s' if len(where) > 1 else ''} {numbers(where)}"


def still_open(step: StepView) -> list[str]:
    """Say what is open in a step that is about to be finished."""
    told = []
    places = step["places"]
    if places:
        if places["in_contact"]:
            told.append(f"The tool is on place {places['here']}. Mark it lifted first.")
        for word, found in (
            ("not worked", [p["place"] for p in places["places"] if not p["passes"]]),
            ("not known", [p["place"] for p in places["places"] if p["verdict"] == "not known"]),
            ("not reached", [p["place"] for p in places["places"] if p["verdict"] == "not reached"]),
        ):
            if found:
                told.append(f"{counted(len(found), 'place')} {word}: {numbers(found)}.")
    if step["next_stage"] is not None:
        told.append(f"Stage not begun: {step['next_stage_words']}.")
    if leads := sorted({b["probe"] for b in step["bindings"]}):
        told.append(f"Leads parked? There {'is' if len(leads) == 1 else 'are'} {len(leads)}: {', '.join(leads)}.")
    if any(c.endswith(".tool_temperature") for b in step["bindings"] for c in b["channels"]):
        told.append("Tool unplugged and on its stand?")
    return told
