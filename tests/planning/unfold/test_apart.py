"""Apart: chains without closed days. In: small chains. Brute force over all paths."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from ipmcal.model.plan.strand import Node, Stop
from ipmcal.planning.days.chain import Chain, Ease, pruned
from ipmcal.planning.unfold.apart import Quiet


@st.composite
def chains(draw: st.DrawFn) -> Chain:
    """A chain of one to three steps, on days 0 to 5, each step later than the one before."""
    nodes: list[Node] = []
    steps: list[tuple[str, int]] = []

    def stop(step: int, after: int) -> Stop:
        days = sorted(draw(st.sets(st.integers(after + 1, after + 3), min_size=1, max_size=3)))
        mine = []
        for at in days:
            then = stop(step + 1, at) if step < 2 and draw(st.booleans()) else None
            mine.append(len(nodes))
            nodes.append(Node(f"s{step}", at, then))
            steps.append((f"s{step}", 1))
        return Stop(sum(1 << at for at in days), tuple(mine), days[0])

    first = stop(0, -1)
    return Chain(first, tuple(nodes), tuple(steps), Ease.STRICT, {})


def ways(chain: Chain) -> set[tuple[tuple[str, int], ...]]:
    """Every path, as steps with their days."""

    def behind(stop: Stop | None) -> list[tuple[tuple[str, int], ...]]:
        if stop is None:
            return [()]
        return [
            ((chain.nodes[i].label, chain.nodes[i].at), *rest)
            for i in stop.nodes
            for rest in behind(chain.nodes[i].then)
        ]

    return set(behind(chain.first))


@given(chains(), st.sets(st.integers(0, 9), max_size=4))
def test_pruning_keeps_exactly_the_ways_that_avoid_the_closed_days(chain: Chain, closed: set[int]) -> None:
    made = pruned(chain, lambda i: chain.nodes[i].at not in closed)
    left = {way for way in ways(chain) if not closed & {at for _, at in way}}
    assert (set() if made is None else ways(made)) == left
    if made is not None:
        for stop in (made.first, *(n.then for n in made.nodes if n.then is not None)):
            assert stop.days == sum(1 << made.nodes[i].at for i in stop.nodes)
            assert [made.nodes[i].at for i in stop.nodes] == sorted(made.nodes[i].at for i in stop.nodes)
        assert [step for step, _ in made.steps] == [node.label for node in made.nodes]


def test_a_chain_without_closed_days_stays_as_it_is() -> None:
    chain = Chain(Stop(0b11, (0, 1), 0), (Node("a", 0, None), Node("a", 1, None)), (("a", 1), ("a", 1)), Ease.BENT, {})
    assert pruned(chain, lambda i: True) is chain
    assert pruned(chain, lambda i: False) is None


def test_more_shut_days_are_added_and_a_day_that_a_course_has_is_kept() -> None:
    first = Quiet(frozenset({1}), {"1/a": 5})
    assert first.with_more(Quiet(frozenset({2}), {"1/a": 7, "1/b": 8})) == Quiet(
        frozenset({1, 2}), {"1/a": 5, "1/b": 8}
    )
