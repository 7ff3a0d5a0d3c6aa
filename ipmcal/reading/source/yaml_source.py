"""YAML with positions: a file becomes mappings and lists of ``Text``, or complaints.

In: a path. Out: a ``Tree`` of plain mappings, lists and ``Text``, with the place of every key. The YAML is a small
subset: no anchors, aliases, tags, merge keys, second documents, duplicate keys or null values; YAML's own typing is
ignored.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from ipmcal.model.values.cited import Place
from ipmcal.model.values.text import FORBIDDEN, Text, one_line, quoted
from ipmcal.reading.source.complaints import MAX_A_FILE, BadInput, Complaint
from ipmcal.reading.source.files import bad, read_text, refuse_if_any
from ipmcal.reading.source.mending import yaml_complaint

MAX_DEPTH = 30
MAX_ITEMS = 5_000
"""So many items of one list, or keys of one mapping, are read; no file of ours comes near."""
NULLS = ("", "~", "null", "Null", "NULL")
_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

Data = dict[str, Any] | list[Any] | Text
Path_ = tuple[str | int, ...]


@dataclass(frozen=True, eq=False)
class Tree:
    """A file's content, and where each of its keys and items stands (by path from the root). Equal to itself alone."""

    file: str
    data: Data
    places: dict[Path_, Place] = field(default_factory=dict)
    values: dict[Path_, Place] = field(default_factory=dict)

    def key(self, path: Path_) -> Place:
        """The place of a key or item, or of the nearest one above it."""
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path, Place(self.file, 1, 1))

    def place(self, path: Path_) -> Place:
        """The place of what stands there: of a value itself, of a list or mapping its key."""
        return self.values.get(path) or self.values.get(path[:-1]) or self.key(path)


def read_yaml(path: Path, file: str, cite: str = "") -> Tree:
    """A YAML file as a tree. ``file`` is the name used in complaints; ``cite`` speaks for values without a source."""
    return parse_yaml(read_text(path, file), file, cite)


def parse_yaml(text: str, file: str, cite: str = "") -> Tree:
    """YAML text as a tree. Raises BadInput with every defect of form."""
    try:
        refuse_if_any(_refused(text, file))
        root = yaml.compose(text, Loader=_Loader)
    except yaml.MarkedYAMLError as error:
        raise BadInput([yaml_complaint(error, text, file)]) from None
    except yaml.YAMLError as error:
        raise bad(file, f"is not YAML: {one_line(str(error), 200)}") from None
    if root is None or _is_null(root):
        raise BadInput([Complaint(file, 1, 1, "is empty")])
    builder = _Builder(file)
    data = builder.build(root, (), cite)
    refuse_if_any(builder.complaints)
    return Tree(file, data, builder.places, builder.values)


def _refused(text: str, file: str) -> Iterator[Complaint]:
    """One pass over the events, before anything is composed: what this subset of YAML leaves out.

    The pass ends where the nesting gets too deep, which would crash composing.
    """
    depth = documents = found = 0
    for event in yaml.parse(text, Loader=_Loader):
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        elif isinstance(event, yaml.DocumentStartEvent):
            documents += 1
        what = _unread(event, documents)
        if depth > MAX_DEPTH:
            what = f"is nested more than {MAX_DEPTH} deep"
        if what:
            yield Complaint.at(_place(file, event.start_mark), what)
            found += 1
        if depth > MAX_DEPTH or documents > 1 or found >= MAX_A_FILE:
            return


def _place(file: str, mark: Any) -> Place:
    """A mark of the YAML reader, which counts from 0, as a place."""
    return Place(file, mark.line + 1, mark.column + 1)


def _unread(event: yaml.Event, documents: int) -> str:
    if isinstance(event, yaml.AliasEvent):
        return f"an alias ({quoted(f'*{event.anchor}')}) is not read; write the value out"
    if isinstance(event, yaml.DocumentStartEvent) and documents > 1:
        return "a second document ('---') is not read; write one document a file"
    if isinstance(event, yaml.NodeEvent) and event.anchor:
        return f"an anchor ({quoted(f'&{event.anchor}')}) is not read; write the value out where it is needed"
    tag = getattr(event, "tag", None)
    shown = quoted(tag.replace("tag:yaml.org,2002:", "!!")) if tag else ""
    return f"a tag ({shown}) is not read; delete it" if tag else ""


class _Builder:
    """Turns composed nodes into plain data, and collects the places of keys and the complaints."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.places: dict[Path_, Place] = {}
        self.values: dict[Path_, Place] = {}
        self.complaints: list[Complaint] = []

    def build(self, node: yaml.Node, path: Path_, cite: str) -> Data:
        place = self._place(node)
        self.places.setdefault(path, place)
        if isinstance(node, yaml.CollectionNode) and len(node.value) > MAX_ITEMS:
            self._complain(place, f"holds {len(node.value):,} items; at most {MAX_ITEMS:,} are read")
            return []
        if isinstance(node, yaml.MappingNode):
            return self._mapping(node, path, cite)
        if isinstance(node, yaml.SequenceNode):
            return self._sequence(node, path, cite)
        self.values[path] = place
        return Text(node.value, place, ".".join(map(str, path)), cite)

    def _sequence(self, node: yaml.SequenceNode, path: Path_, cite: str) -> list[Any]:
        for item in node.value:
            self._check(item, self._place(item), "this item has no value; delete it, or put the text in quotes")
        return [self.build(item, (*path, i), cite) for i, item in enumerate(node.value)]

    def _mapping(self, node: yaml.MappingNode, path: Path_, cite: str) -> dict[str, Any]:
        cite = next((v.value for k, v in node.value if k.value == "cite" and isinstance(v, yaml.ScalarNode)), cite)
        result: dict[str, Any] = {}
        for key_node, value_node in node.value:
            place, key = self._place(key_node), key_node.value
            if not isinstance(key_node, yaml.ScalarNode):
                self._complain(
                    place, "a key has to be one word, not a list or a mapping; put text with brackets in quotes"
                )
            elif key == "<<":
                self._complain(place, "a merge key ('<<') is not read; write the values out")
            elif key in result:
                first = self.places[(*path, key)]
                what = f"the key {quoted(key)} stands here a second time (first in line {first.line}); delete one"
                self._complain(place, what)
            elif self._check(key_node, place, "a key is missing here") and self._check(
                value_node, place, _no_value(key)
            ):
                self.places[(*path, key)] = place
                result[key] = self.build(value_node, (*path, key), cite)
        return result

    def _check(self, node: yaml.Node, place: Place, what: str) -> bool:
        """Whether a node holds something, and nothing hidden (which an escape in double quotes can write)."""
        if not isinstance(node, yaml.ScalarNode):
            return True
        if _is_null(node):
            self._complain(place, what)
            return False
        hidden = FORBIDDEN.search(node.value) if node.style == '"' else None
        if hidden:
            self._complain(self._place(node), f"holds a hidden character (U+{ord(hidden[0]):04X}); delete it")
        return hidden is None

    def _place(self, node: yaml.Node) -> Place:
        return _place(self.file, node.start_mark)

    def _complain(self, place: Place, what: str) -> None:
        if len(self.complaints) < MAX_A_FILE:
            self.complaints.append(Complaint.at(place, what))


def _is_null(node: yaml.Node) -> bool:
    """A plain scalar that YAML takes for no value. (The C reader says '' where the other says None.)"""
    return isinstance(node, yaml.ScalarNode) and not node.style and node.value in NULLS


def _no_value(key: object) -> str:
    first, _, rest = str(key).partition(" ")
    meant = f" (is {quoted(f'{first}: {rest}')} meant?)" if rest else ""
    return (
        f"{quoted(str(key))} has no value{meant}: write one behind the colon, or delete the key; "
        "in braces a comma starts a new key, so put text that holds a comma in quotes"
    )
