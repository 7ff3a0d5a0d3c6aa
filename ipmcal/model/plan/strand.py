"""Strands: chains of steps as a graph of days, the form in which packing sees the rules.

A strand has a set of first nodes; a node is "this step done on this day"; from each node exactly one further step
(with its own set of days) is owed, or the strand is finished. Packing chooses the days to visit so that each
strand has a path from a first node to its end on visited days.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stop:
    """A step that is owed: the nodes by which it may be done, each on another of the keeper's days.

    ``days`` is a DaySet (bit i = the i-th of the keeper's days); ``nodes[k]`` is the node for its k-th set bit.
    ``best`` is the position (not an ordinal) in whole days nearest to which the step is best done: cost is
    ``abs(ordinal - best_day)``.
    """

    days: int
    nodes: tuple[int, ...]
    best_day: int


@dataclass(frozen=True, slots=True)
class Node:
    """A step done on the keeper's day at position ``at``; ``then`` is the stop owed next, None at the strand's end."""

    label: str
    at: int
    then: Stop | None


@dataclass(frozen=True, slots=True)
class Strand:
    """A chain for one colony, trap frame or yard. Each node's ``then`` leads to nodes on strictly later days.

    ``first`` is the step owed at the beginning; ``key`` names the strand (its colony, trap and method).
    Every node that can be reached has a path to the end: dead ends are cut off when the strand is compiled.
    """

    key: str
    first: Stop
    nodes: tuple[Node, ...]
