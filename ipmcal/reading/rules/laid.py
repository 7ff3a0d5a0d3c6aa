"""Laid over: a keeper's own single file (sources, events, planning ...) adds to the shipped one, key by key.

In: the trees of both. Out: one tree, in which each value knows the file that it stands in.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from ipmcal.model.values.cited import Place
from ipmcal.reading.source.yaml_source import Path_, Tree

AGE = "checked"


def laid_over(shipped: Tree, own: Tree) -> Tree:
    """The shipped file with the keeper's own over it.

    A key of a map adds an entry, or replaces the shipped entry of that name whole; what is not a map is replaced. The
    whole counts as checked on the older of the two days.
    """
    if not isinstance(shipped.data, dict) or not isinstance(own.data, dict):
        return own
    whole: dict[str, Any] = dict(shipped.data)
    said: list[Path_] = []
    for key, value in own.data.items():
        old = whole.get(key)
        if isinstance(value, dict) and isinstance(old, dict):
            whole[key] = {**old, **value}
            said += [(key, name) for name in value]
        elif key != AGE or not isinstance(old, str) or not isinstance(value, str) or value < old:
            whole[key] = value
            said.append((key,))
    return replace(
        shipped,
        data=whole,
        places=_laid(shipped.places, own.places, said),
        values=_laid(shipped.values, own.values, said),
    )


def _laid(shipped: dict[Path_, Place], own: dict[Path_, Place], said: list[Path_]) -> dict[Path_, Place]:
    """The places of both, those below what the keeper's own file says from there."""
    replaced = set(said)

    def is_said(path: Path_) -> bool:
        return path[:1] in replaced or path[:2] in replaced

    kept = {path: place for path, place in shipped.items() if not is_said(path)}
    return kept | {path: place for path, place in own.items() if is_said(path)}
