"""What is remembered between questions: the last few, of the last few rulebooks, and nothing made twice meanwhile."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st
from planning.yards import rules

from ipmcal.planning.yearly.remembered import KeptYears, Latest, name_of


def test_few_rulebooks_are_held_however_many_are_asked() -> None:
    """A rulebook takes megabytes: who plans with many, one after the other, would fill the memory with them."""
    known: Latest[int] = Latest(100)
    for n in range(50):
        assert known.of(replace(rules()), ("key",), lambda n=n: n) == n  # type: ignore[misc]
    assert len(known.books) == len(known.known) == Latest.BOOKS


@given(st.lists(st.tuples(st.integers(0, 4), st.integers(0, 6)), max_size=60))
def test_a_value_is_its_book_s_and_its_key_s(asked: list[tuple[int, int]]) -> None:
    books = [replace(rules()) for _ in range(5)]
    known: Latest[tuple[int, int]] = Latest(4)
    for book, key in asked:
        made: list[int] = []
        found = known.of(books[book], (key,), lambda book=book, key=key, made=made: (made.append(1), (book, key))[1])  # type: ignore[misc]
        assert found == (book, key)
        assert len(known.known) <= known.most
        assert {key[0] for key in known.known} <= set(known.books)
        assert known.of(books[book], (key,), lambda: (9, 9)) == (book, key), "not made again at once"


def test_what_a_run_did_not_ask_for_is_kept_no_more() -> None:
    kept = KeptYears({"year a": 1, "year b": 2})
    assert kept.of(lambda: "year a", int, lambda: 7) == 1
    assert kept.grew
    assert kept.of(lambda: "year b", int, lambda: 7) == 2
    assert not kept.grew
    assert kept.of(lambda: "year c", int, lambda: 7) == 7
    assert kept.grew
    assert KeptYears({"year a": "not a number"}).of(lambda: "year a", int, lambda: 7) == 7


def test_names_tell_parts_apart_and_no_order_of_sets() -> None:
    words = [f"word {n}" for n in range(50)]
    assert name_of("year", frozenset(words)) == name_of("year", frozenset(reversed(words)))
    parts: list[object] = [1, 1.0, True, "1", (1,), frozenset({1}), {1: 1}, None]
    assert len({name_of("year", part) for part in parts}) == len(parts)
    assert name_of("year", 1) != name_of("told", 1)
