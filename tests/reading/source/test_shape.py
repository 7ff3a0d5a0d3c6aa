"""From a tree to a model: the place, the words and the nearest word of every complaint."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import Field

from ipmcal.model.outfit.yardfile import YardFile
from ipmcal.model.rules.files import Region
from ipmcal.model.rules.methods import Method
from ipmcal.model.values.fields import ONE_OR_MANY, Closed, Identifier, Identifiers, Prose, ShortForm, YesNo, whole
from ipmcal.model.values.text import Text
from ipmcal.reading.source.complaints import MAX_A_FILE, BadInput
from ipmcal.reading.source.shape import shape
from ipmcal.reading.source.yaml_source import parse_yaml


class Leaf(Closed):
    """A leaf."""

    colour: Literal["green", "brown"] = "green"
    fallen: YesNo = False


class Branch(Closed):
    """A branch."""

    leaves: tuple[Leaf, ...] = ()
    leaf: Leaf | None = None
    named: dict[Identifier, Leaf] = Field(default_factory=dict)
    words: Identifiers = ()
    three: Annotated[tuple[Prose, ...], Field(min_length=3, max_length=3)] | None = None
    short: Annotated[Leaf, ShortForm(lambda v: {"colour": v} if isinstance(v, str) else v, lambda s: s)] | None = None
    number: Annotated[int, *whole(1, 9)] = 1
    klass: Prose | None = Field(default=None, alias="class")


class Tree(Closed):
    """A tree."""

    name: Prose
    branch: Branch = Branch()
    branches: Annotated[tuple[Branch, ...], ONE_OR_MANY] = ()


def said(text: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        shape(parse_yaml(text, "a.yaml"), Tree)
    return [str(c).removeprefix("a.yaml:") for c in caught.value.complaints]


def test_a_tree_becomes_a_model() -> None:
    text = "name: oak\nbranch: {leaf: {fallen: yes}, short: brown, words: one, class: old, named: {off: {}}}\n"
    tree = shape(parse_yaml(text, "a.yaml"), Tree)
    assert tree.branch.leaf is not None
    assert tree.branch.leaf.fallen
    assert tree.branch.short == Leaf(colour="brown")
    assert (tree.branch.words, tree.branch.klass, list(tree.branch.named)) == (("one",), "old", ["off"])


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("nam: oak\nname: oak", "1:1 unknown key 'nam'; did you mean 'name'? allowed: name, branch, branches"),
        ("nam: oak", "1:1 unknown key 'nam'; did you mean 'name'?"),
        ("branch: {}", "1:1 the key 'name' is missing"),
        ("- oak", "1:1 expected a mapping of keys, found a list; keys: name, branch, branches"),
        ("name: [oak]", "1:1 name: expected one value, found a list"),
        ("name: {oak: elm}", "1:1 name: expected one value, found a mapping"),
        ("name: ''", "1:7 name: this text is empty"),
        ("name: x\nbranch: y", "2:9 branch: expected a mapping of keys, found 'y'; keys: leaves, leaf, named"),
        ("name: x\nbranch:\n  klass: y", "3:3 branch: unknown key 'klass'; did you mean 'class'? allowed: leaves"),
        ("name: x\nbranch: {leaf: {color: green}}", "2:17 branch.leaf: unknown key 'color'; did you mean 'colour'?"),
        ("name: x\nbranch: {leaf: {fallen: true}}", "2:25 branch.leaf.fallen: 'true' is neither 'yes' nor 'no'"),
        (
            "name: x\nbranch: {leaves: [{}, {colour: red}]}",
            "2:32 branch.leaves.colour: 'red' is not allowed here; allowed:",
        ),
        (
            "name: x\nbranch: {leaves: [{}, {colour: [green]}]}",
            "2:24 branch.leaves.colour: expected one word, found a list",
        ),
        (
            "name: x\nbranch: {leaves: [{}, x]}",
            "2:23 branch.leaves: expected a mapping of keys, found 'x'; keys: colour",
        ),
        (
            "name: x\nbranch: {leaves: {}}",
            "2:10 branch.leaves: expected a list, found a mapping; begin each item with '- '",
        ),
        ("name: x\nbranch: {leaves: x}", "2:18 branch.leaves: expected a list, found 'x'; begin each item with '- '"),
        (
            "name: x\nbranch: {words: {a: b}}",
            "2:10 branch.words: expected a value or a list in brackets, found a mapping",
        ),
        ("name: x\nbranch: {three: x}", "2:17 branch.three: expected a list in brackets, found 'x'"),
        ("name: x\nbranch: {words: Two}", "2:17 branch.words: 'Two' is not an identifier"),
        ("name: x\nbranch: {words: [one, Two]}", "2:23 branch.words: 'Two' is not an identifier"),
        ("name: x\nbranch: {named: {Two: {}}}", "2:18 branch.named: 'Two' is not an identifier"),
        (
            "name: x\nbranch: {named: {two: {colours: x}}}",
            "2:24 branch.named.two: unknown key 'colours'; did you mean 'colour'?",
        ),
        ("name: x\nbranch: {named: x}", "2:17 branch.named: expected a mapping of keys, found 'x'"),
        ("name: x\nbranch: {short: red}", "2:17 branch.short: 'red' is not allowed here; allowed: green, brown"),
        (
            "name: x\nbranch: {short: {colour: gren}}",
            "2:26 branch.short.colour: 'gren' is not allowed here; did you mean 'green'?",
        ),
        ("name: x\nbranch: {three: [a, b]}", "2:10 branch.three: needs 3 of them, and has 2"),
        ("name: x\nbranch: {three: []}", "2:10 branch.three: needs 3 of them, and has none"),
        ("name: x\nbranch: {three: [a, b, c, d]}", "2:10 branch.three: takes 3 of them at most, and has 4"),
        ("name: x\nbranch: {three: [a, '', c]}", "2:21 branch.three: this text is empty"),
        ("name: x\nbranch: {number: 10}", "2:18 branch.number: '10' is out of range: from 1 to 9"),
        ("name: x\nbranch: {number: 1.5}", "2:18 branch.number: '1.5' is not a whole number"),
        ("name: x\nbranches: {leaf: {}}", "2:1 branches: expected a list, found a mapping; begin each item with '- '"),
    ],
)
def test_one_defect(text: str, expected: str) -> None:
    (one,) = said(text)
    assert expected in one


def test_all_defects_are_said_in_the_order_of_the_file() -> None:
    assert [one.split(" ")[0] for one in said("branch: {leaf: {color: x}, number: 0}\nbranches: x")] == [
        *("1:1", "1:17", "1:36", "2:11"),
    ]


def test_a_file_that_is_all_wrong_gives_a_hundred_complaints() -> None:
    assert len(said("name: x\n" + "\n".join(f"k{i}: 1" for i in range(1000)))) == MAX_A_FILE


def test_a_long_text_is_cut_in_a_message() -> None:
    (one,) = said(f"name: x\nbranch: {{number: {'9' * 500}}}")
    assert len(one) < 200
    assert "…'" in one


DATA = st.recursive(
    st.text("ab1- :{}\n€", max_size=6).map(Text),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from([*Branch.model_fields, "x"]), inner),
    max_leaves=10,
)


@settings(max_examples=300)
@given(st.dictionaries(st.sampled_from([*Tree.model_fields, "x", "A b"]), DATA, max_size=4))
def test_any_mapping_gives_a_model_or_complaints(data: dict[str, Any]) -> None:
    from ipmcal.reading.source.yaml_source import Tree as Source

    for model in (Tree, Method, Region, YardFile):
        try:
            shape(Source("a.yaml", data), model)
        except BadInput as error:
            said = str(error)
        else:
            continue
        assert said
