"""An address as squares that a phone reads (QR, ISO/IEC 18004). In: text. Out: a picture, or lines for the screen."""

from __future__ import annotations

import io

import segno
from markupsafe import Markup

QUIET = 4
"""Modules of white around it, as the standard asks."""


def squares(text: str) -> Markup:
    """As an SVG picture without a size of its own, dark on white in any theme; its title is the text.

    Error correction M: a crease or a drop of water leaves it readable. Raises ValueError for what is too long.
    """
    written = io.BytesIO()
    code = segno.make_qr(text, error="m")
    code.save(written, kind="svg", border=QUIET, light="#fff", omitsize=True, xmldecl=False, title=text, nl=False)
    return Markup(written.getvalue().decode())  # made here; the library escapes the title


def screen_squares(text: str) -> str:
    """As lines for a terminal, two rows of squares in a line."""
    written = io.StringIO()
    segno.make_qr(text, error="m").terminal(written, border=2, compact=True)
    return written.getvalue()
