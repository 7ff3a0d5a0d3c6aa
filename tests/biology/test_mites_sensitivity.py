"""Which inputs move the load of August most: one at a time from its low to its high end, all others usual.

What comes out stands in ``mites_sensitivity.md`` beside this file. After a change of ``rules/mites.yaml`` write it anew
with ``SENSITIVITY=write pytest tests/biology/test_mites_sensitivity.py``, and read what differs.
"""

from __future__ import annotations

import math
import os
from dataclasses import fields, replace
from functools import cache
from pathlib import Path

from biology.mite_places import day, figures, marks_at

from ipmcal.biology.mites import draws
from ipmcal.biology.mites.colony import OVERWINTERED, colony
from ipmcal.biology.mites.draws import Brood, Draw, Lives
from ipmcal.biology.mites.figures import Drawn, Figures, Spread
from ipmcal.biology.mites.handling import NOTHING, Trap
from ipmcal.biology.mites.run import Begin, run

TABLE = Path(__file__).parent / "mites_sensitivity.md"
PLACES = ("england_south_midlands", "germany_central_europe", "us_northeast", "us_florida")
ON = day("08-15")
ENDS = (0.1, 0.9)
"""The quantiles of what has no ends: start and coming in."""
LOW_AND_HIGH = (0.0, 1.0)
NAMES = {
    "start": "mites on 1 January",
    "coming": "mites coming in",
    "peak": "eggs a day at the peak",
    "least": "laying in the pause",
    "less_in_dearth": "laying lost in a dearth",
    "drones": "drones' share of eggs",
    "worker_survive": "eggs that are capped",
    "in_trap_comb": "share of drone brood that is cut (cut all season)",
    "mothers_survive": "mothers that live through a cycle",
    "daughters_survive": "daughters that live to breed",
    "daughters_in_worker": "daughters in a worker cell",
    "daughters_in_drone": "daughters in a drone cell",
    "die_with_brood": "deaths on bees with brood",
    "die_broodless": "deaths on bees without brood",
}


def load(place: str, one: Figures, draw: Draw, *, traps: bool = False) -> float:
    """Mites in 100 bees on 15 August, as a wash reads them, untreated."""
    marks = marks_at(place)
    here = colony(marks, OVERWINTERED, one, draw, (day("01-01"), ON))
    first = marks.before(marks.drones_begin) + 14
    combs = [Trap(laid, laid + 21) for laid in range(first, ON - 40, 7)] if traps else []
    begin = Begin(day("01-01"), draw.start(one.starts.medians["unknown"], one), ON)
    coming = draw.coming("usual", one)
    trace = run(one.nest, here, draw.lives, begin, coming, NOTHING.with_traps(combs))
    return 100 * trace.on_bees[-1] / here.bees[ON - here.first] * one.weighing.wash_reads


def moved(place: str, name: str) -> tuple[float, float]:
    """The load with one input at its low and at its high end."""
    one, rarely = figures(), marks_at(place).rarely_broodless
    usual = draws.usual(one, rarely)
    if name in ("start", "coming"):
        return tuple(load(place, one, replace(usual, **{f"{name}_at": q})) for q in ENDS)  # type: ignore[return-value]
    if name == "least":
        most = one.seasonal.least_rarely if rarely else one.seasonal.least_elsewhere
        return tuple(load(place, one, replace(usual, brood=replace(usual.brood, least=e))) for e in (0.0, most))  # type: ignore[return-value]
    return tuple(
        load(place, at_end(name, end), usual_of(name, end, rarely), traps=name == "in_trap_comb")
        for end in LOW_AND_HIGH
    )  # type: ignore[return-value]


def at_end(name: str, end: float) -> Figures:
    """Figures with one that is drawn at its low (0) or high (1) end, in every draw."""
    spread: Spread = getattr(figures().drawn, name)
    fixed = spread.at(end)
    return replace(figures(), drawn=replace(figures().drawn, **{name: Spread(fixed, fixed, fixed)}))


@cache
def usual_of(name: str, end: float, rarely: bool) -> Draw:
    return draws.usual(at_end(name, end), rarely)


def swings(place: str) -> dict[str, float]:
    """The load at the high end, in times that at the low end."""
    found = {name: moved(place, name) for name in NAMES}
    return {name: high / low for name, (low, high) in found.items()}


def table() -> str:
    by_place = {place: swings(place) for place in PLACES}
    mean = {name: math.exp(sum(math.log(by_place[p][name]) for p in PLACES) / len(PLACES)) for name in NAMES}
    order = sorted(NAMES, key=lambda name: (-round(abs(math.log(mean[name])), 2), name))
    most = ", ".join(NAMES[name] for name in order[:3])
    head = [
        "# What moves the load of mites on 15 August",
        "",
        "The load at an input's high end, in times that at its low end, all others usual, untreated: from low to high",
        "as `rules/mites.yaml` has them; of what is log-normal there, from its 10 % to its 90 % quantile. Below 1: the",
        "more, the fewer mites. Made by `test_mites_sensitivity.py`.",
        "",
        f"**Most: {most}.**",
        "",
        "| input | " + " | ".join(PLACES) + " | mean |",
        "|---|" + "--:|" * (len(PLACES) + 1),
    ]
    rows = [
        f"| {NAMES[name]} | " + " | ".join(f"{by_place[p][name]:.2f}" for p in PLACES) + f" | {mean[name]:.2f} |"
        for name in order
    ]
    usual = " | ".join(
        f"{load(p, figures(), draws.usual(figures(), marks_at(p).rarely_broodless)):.1f}" for p in PLACES
    )
    return "\n".join([*head, *rows, "", f"With all of them usual, mites in 100 bees of a wash: {usual}.", ""])


def test_every_drawn_figure_has_its_row() -> None:
    drawn = {one.name for one in fields(Drawn)}
    assert drawn | {"start", "coming", "least"} == set(NAMES)
    assert len(fields(Brood)) + len(fields(Lives)) + 1 + 2 == len(NAMES), "daughters are two figures in one"


def test_the_table_is_the_one_that_is_stored() -> None:
    now = table()
    if os.environ.get("SENSITIVITY") == "write":
        TABLE.write_text(now, encoding="utf-8", newline="\n")
    assert TABLE.read_text(encoding="utf-8") == now, "see the head of this file"
