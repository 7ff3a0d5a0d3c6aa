"""The house: how full a room or a function may be, and one word for one thing. In: the source, by ``ast``."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import yaml

ROOT = Path(__file__).resolve().parent.parent
MODULES = sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "ipmcal").rglob("*.py"))
ROOMS = sorted({Path(module).parent.as_posix() for module in MODULES})
MODULES_A_ROOM, PARAMETERS, LINES = 12, 6, 40
TWICE: dict[str, dict[str, Any]] = yaml.safe_load(Path(__file__).with_name("names_twice.yaml").read_text())
"""Public names that stand in more than one file: in how many, and why. It only shrinks: what is mended must go."""


@cache
def tree(module: str) -> ast.Module:
    return ast.parse((ROOT / module).read_text())


def public_names(module: str) -> Iterator[str]:
    """The names that a module defines at its top, but for those that begin with an underscore."""
    for node in tree(module).body:
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            found = [node.name]
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            found = [one.id for target in targets for one in ast.walk(target) if isinstance(one, ast.Name)]
        else:
            continue
        yield from (name for name in found if not name.startswith("_"))


def places() -> dict[str, list[str]]:
    """By public name, the modules that define it."""
    found: dict[str, list[str]] = {}
    for module in MODULES:
        for name in dict.fromkeys(public_names(module)):
            found.setdefault(name, []).append(module)
    return found


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_holds_no_more_modules_than_one_can_keep_in_mind(room: str) -> None:
    inside = [module for module in MODULES if Path(module).parent.as_posix() == room and "__init__" not in module]
    assert len(inside) <= MODULES_A_ROOM, inside


def test_a_public_name_stands_in_one_file() -> None:
    """One word for one thing: whoever reads a name need not ask which of two it is."""
    twice = {name: modules for name, modules in places().items() if len(modules) > 1}
    assert {name: modules for name, modules in twice.items() if name not in TWICE} == {}


def test_the_list_of_names_that_stand_twice_only_shrinks() -> None:
    known = places()
    assert {name: len(known.get(name, ())) for name in TWICE} == {name: one["files"] for name, one in TWICE.items()}
    assert [name for name, one in TWICE.items() if one["files"] < 2 or not one["why"].strip()] == []


def functions(module: str) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (n for n in ast.walk(tree(module)) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef))


def parameters(one: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    """How many a caller may give; ``self`` and ``cls`` are none."""
    if any("command" in ast.dump(decorator) for decorator in one.decorator_list):
        return 0  # a command of the command line: its parameters are what a keeper may write
    named = [arg.arg for arg in (*one.args.posonlyargs, *one.args.args, *one.args.kwonlyargs)]
    return len([name for name in named if name not in ("self", "cls")])


@pytest.mark.parametrize("module", MODULES)
def test_a_function_takes_no_more_than_six_parameters(module: str) -> None:
    assert [(f.name, parameters(f)) for f in functions(module) if parameters(f) > PARAMETERS] == []


@pytest.mark.parametrize("module", MODULES)
def test_a_function_has_no_more_than_forty_lines(module: str) -> None:
    lines = [(f.name, (f.end_lineno or 0) - f.lineno + 1) for f in functions(module)]
    assert [(name, count) for name, count in lines if count > LINES] == []
