"""Work is counted, not timed: the same strands get the same visits on any machine. In: a number. Out: ``Steps``."""

from __future__ import annotations


class OutOfSteps(Exception):
    """Raised where work would take more steps than are left: what was found before stands."""


class Steps:
    """Work that may still be done to better what has been found: ways from a knot to the next that are looked at.

    Counted, never timed: the same strands get the same visits on any machine. What is found when it is spent stands: it
    carries all strands, but a drive that might move by a day, or be spared, was not tried.
    """

    def __init__(self, most: int) -> None:
        self.left = most

    def take(self, number: int) -> bool:
        """Whether there is any left; if so, so much of it is spent."""
        if self.left <= 0:
            return False
        self.left -= number
        return True

    def spend(self, number: int) -> None:
        """Spend so much; raises OutOfSteps, with nothing spent, where that is more than is left."""
        if number > self.left:
            raise OutOfSteps
        self.left -= number
