"""Scenes: small yards that hold what years of random outfits hardly ever do, planned once each.

``python tests/scenes.py [NAME ...]`` (sources and ``tests`` have to be on the path) plans them, and all invariants are
asked; ``tests/planted.py`` plants bugs in them. All yards, keepers and bees are invented.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace

from planning.invariants import check_plan
from planning.yards import YEAR, colony, lines, on, outfit, shipped, yard

from ipmcal.model.outfit.outfit import Colony, Outfit
from ipmcal.planning.plan import make_plan

Scene = tuple[Outfit, str]
"""What is known, and the day of planning."""


def _hive(key: str, *texts: str) -> Colony:
    return colony(key, history=lines(*texts, colony=key), strength=8)


def swarmed_over_trays() -> Scene:
    """A hive swarms while trays of thymol lie on its bars: a look for eggs can't wait until they are out."""
    hive = _hive("1", "08-06 strips_in thymol_gel 1", "08-07 swarmed")
    return outfit(yard(hive, program="first_year"), journal=()), "08-08"


def full_too_late_for_supers() -> Scene:
    """A package of April builds its box full when it is too late for supers: labels have none to wait for."""
    package = colony("1", "04-24", "package")
    return outfit(yard(package, program="first_year"), journal=()), "05-20"


def over_the_line_under_supers() -> Scene:
    """A count over the line in the flow, supers on, and a keeper whose one product may not lie under these: to wait a
    week would save a week of honey."""
    hive = _hive("1", "05-22 supers_on 1", "07-17 count 30/300")
    return outfit(replace(yard(hive, program="full"), treatments=("amitraz_strip",)), journal=()), "07-18"


SCENES: dict[str, Callable[[], Scene]] = {
    one.__name__: one for one in (swarmed_over_trays, full_too_late_for_supers, over_the_line_under_supers)
}


def played(name: str) -> str:
    """What a scene breaks, in words; "" where all invariants hold."""
    kept, as_of = SCENES[name]()
    try:
        check_plan(make_plan(kept, shipped(), on(as_of), YEAR), kept, shipped())
    except AssertionError as error:
        return str(error).partition("\n")[0] or "an assertion without words"
    return ""


def _told(names: list[str]) -> Iterator[str]:
    for name in names:
        if words := played(name):
            yield f"  +{name} scene: {words}"


if __name__ == "__main__":
    broke = list(_told(sys.argv[1:] or list(SCENES)))
    for told in broke:
        print(told)
    sys.exit(1 if broke else 0)
