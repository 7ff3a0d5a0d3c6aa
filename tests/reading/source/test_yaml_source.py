"""Files and their YAML: positions, and every defect of form as a complaint. Whatever the bytes, nothing else."""

from __future__ import annotations

import difflib
import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from ipmcal.model.values.cited import Place
from ipmcal.model.values.text import FORBIDDEN, Text
from ipmcal.reading.source.complaints import MAX_A_FILE, BadInput
from ipmcal.reading.source.files import read_text
from ipmcal.reading.source.yaml_source import Tree, parse_yaml, read_yaml

assert difflib  # loaded now: it can't be while the tests below have no rights


def write(folder: Path, raw: bytes | str) -> Path:
    path = folder / "a.yaml"
    path.write_bytes(raw.encode() if isinstance(raw, str) else raw)
    return path


def complaints(text: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        parse_yaml(text, "a.yaml")
    return [str(c) for c in caught.value.complaints]


def said(path: Path) -> str:
    with pytest.raises(BadInput) as caught:
        read_yaml(path, "a.yaml")
    assert str(path.parent) not in str(caught.value)
    (one,) = caught.value.complaints
    return str(one)


# What is read --------------------------------------------------------------------------------------------------------


def test_scalars_are_their_text() -> None:
    tree = parse_yaml("a: off\nno: 010\nc: [yes, 1e3, 2027-05-02, .inf, 0x1F]\n'~': \"~\"\n", "a.yaml")
    assert tree.data == {
        "a": "off",
        "no": "010",
        "c": ["yes", "1e3", "2027-05-02", ".inf", "0x1F"],
        "~": "~",
    }


def test_every_scalar_knows_where_it_stands_and_which_citation_speaks_for_it() -> None:
    tree = parse_yaml("cite: one\na:\n  b: [x, y]\nd: {cite: two, e: z}\nf: w\n", "a.yaml")
    data: Any = tree.data
    assert isinstance(data["a"]["b"][1], Text)
    assert (data["a"]["b"][1].place, data["a"]["b"][1].key) == (Place("a.yaml", 3, 10), "a.b.1")
    assert data["a"]["b"][1].cite == "one"
    assert data["d"]["e"].cite == "two"
    assert data["f"].cite == "one"


def test_places_of_keys_and_values() -> None:
    tree = parse_yaml("a:\n  b: x\n  c: [y, z]\n", "a.yaml")
    assert tree.key(("a", "b")) == Place("a.yaml", 2, 3)
    assert tree.place(("a", "b")) == Place("a.yaml", 2, 6)
    assert tree.place(("a", "b", 0)) == Place("a.yaml", 2, 6)  # one value where a list is meant
    assert tree.place(("a", "c")) == Place("a.yaml", 3, 3)
    assert tree.place(("a", "c", 1)) == Place("a.yaml", 3, 10)
    assert tree.place(("a", "gone", "below")) == Place("a.yaml", 1, 1)


@pytest.mark.parametrize(
    "raw",
    [
        b"\xef\xbb\xbfa: 1\nb: 2\n",  # a byte order mark
        b"a: 1\r\nb: 2\r\n",
        b"a: 1\rb: 2\r",
        b"---\na: 1\nb: 2\n...\n",
        b"%YAML 1.1\n---\na: 1\nb: 2\n",
        b"# comment\n\n{a: 1, b: 2}",
    ],
)
def test_what_is_accepted(raw: bytes, tmp_path: Path) -> None:
    assert read_yaml(write(tmp_path, raw), "a.yaml").data == {"a": "1", "b": "2"}


def test_columns_count_signs_not_bytes(tmp_path: Path) -> None:
    tree = read_yaml(write(tmp_path, '\ufeff{"mānuka 🐝": x, b: y}'), "a.yaml")
    assert tree.key(("b",)) == Place("a.yaml", 1, 17)


LINES = st.text(st.characters(exclude_categories=["Cc", "Cs", "Cn", "Co"]), max_size=12).filter(
    lambda text: not FORBIDDEN.search(text)
)
TREES = st.recursive(
    LINES,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(LINES.filter(lambda k: k != "<<"), inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(LINES.filter(lambda k: k != "<<"), TREES, max_size=4))
def test_whatever_is_written_is_read_back(data: dict[str, Any]) -> None:
    """JSON with non-ASCII text is a subset of the YAML that is read."""
    assert parse_yaml(json.dumps(data, ensure_ascii=False), "a.yaml").data == data


# What is refused -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "a.yaml:1:1 is empty"),
        ("# only a comment\n", "a.yaml:1:1 is empty"),
        ("---\n", "a.yaml:1:1 is empty"),
        ("null", "a.yaml:1:1 is empty"),
        ("a: &x 1\n", "a.yaml:1:4 an anchor ('&x') is not read; write the value out where it is needed"),
        ("&x a: 1\n", "a.yaml:1:1 an anchor ('&x') is not read; write the value out where it is needed"),
        ("a: *x\n", "a.yaml:1:4 an alias ('*x') is not read; write the value out"),
        ("a: !!int 1\n", "a.yaml:1:4 a tag ('!!int') is not read; delete it"),
        ("a: !x 1\n", "a.yaml:1:4 a tag ('!x') is not read; delete it"),
        ("a: !!python/object/apply:os.system ['true']\n", "a.yaml:1:4 a tag ('!!python/object/apply:os.system')"),
        ("a: 1\n---\nb: 2\n", "a.yaml:2:1 a second document ('---') is not read; write one document a file"),
        ("a: 1\n<<: {b: 2}\n", "a.yaml:2:1 a merge key ('<<') is not read; write the values out"),
        ("a: 1\nb: 2\na: 3\n", "a.yaml:3:1 the key 'a' stands here a second time (first in line 1); delete one"),
        ("a:\nb: 1\n", "a.yaml:1:1 'a' has no value: write one behind the colon, or delete the key"),
        ("a: ~\n", "a.yaml:1:1 'a' has no value"),
        ("a: Null\n", "a.yaml:1:1 'a' has no value"),
        ("a: {not: none, at all}\n", "a.yaml:1:16 'at all' has no value (is 'at: all' meant?)"),
        ("a: {b: not: c}\n", "a.yaml:1:11 is not YAML"),
        ("- a\n-\n- b\n", "a.yaml:2:2 this item has no value; delete it, or put the text in quotes"),
        ("~: 1\n", "a.yaml:1:1 a key is missing here"),
        ("? [a, b]\n: 1\n", "a.yaml:1:3 a key has to be one word, not a list or a mapping"),
        ("{a: 1}: 2\n", "a.yaml:1:1 a key has to be one word, not a list or a mapping"),
        ("a:\n\tb: 1\n", "a.yaml:2:1 is not YAML: a tab stands here; indent with blanks"),
        ("a: @practice\n", "a.yaml:1:4 is not YAML: nothing can begin with '@'; put the text in double quotes"),
        (
            "a: b: c\n",
            "a.yaml:1:5 is not YAML: mapping values are not allowed in this context; put text that holds ': '",
        ),
        (
            "a: [1, 2\nb: 3\n",
            "a.yaml:1:4 is not YAML: the bracket or brace that opens here is not closed in its line, or a comma or a "
            "value is missing, in 'a: [1, 2'",
        ),
        ("a: [1, , 2]\n", "a.yaml:1:8 is not YAML: a value is missing here, or a bracket or brace does not match"),
        ("a: 'open\n", "a.yaml:1:4 is not YAML: the quote that opens here is not closed, in 'a: 'open'"),
        ("a: 1\n  b: 2\n", "a.yaml:2:3 is not YAML: begins in column 3, and the line above in column 1"),
        ('a: "\\q"\n', "a.yaml:1:5 is not YAML: found unknown escape character"),
        ('x: 1\na "b"\nc: [d]\n', "a.yaml:2:1 is not YAML: a ':' is missing behind the key, in 'a \"b\"'"),
        ("a: 1\nb\nc: 2\n", "a.yaml:2:1 is not YAML: a ':' is missing behind the key, in 'b'"),
        ("a: 1\nb:2\nc: 3\n", "a.yaml:2:2 is not YAML: a blank is missing behind the colon, in 'b:2'"),
        ("a {b: 1, c: 2}\n", "a.yaml:1:1 is not YAML: a ':' is missing behind the key, in 'a {b: 1, c: 2}'"),
        ("a: b: 1}\n", "a.yaml:1:1 is not YAML: a '{' is missing before what its '}' closes, in 'a: b: 1}'"),
        ('a: 1\nb: "c\nd: "e"\n', "a.yaml:2:4 is not YAML: a double quote has no other one"),
        ("  a: 1\nb: 2\n", "a.yaml:1:1 is not YAML: the first line begins with blanks; delete them, in 'a: 1'"),
        ("a:\n  - b\n - c\n", "a.yaml:3:2 is not YAML: begins in column 2, and the line above in column 3"),
        ('a: "x\\x1b[31m"\n', "a.yaml:1:4 holds a hidden character (U+001B); delete it"),
        ('a: ["\\u202e"]\n', "a.yaml:1:5 holds a hidden character (U+202E); delete it"),
        ('"\\0": 1\n', "a.yaml:1:1 holds a hidden character (U+0000); delete it"),
    ],
)
def test_one_defect_of_form(text: str, expected: str) -> None:
    (one,) = complaints(text)
    assert expected in one


def test_all_defects_are_said_at_once() -> None:
    assert [c.split(" ")[0] for c in complaints("a: &x 1\nb: *x\nc: !t 2\n")] == [
        "a.yaml:1:4",
        "a.yaml:2:4",
        "a.yaml:3:4",
    ]
    assert len(complaints("a:\nb: {c, d}\na: 1\n")) == 3


def test_a_file_that_is_all_wrong_gives_a_hundred_complaints() -> None:
    assert len(complaints("{" + ", ".join(f"k{i}" for i in range(4999)) + "}")) == MAX_A_FILE
    assert len(complaints("\n".join(f"- &a{i} x" for i in range(5000)))) == MAX_A_FILE


@pytest.mark.parametrize(
    "text", ["[" * 10_000, "{a: " * 10_000, "- " * 10_000, "? " * 10_000, "[" * 10_000 + "]" * 10_000]
)
def test_deep_nesting_is_refused_before_it_crashes_the_reader(text: str) -> None:
    (one,) = complaints(text)
    assert "is nested more than 30 deep" in one or "is not YAML" in one


@pytest.mark.parametrize(
    "text", ["[" + "a, " * 5001 + "]", "a:\n" + "- b\n" * 5001, "\n".join(f"k{i}: 1" for i in range(5001))]
)
def test_endless_lists_are_refused(text: str) -> None:
    (one,) = complaints(text)
    assert one.endswith("holds 5,001 items; at most 5,000 are read")


def test_the_deepest_nesting_that_is_read() -> None:
    parse_yaml("[" * 30 + "x" + "]" * 30, "a.yaml")
    (one,) = complaints("[" * 31 + "x" + "]" * 31)
    assert one == "a.yaml:1:31 is nested more than 30 deep"


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        (
            b"a: 1\nb: \x00\n",
            "a.yaml:2:4 holds a hidden character (U+0000); delete it, or save the file as plain UTF-8",
        ),
        (b"a: \x1b[31mred\n", "a.yaml:1:4 holds a hidden character (U+001B)"),
        ("a: x\u202ey\n".encode(), "a.yaml:1:5 holds a hidden character (U+202E)"),
        ("a: x\ufeffy\n".encode(), "a.yaml:1:5 holds a hidden character (U+FEFF)"),
        ("a: é\nb: ü\n".encode("latin-1"), "a.yaml:1:4 is not UTF-8 text here (byte 0xe9); save the file as UTF-8"),
        ("a: é\nbé: ".encode() + b"\xfc", "a.yaml:2:5 is not UTF-8 text here (byte 0xfc)"),
        ("a: 1\n".encode("utf-16"), "a.yaml:1:1 is UTF-16, not UTF-8; save the file as UTF-8"),
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "a.yaml:2:2 is not UTF-8 text here"),
    ],
)
def test_what_is_no_text(raw: bytes, expected: str, tmp_path: Path) -> None:
    assert expected in said(write(tmp_path, raw))


# What is no file -----------------------------------------------------------------------------------------------------


def test_a_missing_file(tmp_path: Path) -> None:
    assert said(tmp_path / "a.yaml") == "a.yaml can't be read: no such file or directory"


def test_a_directory(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").mkdir()
    assert said(tmp_path / "a.yaml") == "a.yaml can't be read: is a directory"


def test_a_name_that_can_not_be(tmp_path: Path) -> None:
    assert said(tmp_path / ("a" * 300)) == "a.yaml can't be read: file name too long"
    assert said(tmp_path / "a\0b") == "a.yaml can't be read: its name can't be"


def test_a_file_of_50_megabytes_is_not_even_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.yaml"
    with path.open("wb") as file:
        file.truncate(50_000_000)
    monkeypatch.setattr(Path, "read_bytes", None)
    assert said(path) == "a.yaml is 50,000,000 bytes long; at most 1,000,000 are read"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "a.yaml")
    assert said(tmp_path / "a.yaml") == "a.yaml is not a file"


@pytest.fixture
def no_rights() -> Iterator[None]:
    """The superuser may read everything: tests that run as such step down for a moment."""
    if not hasattr(os, "geteuid") or os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    yield
    os.seteuid(0)


@pytest.mark.skipif(os.name == "nt", reason="rights work otherwise there")
def test_a_file_that_may_not_be_read(tmp_path: Path, no_rights: None) -> None:
    if os.getuid() == 0:
        os.seteuid(0)
        path = write(tmp_path, "a: 1\n")
        path.chmod(0)
        os.seteuid(65534)
    else:
        path = write(tmp_path, "a: 1\n")
        path.chmod(0)
    assert said(path) == "a.yaml can't be read: permission denied"


# Any bytes -----------------------------------------------------------------------------------------------------------

PIECES = st.sampled_from(
    [
        *(b"a", b": ", b"\n", b" ", b"- ", b"[", b"]", b"{", b"}", b",", b"'", b'"', b"&a", b"*a", b"!!str", b"<<"),
        *(b"---", b"#", b"|", b">", b"?", b"\\", b"%YAML", b"~", b"null", b"\t", b"\r", b"\x00", b"\xff"),
        *(b"\xef\xbb\xbf", b"@", b"`", b"..."),
    ]
)
RAW = st.binary(max_size=60) | st.lists(PIECES, max_size=24).map(b"".join)


@settings(max_examples=500, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=RAW)
@example(raw=b"\xef\xbb\xbf")
@example(raw=b'"\\ud800": x')
@example(raw=b"%YAML 9.9\n--- a")
@example(raw=b"? \n? \n")
@example(raw="\u0085a: b".encode())
def test_any_bytes_give_a_tree_or_complaints(raw: bytes, tmp_path: Path) -> None:
    path = write(tmp_path, raw)
    said: list[str] = []
    try:
        assert isinstance(read_yaml(path, "a.yaml"), Tree)
    except BadInput as error:
        said = [str(c) for c in error.complaints] or [""]
    assert all("\n" not in one and one.startswith("a.yaml") for one in said)


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(raw=st.binary(max_size=60))
def test_any_bytes_give_text_or_complaints(raw: bytes, tmp_path: Path) -> None:
    path = write(tmp_path, raw)
    try:
        text = read_text(path, "a.yaml")
    except BadInput:
        return
    assert text.encode() in (raw, raw[3:])
