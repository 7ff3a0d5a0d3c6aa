"""A published folder: addresses that nobody guesses, taken back where asked; served read-only, and nothing else."""

from __future__ import annotations

import http.client
import threading
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import icalendar
import pytest
from clubs import made_club

from ipmcal.reading.source.complaints import BadInput
from ipmcal.serving import server
from ipmcal.sharing import ADDRESSES, Shared, ShareOrder, share

DAY = date(2027, 5, 10).toordinal()


@pytest.fixture(scope="module")
def club(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return made_club(tmp_path_factory.mktemp("shared"), ["Ada", "Bo"], DAY)


def shared(club: Path, to: Path, revoke: str = "") -> Shared:
    return share(ShareOrder(club, to, "https://example.org/bees", revoke, DAY))


def test_each_keeper_has_a_page_under_128_bits_and_again_nothing_is_written(club: Path, tmp_path: Path) -> None:
    done = shared(club, tmp_path)
    assert sorted(done.names) == ["ada", "bo"]
    assert len(set(done.names.values())) == 2
    assert {len(name) for name in done.names.values()} == {32}, "128 bits in hexadecimal"
    page = (tmp_path / done.names["ada"] / "index.html").read_text()
    assert "Next visit:" in page
    assert f"webcal://example.org/bees/{done.names['ada']}/calendar.ics" in page
    assert "<script" not in page
    pdfs = sorted(path.name for path in (club / "ada").rglob("*.pdf"))
    assert sorted(path.name for path in (tmp_path / done.names["ada"]).glob("*.pdf")) == pdfs != []
    assert not any(path.name == ADDRESSES for path in tmp_path.rglob("*")), "the private file is not published"
    again = shared(club, tmp_path)
    assert (again.names, again.written) == (done.names, 0)


def test_an_address_taken_back_shows_one_event_that_says_so(club: Path, tmp_path: Path) -> None:
    old = shared(club, tmp_path).names
    new = shared(club, tmp_path, revoke="bo").names
    assert new["ada"] == old["ada"]
    assert new["bo"] != old["bo"]
    gone = tmp_path / old["bo"]
    assert sorted(path.name for path in gone.iterdir()) == ["calendar.ics", "index.html"]
    calendar = icalendar.Calendar.from_ical((gone / "calendar.ics").read_bytes())
    (event,) = calendar.walk("VEVENT")
    assert "another address" in event["summary"]
    assert shared(club, tmp_path).written == 0
    with pytest.raises(BadInput, match="has no address"):
        shared(club, tmp_path, revoke="nobody")


def test_what_is_no_longer_made_is_taken_out(club: Path, tmp_path: Path) -> None:
    name = shared(club, tmp_path).names["ada"]
    (tmp_path / name / "old-sheet.pdf").write_bytes(b"old")
    shared(club, tmp_path)
    assert not (tmp_path / name / "old-sheet.pdf").exists()


@pytest.mark.parametrize("mine", ["outfit.yaml", "journal.csv", "mill.ledger.json", "ledger.json", "keepers.csv"])
def test_a_folder_of_a_keeper_s_own_files_is_not_published_into(mine: str, club: Path, tmp_path: Path) -> None:
    """Whoever knows the address would read them."""
    (tmp_path / mine).write_text("mine")
    with pytest.raises(BadInput, match=rf"holds a keeper's own files \({mine}\).*--to public"):
        shared(club, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [mine]


@pytest.mark.parametrize("above", [False, True])
def test_nor_into_the_club_s_own_folder(above: bool, club: Path) -> None:
    before = sorted(club.rglob("*"))
    with pytest.raises(BadInput, match="nobody is to see"):
        shared(club, club.parent if above else club)
    assert sorted(club.rglob("*")) == before


def test_a_folder_without_documents_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="holds no documents"):
        shared(tmp_path, tmp_path / "to")
    assert not (tmp_path / "to").exists()


@pytest.fixture
def served(club: Path, tmp_path: Path) -> Iterator[tuple[int, str]]:
    """A port, and the path of a calendar; beside it what must not be served."""
    root = tmp_path / "www"
    name = shared(club, root).names["ada"]
    (tmp_path / "secret.ics").write_text("secret")
    (root / name / "link.ics").symlink_to(tmp_path / "secret.ics")
    (root / "linked").symlink_to(tmp_path)
    (root / name / ".hidden.ics").write_text("secret")
    (root / name / "notes.txt").write_text("secret")
    with server(root, 0, lan=False) as serving:
        threading.Thread(target=serving.serve_forever, daemon=True).start()
        yield serving.server_port, f"/{name}/calendar.ics"
        serving.shutdown()


def asked(port: int, path: str, method: str = "GET", **headers: str) -> tuple[http.client.HTTPResponse, bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
    connection.request(method, path, headers={key.replace("_", "-"): value for key, value in headers.items()})
    response = connection.getresponse()
    body = response.read()
    connection.close()
    return response, body


def test_a_calendar_is_served_with_its_type_and_not_again_while_it_stands(served: tuple[int, str]) -> None:
    """RFC 9110: 304 for If-None-Match and If-Modified-Since, which yields to the former (13.2.2)."""
    port, path = served
    first, body = asked(port, path)
    assert (first.status, first.getheader("Content-Type")) == (200, "text/calendar; charset=utf-8")
    assert body.startswith(b"BEGIN:VCALENDAR")
    tag, changed = first.getheader("ETag") or "", first.getheader("Last-Modified") or ""
    for headers in ({"If_None_Match": tag}, {"If_None_Match": f'W/{tag}, "x"'}, {"If_Modified_Since": changed}):
        again, empty = asked(port, path, **headers)
        assert (again.status, empty) == (304, b"")
    assert asked(port, path, If_None_Match='"other"', If_Modified_Since=changed)[0].status == 200
    assert asked(port, path, If_Modified_Since="nonsense")[0].status == 200
    head, nothing = asked(port, path, "HEAD")
    assert (head.status, nothing, head.getheader("Content-Length")) == (200, b"", str(len(body)))
    assert asked(port, path.replace("calendar.ics", ""))[1].startswith(b"<!doctype html>")


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/.htaccess",
        "/linked/secret.ics",
        "NAME/link.ics",
        "NAME/.hidden.ics",
        "NAME/notes.txt",
        "NAME/../../secret.ics",
        "NAME/..%2f..%2fsecret.ics",
        "NAME/%2e%2e/%2e%2e/secret.ics",
        "NAME/%00calendar.ics",
        "//etc/passwd",
        "NAME/nothing.ics",
    ],
)
def test_nothing_else_is_served(served: tuple[int, str], path: str) -> None:
    port, calendar = served
    response, body = asked(port, path.replace("NAME", calendar.rpartition("/")[0]))
    assert response.status == 404
    assert b"secret" not in body


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"])
def test_other_methods_are_refused(served: tuple[int, str], method: str) -> None:
    port, path = served
    assert asked(port, path, method)[0].status == 501
