"""The engine's house: fonts, refusals, sameness of bytes, many documents, and what is said where it is missing."""

from __future__ import annotations

import builtins
import io
import os
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import Any

import pypdf
import pytest
from publishing import sample_plan as sample
from publishing.pdf_reading import pages, texts

from ipmcal.publishing.paper import pdf
from ipmcal.publishing.paper.page import season_html, sheet_html


def sheet(hives: int = 1, code: str = "K7") -> str:
    plan = sample.yard_of(hives)
    return sheet_html(plan, plan.visits[0], code)


def small(body: str) -> str:
    return f"<!doctype html><html lang='en'><head><title>small</title></head><body>{body}</body></html>"


def python(code: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """Runs code in a fresh interpreter, where neither fonts nor libraries are loaded yet."""
    root = Path(pdf.__file__).parents[3]
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code)],
        env={**os.environ, "PYTHONPATH": str(root), **environment},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


# Sameness ------------------------------------------------------------------------------------------------------------


def test_two_renders_are_the_same_bytes() -> None:
    plan = sample.four_hives()
    for html in (sheet_html(plan, plan.visits[0], "K7"), season_html(plan, "orchard")):
        assert pdf.render(html) == pdf.render(html)


def test_bytes_do_not_depend_on_process_hash_seed_time_zone_or_what_was_made_before() -> None:
    code = """
        import hashlib, sys
        from ipmcal.publishing.paper import pdf
        html = "<html lang='en'><title>x</title><p style=\\"font-family:'Atkinson Hyperlegible'\\">3 3 <b>CUT BY</b>"
        print(hashlib.sha256(pdf.render(html)).hexdigest())
    """
    one = python(code, PYTHONHASHSEED="1", TZ="UTC", LC_ALL="C")
    two = python(code, PYTHONHASHSEED="2", TZ="Asia/Tokyo", LC_ALL="C.UTF-8")
    assert one.returncode == 0, one.stderr
    assert one.stdout == two.stdout


def test_properties_come_from_the_plan_and_not_from_today() -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf.render(sheet())))
    information = reader.metadata
    assert information is not None
    assert information.title == "Orchard yard, Saturday 22 May 2027: clipboard sheet K7"
    assert str(information.get("/CreationDate")).startswith("D:20270519")
    root: Any = reader.trailer["/Root"]
    assert root["/Lang"] == "en"
    assert bool(root["/MarkInfo"]["/Marked"])
    assert "pdfuaid" in root["/Metadata"].get_object().get_data().decode()


def test_only_our_face_is_embedded() -> None:
    with pages(pdf.render(sheet())) as all_pages:
        faces = {c["fontname"].split("+")[1] for page in all_pages for c in page.chars}
    assert faces == {"Atkinson-Hyperlegible", "Atkinson-Hyperlegible-Bold"}


# Refusals ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "body",
    [
        '<img src="file:///etc/hostname" alt="x">',
        '<img src="http://localhost/x.png" alt="x">',
        '<img src="asset:../../etc/hostname" alt="x">',
        '<img src="data:image/png;base64,aGk=" alt="x">',
        '<style>@import url("file:///etc/hostname");</style>',
        '<style>p { background: url("asset:nothing.png") }</style><p>x',
        '<a rel="attachment" href="file:///etc/hostname">x</a>',
        '<link rel="stylesheet" href="file:///etc/hostname">',
    ],
)
def test_a_document_may_fetch_nothing(body: str) -> None:
    with pytest.raises(pdf.Refused):
        pdf.render(small(body))


# Many ----------------------------------------------------------------------------------------------------------------


def test_many_documents_come_back_in_order_and_as_if_made_alone() -> None:
    documents = [small(f"<p>document {i:02}</p>") for i in range(pdf.ALONE + 3)]
    made = pdf.render_many(documents, workers=2)
    assert [texts(document)[0] for document in made] == [f"page 1 of 1 document {i:02}" for i in range(len(documents))]
    assert made == [pdf.render(document) for document in documents]


def test_few_documents_are_made_here(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf, "ProcessPoolExecutor", None)
    assert len(pdf.render_many([small("x")] * pdf.ALONE)) == pdf.ALONE
    assert pdf.render_many([]) == []


def test_a_refusal_in_a_worker_is_raised_here() -> None:
    documents = [small("x")] * pdf.ALONE + [small('<img src="file:///etc/hostname" alt="">')]
    with pytest.raises(pdf.Refused):
        pdf.render_many(documents, workers=2)


# What is missing -----------------------------------------------------------------------------------------------------


def test_there_is_an_engine_here() -> None:
    assert pdf.engine() is None


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (OSError("cannot load library 'libpango-1.0-0'"), ["libpango-1.0-0", "libharfbuzz-subset0", "brew", "dnf"]),
        (ModuleNotFoundError("No module named 'weasyprint'"), ["pip install weasyprint"]),
    ],
)
def test_a_missing_engine_is_named_in_one_line(
    monkeypatch: pytest.MonkeyPatch, error: Exception, words: list[str]
) -> None:
    real = builtins.__import__

    def missing(name: str, *rest: Any, **more: Any) -> Any:
        if name == "weasyprint":
            print("\n-----\nadvice from elsewhere\n-----\n")
            raise error
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    message = pdf.engine()
    assert message is not None
    assert "\n" not in message
    assert all(word in message for word in words)
    for make in (lambda: pdf.render(small("x")), lambda: pdf.render_many([small("x")])):
        with pytest.raises(pdf.NoEngine, match="no PDF engine"):
            make()


def test_advice_of_the_engine_itself_is_kept_from_the_reader(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    real = builtins.__import__

    def chatty(name: str, *rest: Any, **more: Any) -> Any:
        if name == "weasyprint":
            print("advice from elsewhere")
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", chatty)
    assert pdf.engine() is None
    assert capsys.readouterr().out == ""


NO_FONTS = "<fontconfig></fontconfig>"


def test_no_font_at_all_is_said_and_does_not_end_the_process(tmp_path: Path) -> None:
    config = tmp_path / "fonts.conf"
    config.write_text(NO_FONTS)
    code = """
        from ipmcal.publishing.paper import pdf
        pdf.FONT_PACKAGE = "no_such_package"
        print(pdf.engine())
        try:
            pdf.render("<html lang='en'><title>x</title>x")
        except pdf.NoEngine:
            print("refused")
    """
    result = python(code, FONTCONFIG_FILE=str(config))
    assert result.returncode == 0, result.stderr
    assert "no font at all" in result.stdout
    assert "refused" in result.stdout


def test_our_faces_are_enough_where_the_machine_has_none(tmp_path: Path) -> None:
    config = tmp_path / "fonts.conf"
    config.write_text(NO_FONTS)
    code = """
        from ipmcal.publishing.paper import pdf
        print(pdf.engine(), len(pdf.render("<html lang='en'><title>x</title>Yard 3")) > 3000)
    """
    result = python(code, FONTCONFIG_FILE=str(config))
    assert (result.returncode, result.stdout) == (0, "None True\n"), result.stderr


def test_another_face_is_taken_where_our_package_is_missing() -> None:
    code = """
        import sys
        from ipmcal.publishing.paper import pdf
        pdf.FONT_PACKAGE = "no_such_package"
        style = "font-family: 'Atkinson Hyperlegible', 'DejaVu Sans'"
        html = f"<html lang='en'><title>x</title><p style=\\"{style}\\">Yard 3"
        sys.stdout.buffer.write(pdf.render(html))
    """
    root = Path(pdf.__file__).parents[3]
    result = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code)],
        env={**os.environ, "PYTHONPATH": str(root)},
        capture_output=True,
        timeout=60,
        check=True,
    )
    with pages(result.stdout) as all_pages:
        assert "Atkinson" not in "".join(c["fontname"] for c in all_pages[0].chars)
    assert "Yard 3" in texts(result.stdout)[0]
