"""SVG by hand: words, lines and a frame around them, all lengths in millimetres of paper, black on white.

Every series is one path, because a PDF engine pays for each element; letters are few for the same reason.
"""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup, escape

from ipmcal.model.values.words import plain

FONT_FAMILIES = "Atkinson Hyperlegible,DejaVu Sans,sans-serif"
POINT = 25.4 / 72
"""A typographic point in millimetres."""


def letters(x: float, y: float, words: str, points: float, anchor: str = "start", more: str = "") -> str:
    """Words at a point, in points of height; ``more`` are attributes: ``BOLD``, ``squeezed``."""
    at = f'x="{mm(x)}" y="{mm(y)}" font-size="{mm(points * POINT)}" text-anchor="{anchor}"'
    return f"<text {at}{more}>{escape(plain(words))}</text>"


BOLD = ' font-weight="700"'


def squeezed(wide: float) -> str:
    """Words take exactly so many mm, whatever the face."""
    return f' textLength="{mm(wide)}" lengthAdjust="spacingAndGlyphs"'


def path(d: Iterable[str], width: float = 0.0, dashes: str = "") -> str:
    """One path: drawn as a line of ``width`` mm, or filled where it is 0; nothing at all where it is empty."""
    way = "".join(d)
    if not way:
        return ""
    if not width:
        return f'<path d="{way}"/>'
    dash = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path d="{way}" fill="none" stroke="#000" stroke-width="{mm(width)}"{dash}/>'


def picture(width: float, height: float, title: str, parts: Iterable[str]) -> Markup:
    """A drawing of so many mm, with its title for those who do not see it."""
    size = f'width="{mm(width)}mm" height="{mm(height)}mm" viewBox="0 0 {mm(width)} {mm(height)}"'
    head = f'<svg {size} font-family="{FONT_FAMILIES}" role="img"><title>{escape(plain(title))}</title>'
    return Markup(f"{head}{''.join(parts)}</svg>")


def mm(value: float) -> str:
    """A length as SVG takes it, to a hundredth."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
