"""The figures of warnings in sentences, at most a hundred signs a line."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator, Mapping

from monitor.bench import warning_guide as guide
from monitor.clock import iso
from monitor.figures import Figure, Grade
from monitor.report.warning_compared import Compared, compared
from monitor.report.warning_figures import WarningFigures
from monitor.report.warning_history import Key
from monitor.report.words import seconds

WIDTH = 100
LISTED = 10
Told = Iterator[str]
Held = Mapping[str, Compared]
GRADES = {Grade.CITED: "cited", Grade.RECALLED: "recalled, not read", Grade.PROPOSAL: "set by this program"}


def lines(figures: WarningFigures, titles: Mapping[str, str]) -> Iterator[str]:
    """Write the figures of a period.

    Args:
        titles: of the sources by key, with what of each was read.
    """
    yield f"Warnings from {_at(figures.from_ms)} to {_at(figures.to_ms)} UTC"
    held = {one.measure: one for one in compared(figures)}
    for part in _PARTS if figures.ran_ms or figures.given else _PARTS[:2]:
        told = list(part(figures, held))
        yield from [""] if told else []
        for text in told:
            yield from textwrap.wrap(text, WIDTH, subsequent_indent="  ", break_on_hyphens=False)
    yield ""
    yield from _sources(titles)


def _station(figures: WarningFigures, held: Held) -> Told:
    del held
    whole = figures.to_ms - figures.from_ms
    text = f"The station ran for {seconds(figures.ran_ms)} of these {seconds(whole)}."
    if figures.ran_ms == 0:
        text = "The station did not run in this period, as far as the day-book tells; no rate can be given."
    if figures.record_ms is not None and figures.record_ms < figures.to_ms:
        text += f" The record reaches to {_at(figures.record_ms)}."
    if figures.clock_set:
        text += f" The clock was set {_times(figures.clock_set)}; what lasted across that is as the clock showed it."
    yield text


def _given(figures: WarningFigures, held: Held) -> Told:
    del held
    yield f"{_warnings(figures.given)} given; a graver level counts as a new one."
    if figures.anew:
        yield f"  {figures.anew} of them because a silence, or a want of readings, ended while it still held."
    if figures.again:
        yield f"  {figures.again} of them because they stood on after they had been seen."
    if figures.beside:
        yield f"  {figures.beside} of them at one instant with another step's on the same reading; they sound once."
    if figures.undated:
        yield (
            f"  {_warnings(figures.undated)} given while the board did not know the time; nobody can say when, and"
            " no figure here counts them."
        )
    ended = "it" if figures.record_ms is None or figures.record_ms >= figures.to_ms else "the record"
    yield f"  {figures.stood_before} stood already when the period began, {figures.stand_after} when {ended} ended."


def _average(figures: WarningFigures, held: Held) -> Told:
    one, rates = held["average.per_10_min"], figures.rates
    if rates.per_10_min is None or rates.per_day is None:
        yield "On average: not known."
        return
    about, most = guide.value(guide.AVERAGE_ABOUT), guide.value(guide.AVERAGE_MOST)
    yield (
        f"On average {rates.per_10_min:.2f} in 10 min, a rate of {rates.per_day:.0f} a day. The guide calls about"
        f" {about:g} in 10 min ({about * 144:g} a day) acceptable and {most:g} ({most * 144:g} a day) the most that"
        f" is manageable ({_grade(guide.AVERAGE_MOST)}): {_inside(one)} what it calls manageable."
    )


def _peaks(figures: WarningFigures, held: Held) -> Told:
    rates = figures.rates
    yield f"The most in any 10 min: {rates.ten_minutes.most}{_from(rates.ten_minutes.from_ms)}."
    for name, found, figure in (("hour", rates.hour, guide.PEAK_HOUR), ("minute", rates.minute, guide.PEAK_MINUTE)):
        yield (
            f"The most in any {name}: {found.most}{_from(found.from_ms)}; the guide's figure is {figure.value:g}"
            f" ({_grade(figure)}): {_inside(held[f'peak.{name}'])} it."
        )


def _floods(figures: WarningFigures, held: Held) -> Told:
    rates = figures.rates
    begin, end = guide.value(guide.FLOOD_ABOVE), guide.value(guide.FLOOD_BELOW)
    if rates.flood_share is not None:
        yield (
            f"In flood for {seconds(rates.flood_ms)}, {rates.flood_share:.1f} % of the time; the guide's figure is"
            f" under about {guide.FLOOD_SHARE.value:g} % ({_grade(guide.FLOOD_SHARE)}):"
            f" {_inside(held['flood.share_pct'])} it."
        )
    for begin_ms, end_ms in rates.floods[:LISTED]:
        yield f"  {_at(begin_ms)} to {_at(end_ms)}"
    yield from _more(len(rates.floods))
    yield (
        f"  A flood: more than {begin:g} new in 10 min ({_grade(guide.FLOOD_ABOVE)}), until they are fewer than"
        f" {end:g} ({_grade(guide.FLOOD_BELOW)})."
    )


def _frequent(figures: WarningFigures, held: Held) -> Told:
    if not figures.frequent:
        yield "Most frequent: none."
        return
    yield f"Most frequent, of {figures.kinds} kind{'' if figures.kinds == 1 else 's'}:"
    for one in figures.frequent:
        share = 100 * one.count / figures.given
        yield f"  {one.count} ({share:.0f} %) {one.limit} on {one.channel}{f', sheet {one.sheet}' * bool(one.sheet)}"
    if figures.kinds <= LISTED:
        yield "  There were no more than ten kinds, so that their share in all tells nothing."
        return
    figure = guide.FREQUENT_SHARE
    yield (
        f"  The ten together: {figures.frequent_share:.0f} %; no more than {figure.low:g} to {figure.high:g} %"
        f" ({_grade(figure)}): {_inside(held['frequent.share_pct'])} that."
    )


def _chattering(figures: WarningFigures, held: Held) -> Told:
    del held
    times, within = guide.CHATTER_TIMES, guide.CHATTER_WITHIN
    yield (
        f"Chattering, {times.value:g} times or oftener beyond a level within {within.value:g} s ({_grade(times)}):"
        f" {len(figures.chattering) or 'none'}."
    )
    for one in figures.chattering[:LISTED]:
        level = f", level {one.level}" if one.level else " (then told no more until it was quiet)"
        yield f"  {_name(one.key)}{level}: {one.most} times in a minute, first {_at(one.from_ms)}"
    yield from _more(len(figures.chattering))


def _fleeting(figures: WarningFigures, held: Held) -> Told:
    del held
    within, again = guide.FLEETING_WITHIN, guide.FLEETING_AGAIN
    yield (
        f"Fleeting, over by itself within {within.value:g} s and not back within {again.value:g} s"
        f" ({_grade(within)}; the guide says only `within seconds` and `not at once`): {figures.fleeting or 'none'}."
    )


def _standing(figures: WarningFigures, held: Held) -> Told:
    over, most = guide.STANDING_OVER, guide.STANDING_MOST
    yield (
        f"Standing for more than {over.value:g} h ({_grade(over)}): {len(figures.stale) or 'none'}, at one time"
        f" {figures.stale_at_once}; fewer than {most.value:g} on any day ({_grade(most)}):"
        f" {_inside(held['standing.at_once'])} that."
    )
    for one in figures.stale[:LISTED]:
        until = "still standing" if one.to_ms is None else f"to {_at(one.to_ms)}"
        yield f"  {_name(one.key)}: from {_at(one.from_ms)}, {until}"
    yield from _more(len(figures.stale))


def _looked(figures: WarningFigures, held: Held) -> Told:
    del held
    looked = figures.looked
    if not figures.given:
        yield "Time to seen: no warning to be seen."
        return
    text = f"Seen: {looked.seen} of {figures.given}"
    if looked.median_ms is not None and looked.most_ms is not None:
        text += f", half of them within {seconds(looked.median_ms)}, nine tenths within {seconds(looked.most_ms)}"
    yield text + "."
    if looked.unknown:
        yield f"  Of {looked.unknown} nobody knows after how long: the board did not know the time."
    yield f"  Never seen before they were over or put off: {looked.never}."
    yield f"  Silenced, or the probe put out of use, before being marked seen: {looked.silenced}."
    yield f"  Not yet seen: {looked.waiting}."


def _priorities(figures: WarningFigures, held: Held) -> Told:
    if not figures.given:
        return
    shares = ", ".join(
        f"{p} {held[f'priority.{p}_pct'].value or 0:.0f} % ({n})" for p, n in figures.priorities.items()
    )
    about = "/".join(f"{guide.FIGURES[f'warnings.priority.{p}'].value:g}" for p in figures.priorities)
    yield f"By priority: {shares}; the guide's figure is about {about} ({_grade(guide.PRIORITY_LOW)})."


def _hushed(figures: WarningFigures, held: Held) -> Told:
    del held
    for one in figures.hushed:
        name = {"silent": "Silent for a time", "off": "Off"}.get(one.what, one.what.capitalize())
        text = f"{name}: {_times(one.count) if one.count else 'never'}"
        if one.count:
            text += f", {seconds(one.total_ms)} in all, the longest {seconds(one.longest_ms)}"
        if one.lasting:
            text += f"; {one.lasting} lasted on when the period ended"
        yield text + "."
    yield "  Off counts warnings put off by name, or by a stage while they stood; each warning is counted by itself."


def _sources(titles: Mapping[str, str]) -> Told:
    yield "Where the guide's figures come from:"
    for key in dict.fromkeys(figure.source for figure in guide.FIGURES.values()):
        grades = [figure.grade for figure in guide.FIGURES.values() if figure.source == key]
        text = f"  {GRADES[grades[0]]}: {titles.get(key, key)}"
        yield from textwrap.wrap(text, WIDTH, subsequent_indent="    ")
    yield "  Each stands in `benchblotter sources` under warnings."


def _grade(figure: Figure) -> str:
    return GRADES[figure.grade]


def _inside(one: Compared) -> str:
    return "inside" if one.inside else "outside"


def _warnings(count: int) -> str:
    return f"{count} warning was" if count == 1 else f"{count or 'No'} warnings were"


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _more(count: int) -> Told:
    if count > LISTED:
        yield f"  and {count - LISTED} more; all of them are in --json"


def _name(key: Key) -> str:
    step, limit, channel = key
    return f"{limit} on {channel}, step {step}"


def _at(at_ms: int) -> str:
    return iso(at_ms)[:19].replace("T", " ")


def _from(at_ms: int | None) -> str:
    return "" if at_ms is None else f", from {_at(at_ms)}"


_PARTS: tuple[Callable[[WarningFigures, Held], Told], ...] = (
    _station, _given, _average, _peaks, _floods, _frequent, _chattering, _fleeting, _standing, _looked, _priorities,
    _hushed,
)  # fmt: skip
