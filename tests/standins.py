"""``ipmcal`` in a process of its own, with stand-ins for PDFs: bytes that hang on their page alone, made slowly.

For tests of the order in which files change on the disk, and of who makes them. Run by its path.
"""

from __future__ import annotations

import time
from collections.abc import Sequence

from ipmcal import cli
from ipmcal.publishing.paper import pdf

PAUSE = 0.02
"""Seconds that a PDF takes, so that kills fall into the time in which they are made, too."""


def slow_pdfs(pages: Sequence[str], workers: int | None = None) -> list[bytes]:
    """Stand-ins for PDFs."""
    time.sleep(PAUSE * len(pages))
    return [f"%PDF of {page}".encode() for page in pages]


pdf.render_many = slow_pdfs  # before anybody takes it from there, in the workers too, which import this module
pdf.engine = lambda: None

if __name__ == "__main__":
    cli.main()
