"""What ``ipmcal serve`` does: a published folder for the same Wi-Fi, read-only, by the library's own server.

In: a folder that ``ipmcal publish`` made. Out: answers to GET and HEAD for the files that stand in it; nothing else.
"""

from __future__ import annotations

import hashlib
import socket
from email.utils import formatdate, parsedate_to_datetime
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from urllib.parse import unquote, urlsplit

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".ics": "text/calendar; charset=utf-8",
    ".pdf": "application/pdf",
}
"""What is served, by its ending; nothing else is."""
LOOPBACK, EVERY_ADDRESS = "127.0.0.1", "0.0.0.0"
ENOUGH = 32
"""Signs of a digest in an ETag."""


def allowed(root: Path) -> dict[str, Path]:
    """The files that are served, by their paths: no links, nothing hidden, only what a keeper's page leads to."""
    found: dict[str, Path] = {}
    for path in sorted(root.glob("*/*")):
        inside = path.relative_to(root)
        links = path.is_symlink() or path.parent.is_symlink()
        hidden = any(part.startswith(".") for part in inside.parts)
        if not links and not hidden and path.is_file() and path.suffix in TYPES:
            found[f"/{inside.as_posix()}"] = path
    return found


def server(root: Path, port: int, lan: bool) -> ThreadingHTTPServer:
    """A server of a published folder, bound to this machine alone or to its network. Raises OSError."""

    class Handler(_Handler):
        folder = root

    return ThreadingHTTPServer((EVERY_ADDRESS if lan else LOOPBACK, port), Handler)


def addresses(root: Path, port: int, lan: bool) -> list[str]:
    """Where each page of a published folder is read, for as long as it is served from this machine."""
    host = _own_address() if lan else LOOPBACK
    pages = [path for path in allowed(root) if path.endswith("/index.html")]
    return [f"http://{host}:{port}{path.removesuffix('index.html')}" for path in pages]


def _own_address() -> str:
    """This machine's address in its network; no packet is sent. Loopback where it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # of the block kept for documentation (RFC 5737)
        except OSError:
            return LOOPBACK
        return str(probe.getsockname()[0])


class _Handler(BaseHTTPRequestHandler):
    """Answers GET and HEAD; the library refuses every other method (501)."""

    folder: Path
    server_version, sys_version = "ipmcal", ""
    timeout = 30

    def do_GET(self) -> None:
        """A file, or that it has not changed."""
        self._answer(body=True)

    def do_HEAD(self) -> None:
        """The same without the file."""
        self._answer(body=False)

    def _answer(self, *, body: bool) -> None:
        name = unquote(urlsplit(self.path).path)
        path = allowed(self.folder).get(f"{name}index.html" if name.endswith("/") else name)
        try:
            content = path.read_bytes() if path else None
            changed = path.stat().st_mtime if path else 0.0
        except OSError:
            content = None
        if path is None or content is None:
            self.send_error(HTTPStatus.NOT_FOUND)
            return
        tag = f'"{hashlib.sha256(content).hexdigest()[:ENOUGH]}"'
        same = self._has(tag, changed)
        self.send_response(HTTPStatus.NOT_MODIFIED if same else HTTPStatus.OK)
        self.send_header("ETag", tag)
        self.send_header("Last-Modified", formatdate(int(changed), usegmt=True))
        self.send_header("Cache-Control", "no-cache")
        if not same:
            self.send_header("Content-Type", TYPES[path.suffix])
            self.send_header("Content-Length", str(len(content)))
            self.send_header("X-Content-Type-Options", "nosniff")
        self.end_headers()
        if body and not same:
            self.wfile.write(content)

    def _has(self, tag: str, changed: float) -> bool:
        """Whether the reader has the file as it is: by its tag, or else by its day (RFC 9110 13.1.3, 13.2.2)."""
        tags = self.headers.get("If-None-Match")
        if tags is not None:
            return "*" in tags or tag in (one.strip().removeprefix("W/") for one in tags.split(","))
        try:
            since = parsedate_to_datetime(self.headers.get("If-Modified-Since", ""))
            return int(changed) <= since.timestamp()
        except (ValueError, TypeError, OverflowError):
            return False

    def log_message(self, format: str, *args: object) -> None:
        """Nothing is written down of who asked."""
