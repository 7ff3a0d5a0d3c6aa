"""Writes ``packing_optima.json`` anew with OR-tools CP-SAT (``pip install ortools``). Takes an hour; CI never runs it.

Run from the checkout: ``PYTHONPATH=tests python -m planning.pack.solve_packing``. Each yard is a flow on each strand's
graph: an edge for each choice, a node open only on a visited day, a visit only on a driven day.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from ortools.sat.python import cp_model
from planning.pack.strand_samples import Outing, fingerprint, outfit_fingerprint, random_outfit, random_yard

from ipmcal.model.plan.strand import Stop, Strand
from ipmcal.model.values.days import KeeperDays

COLUMNS = {
    "yards": ["seed", "fingerprint", "visits", "deviation"],
    "any_day": ["seed", "fingerprint", "visits", "bound", "deviation"],
    "outfits": ["seed", "fingerprint", "drives", "visits", "deviation"],
}


class Flow:
    """The problem of some yards: variables for drives and visits, and a constraint for each strand."""

    def __init__(self, yards: Outing) -> None:
        self.model: Any = cp_model.CpModel()
        self.drives = {d: self.model.new_bool_var("") for d in sorted({d for _, days in yards for d in days})}
        self.visits: list[Any] = []
        self.deviation: list[Any] = []
        for strands, days in yards:
            here = [self.model.new_bool_var("") for _ in days]
            for visit, day in zip(here, days, strict=True):
                self.model.add_implication(visit, self.drives[day])
            self.visits += here
            for strand in strands:
                self._flow(strand, days, here)

    def _flow(self, strand: Strand, days: KeeperDays, here: Sequence[Any]) -> None:
        into: dict[int, list[Any]] = {}

        def edges(stop: Stop) -> list[Any]:
            made = []
            for n in stop.nodes:
                made.append(self.model.new_bool_var(""))
                into.setdefault(n, []).append(made[-1])
                self.deviation.append(abs(days.ordinals[strand.nodes[n].at] - stop.best_day) * made[-1])
            return made

        self.model.add_exactly_one(edges(strand.first))
        for n in sorted(range(len(strand.nodes)), key=lambda n: strand.nodes[n].at):
            then = strand.nodes[n].then
            if n in into and then is not None:
                self.model.add(sum(into[n]) == sum(edges(then)))
        for at, visit in enumerate(here):
            self.model.add(sum(e for n, edges in into.items() if strand.nodes[n].at == at for e in edges) <= visit)

    def least(self, terms: Sequence[Any], seconds: float) -> tuple[int, int]:
        """The least sum found and its bound, on one core; where they are equal, it is kept as a limit from now on."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers, solver.parameters.linearization_level = 1, 2
        solver.parameters.max_time_in_seconds = seconds
        self.model.minimize(sum(terms))
        if solver.solve(self.model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            raise RuntimeError("no solution in that time")
        found, bound = round(solver.objective_value), round(solver.best_objective_bound)
        if found == bound:
            self.model.add(sum(terms) <= found)
        return found, bound


def yard(seed: int, weekdays: int | None, seconds: tuple[float, float]) -> list[int | None]:
    """Seed, fingerprint, visits, their bound, deviation (None if not proved)."""
    strands, days = random_yard(seed, weekdays)
    flow = Flow(((strands, days),))
    visits, bound = flow.least(flow.visits, seconds[0])
    deviation, least = flow.least(flow.deviation, seconds[1]) if visits == bound else (0, -1)
    return [seed, fingerprint(strands, days), visits, bound, deviation if deviation == least else None]


def proved_yard(seed: int) -> list[int | None]:
    """Seed, fingerprint, visits, deviation. Raises RuntimeError where the visits are not proved."""
    _, mark, visits, bound, deviation = yard(seed, None, (60, 20))
    if visits != bound:
        raise RuntimeError(f"yard {seed}: {visits} visits not proved")
    return [seed, mark, visits, deviation]


def outfit(seed: int) -> list[int | None]:
    """Seed, fingerprint, drives, visits, deviation (None where not proved)."""
    yards = random_outfit(seed)
    flow = Flow(yards)
    row: list[int | None] = [seed, outfit_fingerprint(yards)]
    for terms, seconds in ((list(flow.drives.values()), 60), (flow.visits, 60), (flow.deviation, 20)):
        found, bound = flow.least(terms, seconds) if None not in row else (0, -1)
        row.append(found if found == bound else None)
    return row


def main() -> None:
    """Solve all, keep what the file says of how it was made."""
    path = Path(__file__).parent / "packing_optima.json"
    parts: dict[str, tuple[range, Callable[[int], list[int | None]]]] = {
        "yards": (range(260), proved_yard),
        "any_day": (range(300, 360), lambda seed: yard(seed, 7, (180, 60))),
        "outfits": (range(90), outfit),
    }
    lines = [f'  "made": {json.dumps(json.loads(path.read_text(encoding="utf-8"))["made"])}']
    lines.append(f'  "columns": {json.dumps(COLUMNS)}')
    for name, (seeds, solve) in parts.items():
        rows = ",\n".join(f"    {json.dumps(solve(seed))}" for seed in seeds)
        lines.append(f'  "{name}": [\n{rows}\n  ]')
    path.write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    main()
