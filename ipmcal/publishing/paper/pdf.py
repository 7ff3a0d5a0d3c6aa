"""PDF from HTML. In: the HTML of a document, all of it in one string. Out: PDF bytes, the same for the same input.

Nothing is fetched: the engine asks for files under the made-up scheme ``asset:`` only, and gets them from a dict of
bytes; whatever else a document asks for ends the rendering with an error. The engine itself (WeasyPrint on Pango) is
imported late, since a machine may lack it: ``engine`` says so in words.
"""

from __future__ import annotations

import contextlib
import gc
import io
import os
import sys
import warnings
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache
from importlib.util import find_spec
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from ipmcal.data import folder

FONT_PACKAGE = "fontpkg_atkinson_hyperlegible"
FACE_FILES = (
    ("AtkinsonHyperlegible-Regular.ttf", 400),
    ("AtkinsonHyperlegible-Bold.ttf", 700),
)
ALONE = 8
"""Up to so many documents are made in this process; starting workers takes longer than they save."""

_VARIANT = {"pdf_variant": "pdf/ua-1"}
_LIBRARIES = (
    "no PDF engine: Pango is missing. It comes with: Debian, Ubuntu: apt install libpango-1.0-0 libpangoft2-1.0-0 "
    "libharfbuzz-subset0; Fedora: dnf install pango; macOS: brew install pango; Windows: pacman -S pango in MSYS2"
)
_PACKAGE = "no PDF engine: the Python package weasyprint is missing. It comes with: pip install weasyprint"
_FONTS = (
    "no PDF: there is no font at all. One comes with: pip install fontpkg-atkinson-hyperlegible; "
    "or Debian, Ubuntu: apt install fonts-dejavu-core"
)


class NoEngine(RuntimeError):
    """Raised where no PDF can be made here; the message names the package that brings what is missing."""


class Refused(ValueError):
    """Raised where a document asks for something outside itself."""


def engine() -> str | None:
    """None where PDF can be made here, else one line that says what is missing and which package brings it."""
    try:
        _weasyprint()
    except ModuleNotFoundError:
        return _PACKAGE
    except (ImportError, OSError):
        return _LIBRARIES
    return None if _faces() or _system_fonts() else _FONTS


def render(html: str) -> bytes:
    """The PDF (PDF/UA-1) of one document. Raises NoEngine, or Refused where it asks for anything but ``asset:``."""
    missing = engine()
    if missing:
        raise NoEngine(missing)
    return _written(_laid_out(html))


def render_job(documents: Sequence[str], job: Sequence[str], cover: str) -> tuple[list[bytes], bytes]:
    """The PDFs of some documents, and one PDF of all in ``job`` for a printer that prints both sides (empty without
    any): each begins on a right-hand page. ``cover`` is an empty page that lends its title, language and paper.

    What stands in both is laid out once, as long as it is not too much for one process. Raises as ``render``.
    """
    missing = engine()
    if missing:
        raise NoEngine(missing)
    alone = len(documents) <= ALONE
    laid = {html: _laid_out(html) for html in dict.fromkeys((*(documents if alone else ()), *job))}
    made = [_written(laid[html]) for html in documents] if alone else render_many(documents)
    return made, _joined([laid[html] for html in job], _laid_out(cover)) if job else b""


def _joined(documents: Sequence[Any], cover: Any) -> bytes:
    pages: list[Any] = []
    for document in documents:
        pages += [*(cover.pages[:1] if len(pages) % 2 else []), *document.pages]
    return _written(cover.copy(pages))


def _written(document: Any) -> bytes:
    """A document as PDF. Raises Refused: attachments are asked for only now."""
    from weasyprint.urls import FatalURLFetchingError

    try:
        return bytes(document.write_pdf(finisher=_scoped, **_VARIANT))
    except FatalURLFetchingError as error:  # a BaseException: nobody above would catch it
        raise Refused(str(error)) from None


def _scoped(document: Any, pdf: Any) -> None:
    """Tells of each header cell whether it heads its column or its row. The engine names to data cells their headers;
    those that head other headers alone, as the one above the days of a wall, it leaves without a word."""
    named = (one for one in pdf.objects if hasattr(one, "get"))  # the others are streams, arrays and strings
    elements = {one.reference: one for one in named if one.get("Type") == "/StructElem"}
    for one in elements.values():
        if one["S"] == "/TH":
            section = elements[elements[one["P"]]["P"]]
            one["A"]["Scope"] = "/Column" if section["S"] == "/THead" else "/Row"


def _laid_out(html: str) -> Any:
    """A document in pages. Raises Refused."""
    os.environ.setdefault("SOURCE_DATE_EPOCH", "0")  # a font subset made without HarfBuzz would hold the time of day
    weasyprint, config, style, fetcher = _workshop()
    from weasyprint.urls import FatalURLFetchingError

    collecting = gc.isenabled()
    gc.disable()  # a page is many small values that all live to its end: looking for garbage takes a sixth of the time
    try:
        document = weasyprint.HTML(string=html, url_fetcher=fetcher)
        return document.render(stylesheets=[style], font_config=config, **_VARIANT)
    except FatalURLFetchingError as error:  # a BaseException: nobody above would catch it
        raise Refused(str(error)) from None
    finally:
        if collecting:
            gc.enable()


def render_many(documents: Sequence[str], workers: int | None = None) -> list[bytes]:
    """The PDFs of many documents, in their order; above eight of them in a pool of processes. Raises as ``render``.

    Threads would be slower than one after the other: layout is Python, and holds the interpreter's lock.
    """
    missing = engine()
    if missing:
        raise NoEngine(missing)
    workers = min(workers or os.cpu_count() or 1, len(documents))
    if len(documents) <= ALONE or workers < 2:
        return [render(document) for document in documents]
    context = get_context("fork" if sys.platform == "linux" else "spawn")  # macOS libraries do not survive a fork
    chunk = max(1, min(8, len(documents) // (4 * workers)))
    with ProcessPoolExecutor(workers, mp_context=context) as pool:
        return list(pool.map(render, documents, chunksize=chunk))


def _weasyprint() -> Any:
    """The engine's module; its own advice on stdout, and its warnings at import, are kept from the reader."""
    with contextlib.redirect_stdout(io.StringIO()), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import weasyprint

    return weasyprint


@lru_cache(maxsize=1)
def _faces() -> dict[str, bytes]:
    """Our faces by ``asset:`` address; none where the font package is not installed."""
    spec = find_spec(FONT_PACKAGE)
    if spec is None or spec.origin is None:
        return {}
    files = Path(spec.origin).parent / "files"
    return {f"asset:{name}": (files / name).read_bytes() for name, _ in FACE_FILES if (files / name).is_file()}


def _system_fonts() -> bool:
    """True where fontconfig knows a font. Without any, Pango does not fail but ends the process."""
    from weasyprint.text.ffi import ffi, fontconfig

    config = ffi.gc(fontconfig.FcInitLoadConfigAndFonts(), fontconfig.FcConfigDestroy)
    return bool(fontconfig.FcConfigGetFonts(config, fontconfig.FcSetSystem).nfont)


@lru_cache(maxsize=1)
def _workshop() -> tuple[Any, Any, Any, Any]:
    """Engine, fonts, our style sheet and fetcher: made once a process, used for each document."""
    from weasyprint.text.fonts import FontConfiguration
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    assets = _faces()

    class Assets(URLFetcher):  # type: ignore[misc]
        """Gives what is in ``assets``; refuses the rest, whatever its scheme."""

        def fetch(self, url: str, headers: object = None) -> Any:
            if url not in assets:
                raise ValueError(f"a document may not fetch {url!r}")
            return URLFetcherResponse(url, assets[url], {"Content-Type": "font/ttf"})

    fetcher = Assets(allowed_protocols=(), fail_on_errors=True)
    config = FontConfiguration()
    weasyprint = _weasyprint()
    text = _font_css(assets) + (folder("templates") / "pdf.css").read_text(encoding="utf-8")
    style = weasyprint.CSS(string=text, font_config=config, url_fetcher=fetcher)
    return weasyprint, config, style, fetcher


def _font_css(assets: dict[str, bytes]) -> str:
    return "".join(
        f'@font-face{{font-family:"Atkinson Hyperlegible";font-weight:{weight};src:url(asset:{name})}}\n'
        for name, weight in FACE_FILES
        if f"asset:{name}" in assets
    )
