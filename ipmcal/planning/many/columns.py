"""Columns: the colonies of many draws of one history as arrays, a row a day and a column a draw.

In: arrays, or ``ColonyDays``. Out: ``ColonyColumns``. Pure; numpy. Lists of two hundred colonies cost more than
all runs in them, and hardly any is looked at: they are made where one is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from ipmcal.biology.mites.colony import ColonyDays, Leaving

Array = npt.NDArray[np.float64]
BY_DRAW = ("bees", "worker_cells", "drone_cells", "into_worker", "into_drone", "brood")
"""What differs from draw to draw, as in ``ColonyDays``."""


@dataclass(frozen=True)
class ColonyColumns:
    """Colonies of one history over the same days: ``arrays`` by name of ``BY_DRAW``, the rest the same in every draw.

    ``first`` is the day (ordinal) of the first row; mites may run from ``runs_from`` on.
    """

    first: int
    runs_from: int
    arrays: Mapping[str, Array]
    winter_cells: list[bool]
    open_to_others: list[float]
    left: tuple[Leaving, ...]

    def __len__(self) -> int:
        return int(self.arrays["bees"].shape[1])

    @cached_property
    def is_open(self) -> Array:
        """Whether others may come in, a row a day, for all draws alike."""
        return np.array(self.open_to_others)[:, None]

    @cached_property
    def twice(self) -> ColonyColumns:
        """The same draws again behind themselves."""
        return self.repeated(2)

    def repeated(self, times: int) -> ColonyColumns:
        """The same draws so many times, one behind the other."""
        many = {name: np.tile(one, times) for name, one in self.arrays.items()}
        return ColonyColumns(self.first, self.runs_from, many, self.winter_cells, self.open_to_others, self.left)

    def colony(self, draw: int) -> ColonyDays:
        """The colony of one draw."""
        lists = {name: one[:, draw].tolist() for name, one in self.arrays.items() if name != "brood"}
        return ColonyDays(
            first=self.first,
            runs_from=self.runs_from,
            brood=[bool(one) for one in self.arrays["brood"][:, draw].tolist()],
            winter_cells=self.winter_cells,
            open_to_others=self.open_to_others,
            left=self.left,
            **lists,
        )


def columns_among(places: Sequence[tuple[ColonyColumns, int]]) -> ColonyColumns:
    """Some draws of one history, each by the columns in which it stands and its place there."""
    whole = places[0][0]
    if all(one is whole for one, _ in places):
        mine = {name: whole.arrays[name][:, [n for _, n in places]] for name in BY_DRAW}
    else:
        mine = {name: np.stack([one.arrays[name][:, n] for one, n in places], axis=1) for name in BY_DRAW}
    return ColonyColumns(whole.first, whole.runs_from, mine, whole.winter_cells, whole.open_to_others, whole.left)


def columns_of_lists(colonies: Sequence[ColonyDays]) -> ColonyColumns:
    """Colonies that are there as lists. All have the same days, and lose bees alike."""
    assert len({(one.first, len(one.bees), one.left) for one in colonies}) == 1
    arrays = {name: np.array([getattr(one, name) for one in colonies], dtype=float).T.copy() for name in BY_DRAW}
    one = colonies[0]
    return ColonyColumns(one.first, one.runs_from, arrays, one.winter_cells, one.open_to_others, one.left)
