"""Anchored: what the bounds of a method's steps count from. In: a method. Out: anchors by step. Pure."""

from __future__ import annotations

from ipmcal.model.rules.methods import Method


def needed_by(method: Method) -> dict[str, frozenset[str]]:
    """By step: the anchors that it and the steps behind it may count from."""
    result: dict[str, frozenset[str]] = {}
    needed = frozenset(one.anchor for days in method.clock.values() for one in days)
    for name in reversed(method.steps):
        result[name] = needed = needed | _anchors(method, name)
    return result


def _anchors(method: Method, step: str) -> frozenset[str]:
    """The anchors of a step's bounds."""
    blocks, keys = (method.steps[step], method.steps[step].again), ("opens", "best", "closes", "hard_stop")
    bounds = (getattr(block, key, None) or () for block in blocks for key in keys)
    return frozenset(one.anchor for some in bounds for one in some)


def read_by(method: Method) -> dict[str, frozenset[str]]:
    """By step: the anchors that its own bounds count from, be it by way of the clock."""
    return {step: _reached(method, _anchors(method, step)) for step in method.steps}


def _reached(method: Method, anchors: frozenset[str]) -> frozenset[str]:
    """Anchors with those that they count from in turn."""
    further = anchors | {one.anchor for name in anchors for one in method.clock.get(name, ())}
    return anchors if further == anchors else _reached(method, further)
