"""Rule files that were read before in this process: the same text under the same name is the same tree.

Rules of a keeper's own lie over the shipped ones, which are the same for every yard of a run. In: a path, a tree. Out:
the tree, the model. Neither is ever altered; what is wrong is found, and said, each time anew.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from ipmcal.model.values.cited import Basis
from ipmcal.model.values.fields import RuleFile
from ipmcal.reading.source.files import read_text
from ipmcal.reading.source.shape import shape
from ipmcal.reading.source.yaml_source import Tree, parse_yaml

MOST = 600
"""So many files are kept: the shipped ones, and some with other sources."""


def read_rules(path: Path, name: str) -> Tree:
    """A rule file as a tree; ``name`` is the one used in complaints. Raises BadInput."""
    return _parsed(read_text(path, name), name)


@lru_cache(MOST)
def _parsed(text: str, name: str) -> Tree:
    return parse_yaml(text, name)


@lru_cache(MOST)
def shape_rules(tree: Tree, model: type[RuleFile], sources: frozenset[tuple[str, Basis]]) -> RuleFile:
    """A tree as a model, with the sources that it may cite. Raises BadInput."""
    return shape(tree, model, {"sources": dict(sources)})
