"""What a folder of documents tells of its PDFs: they are made again unless page and PDF are those of its file."""

from __future__ import annotations

from pathlib import Path

import pytest

from ipmcal.publishing.memory.documents import NAME, digest, made_text, read_made, stands

PAGE, PDF = b"<p>page</p>", b"%PDF"


@pytest.fixture
def out(tmp_path: Path) -> Path:
    (tmp_path / "a.pdf").write_bytes(PDF)
    (tmp_path / NAME).write_text(made_text({"a.pdf": (digest(PAGE), digest(PDF))}))
    return tmp_path


def test_a_pdf_of_the_same_page_stands(out: Path) -> None:
    assert stands(out, "a.pdf", PAGE, read_made(out))


def test_it_does_not_where_page_or_pdf_is_another_or_gone(out: Path) -> None:
    made = read_made(out)
    assert not stands(out, "a.pdf", PAGE + b" ", made)
    assert not stands(out, "b.pdf", PAGE, made)
    (out / "a.pdf").write_bytes(PDF + b"older")
    assert not stands(out, "a.pdf", PAGE, made)
    (out / "a.pdf").unlink()
    assert not stands(out, "a.pdf", PAGE, made)


@pytest.mark.parametrize("text", ["", "[", "[]", '{"a.pdf": 1}', '{"a.pdf": ["x"]}', "[" * 100_000])
def test_a_file_that_says_nothing_means_that_all_is_made_again(out: Path, text: str) -> None:
    (out / NAME).write_text(text)
    assert not stands(out, "a.pdf", PAGE, read_made(out))
