"""The README is true: its commands give the output that it shows, and its sheet is the sheet that is printed."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```console\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)
SHEET = re.search(r"<!-- sheet: (\S+) -->\n```text\n(.*?)^```$", README, re.MULTILINE | re.DOTALL)


def commands() -> list[tuple[str, str]]:
    """Each command behind a ``$``, with the output shown below it."""
    found = []
    for block in BLOCKS:
        for part in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
            command, _, output = part.partition("\n")
            found.append((command, output))
    return found


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the example yards in it; commands run there in the README's order."""
    import shutil

    folder = tmp_path_factory.mktemp("readme")
    shutil.copytree(ROOT / "example_yards", folder / "example_yards", ignore=shutil.ignore_patterns("*ledger.json"))
    return folder


def run(command: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    program, *arguments = shlex.split(command)
    assert program == "ipmcal"
    whole = [sys.executable, "-m", "ipmcal"]
    for argument in arguments:
        whole.extend(sorted(str(p.relative_to(cwd)) for p in cwd.glob(argument)) if "*" in argument else [argument])
    return subprocess.run(whole, cwd=cwd, capture_output=True, text=True, check=False)


def test_it_shows_commands() -> None:
    assert len(commands()) >= 4


def test_every_command_gives_the_output_that_is_shown(here: Path) -> None:
    for command, shown in commands():
        done = run(command, here)
        said = done.stdout + done.stderr
        if "\n...\n" in shown:  # the middle is left out, and said to be
            head, _, tail = shown.partition("\n...\n")
            assert said.startswith(head), command
            assert said.endswith(tail), command
        else:
            assert said == shown, command


def test_the_sheet_that_it_shows_is_the_sheet_that_is_printed(here: Path) -> None:
    assert SHEET is not None
    name, shown = SHEET[1], SHEET[2]
    text = " ".join(page.extract_text() for page in PdfReader(here / "out" / name).pages)
    printed = re.sub(r"\W+", "", text)
    for line in shown.splitlines():
        for part in re.split(r"\s{2,}", line.strip()):
            words = re.sub(r"\W+", "", part)
            assert words in printed, line


def test_it_opens_with_the_job_and_then_two_commands() -> None:
    first = README.split("\n\n")[1]
    assert len(first) > 300
    assert not first.startswith(("#", "-", "`"))
    assert README.count("```sh\n") == 2
