"""From a tree to a model: pydantic's findings become complaints with a place, what is allowed and the nearest word.

In: a ``Tree`` and a model class. Out: the model, or every complaint.
"""

from __future__ import annotations

import types
import typing
from collections.abc import Iterator
from typing import Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError, WithJsonSchema

from ipmcal.model.values.text import Text, closest, nearest, quoted
from ipmcal.reading.source.complaints import MAX_A_FILE, BadInput, Complaint
from ipmcal.reading.source.yaml_source import Path_, Tree

M = TypeVar("M", bound=BaseModel)


def shape(tree: Tree, model: type[M], context: dict[str, Any] | None = None) -> M:
    """The tree as a model. Raises BadInput with every complaint (of a file that is all wrong, the first hundred)."""
    try:
        return model.model_validate(tree.data, context=context)
    except ValidationError as error:
        found: list[dict[str, Any]] = [dict(e) for e in error.errors(include_url=False) if not _hollow(e)]
        meant = {_meant(tree, model, e) for e in found if e["type"] == "extra_forbidden"}
        found = [e for e in found if e["type"] != "missing" or (*_real_path(tree, e["loc"]), e["loc"][-1]) not in meant]
        raise BadInput(_complaint(tree, model, e) for e in found[:MAX_A_FILE]) from None


def field_problem(model: type[BaseModel], key: str, text: str) -> str:
    """What is wrong with a text as the value of one key of a model; "" where nothing is."""
    info = model.model_fields[key]
    annotation: Any = typing.Annotated[(info.annotation, *info.metadata)]
    try:
        TypeAdapter(annotation).validate_python(Text(text))
    except ValidationError as error:
        return str(error.errors(include_url=False)[0]["msg"]).removeprefix("Value error, ")
    return ""


def dotted(path: Path_) -> str:
    """A path as words in a message: its keys, without the numbers of list items, which line and column tell better."""
    return ".".join(str(step) for step in path if isinstance(step, str))


def _complaint(tree: Tree, model: type[BaseModel], error: dict[str, Any]) -> Complaint:
    loc, kind = error["loc"], error["type"]
    path = _real_path(tree, loc)
    what = _words(model, path, error)
    about_key = kind == "extra_forbidden" or loc[-1:] == ("[key]",)
    above = dotted(path[:-1] if about_key else path)
    return Complaint.at(tree.key(path) if about_key else tree.place(path), f"{above}: {what}" if above else what)


def _meant(tree: Tree, model: type[BaseModel], error: dict[str, Any]) -> Path_:
    """The key that an unknown key most resembles: that this one is missing needs no words of its own."""
    path = _real_path(tree, error["loc"])
    return (*path[:-1], closest(str(path[-1]), _keys(_owner(model, path[:-1]))) or "")


def _hollow(error: Any) -> bool:
    """A list that only seems too short, since some of its items are complained of themselves."""
    return bool(error["type"] == "too_short" and len(error["input"]) >= error["ctx"]["min_length"])


def _words(model: type[BaseModel], path: Path_, error: dict[str, Any]) -> str:
    kind, found, ctx = error["type"], error["input"], error.get("ctx", {})
    if kind == "extra_forbidden":
        return f"unknown key {quoted(str(path[-1]))}{nearest(str(path[-1]), _keys(_owner(model, path[:-1])))}"
    if kind == "missing":
        return f"the key '{error['loc'][-1]}' is missing{_sample(_owner(model, path), str(error['loc'][-1]))}"
    if kind in ("literal_error", "enum"):
        allowed = [word.strip(" '") for word in str(ctx["expected"]).replace(" or ", ", ").split(",")]
        if not isinstance(found, str):
            return f"expected one word, found {_found(found)}; allowed: {', '.join(allowed)}"
        return f"{quoted(found)} is not allowed here{nearest(found, allowed)}"
    if kind in ("model_type", "dict_type"):
        return f"expected a mapping of keys, found {_found(found)}{_example(_owner(model, path))}"
    if kind == "tuple_type":
        if _owner(model, (*path, 0)) is not None:
            return f"expected a list, found {_found(found)}; begin each item with '- '"
        expected = "a value or a list in brackets" if isinstance(found, dict) else "a list in brackets"
        return f"expected {expected}, found {_found(found)}"
    if kind == "too_short":
        return f"needs {ctx['min_length']} of them, and has {len(found) or 'none'}"
    if kind == "too_long":
        return f"takes {ctx['max_length']} of them at most, and has {len(found)}"
    return str(error["msg"]).removeprefix("Value error, ")


def _found(value: object) -> str:
    if isinstance(value, list):
        return "a list"
    return "a mapping" if isinstance(value, dict) else quoted(str(value))


def _example(owner: type[BaseModel] | None) -> str:
    return f"; keys: {', '.join(_keys(owner))}" if owner else ""


def _sample(owner: type[BaseModel] | None, key: str) -> str:
    """An example of a value for a key, where its form has one."""
    info = next((f for n, f in owner.model_fields.items() if (f.alias or n) == key), None) if owner else None
    todo: list[Any] = [info.annotation, *info.metadata] if info else []
    while todo:
        one = todo.pop()
        if isinstance(one, WithJsonSchema):
            examples = (one.json_schema or {}).get("examples", ())
            return f", such as '{key}: {examples[0]}'" if examples else ""
        todo.extend(a for a in (*typing.get_args(one), *getattr(one, "__metadata__", ())) if a is not Ellipsis)
    return ""


def _real_path(tree: Tree, loc: tuple[Any, ...]) -> Path_:
    """The steps of pydantic's ``loc`` that are in the tree: short forms make steps that are not in the file."""
    path: Path_ = ()
    data: Any = tree.data
    for step in loc:
        in_list = isinstance(data, list) and isinstance(step, int) and step < len(data)
        if in_list or (isinstance(data, dict) and step in data):
            data, path = data[step], (*path, step)
        elif isinstance(data, list) and step in data:  # a list of names, read as a mapping
            path = (*path, data.index(step))
            data = None
    return path


def _owner(model: type[BaseModel], path: Path_) -> type[BaseModel] | None:
    """The model class that a path leads to; None where it leads to something else."""
    current: Any = model
    for step in path:
        current = _model_of(current)
        if isinstance(current, type) and issubclass(current, BaseModel):
            current = next((f.annotation for n, f in current.model_fields.items() if (f.alias or n) == step), None)
        else:
            arguments = [a for a in typing.get_args(current) if a is not Ellipsis]
            current = arguments[-1] if arguments else None
    current = _model_of(current)
    return current if isinstance(current, type) and issubclass(current, BaseModel) else None


def _model_of(annotation: Any) -> Any:
    """An annotation without ``| None`` and what pydantic hangs on it."""
    while typing.get_origin(annotation) in (typing.Union, types.UnionType, typing.Annotated):
        annotation = next(a for a in typing.get_args(annotation) if a is not type(None))
    return annotation


def _keys(owner: type[BaseModel] | None) -> list[str]:
    return [] if owner is None else list(_names(owner))


def _names(owner: type[BaseModel]) -> Iterator[str]:
    for name, info in owner.model_fields.items():
        yield info.alias or name
