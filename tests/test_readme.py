"""The README is true: its commands give the output that it shows, and its sheet is the sheet that is printed.

``README=write pytest tests/test_readme.py`` writes the outputs anew, after a change of rules: then read what changed.
Where the middle of an output is left out (a line of three dots), as many lines stay before and behind it as there were.
"""

from __future__ import annotations

import os
import re
import shlex
from pathlib import Path
from subprocess import CompletedProcess

import pytest
from command import ipmcal
from pypdf import PdfReader, PdfWriter

from ipmcal.model.values.fillable import Says, form_box

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
WRITE = os.environ.get("README") == "write"
LEFT_OUT = "\n...\n"
TOLD = (Says.DONE, Says.WORD)
"""What is ticked on a form."""
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


def run(command: str, cwd: Path) -> CompletedProcess[str]:
    program, *arguments = shlex.split(command)
    assert program == "ipmcal"
    if "filled.pdf" in arguments and not (cwd / "filled.pdf").exists():
        fill_in(cwd)
    whole: list[str] = []
    for argument in arguments:
        whole.extend(sorted(str(p.relative_to(cwd)) for p in cwd.glob(argument)) if "*" in argument else [argument])
    return ipmcal(*whole, cwd=cwd)


def fill_in(cwd: Path) -> None:
    """The first form that was made, with its hives' own ticks: what a keeper does who works with a tablet."""
    form = min(cwd.glob("out/*/sheets/*-fillable.pdf"))
    known = {name: box for name in PdfReader(form).get_fields() or {} if (box := form_box(name)) is not None}
    lines = sorted({box.line for box in known.values() if box.line})
    ticks = [next(n for n, box in known.items() if box.line == line and box.says in TOLD) for line in lines]
    writer = PdfWriter(clone_from=form)
    for page in (page for page in writer.pages if "/Annots" in page):
        writer.update_page_form_field_values(page, dict.fromkeys(ticks, "/on"), auto_regenerate=False)
    writer.write(cwd / "filled.pdf")


def test_it_shows_commands() -> None:
    assert len(commands()) >= 4


def as_shown(said: str, shown: str) -> str:
    """An output as the README shows it: whole, or with its middle left out where it is left out there."""
    head, dots, tail = shown.partition(LEFT_OUT)
    if not dots:
        return said
    lines, before, behind = said.splitlines(keepends=True), head.count("\n") + 1, tail.count("\n")
    assert len(lines) > before + behind, "nothing is left out"
    return "".join(lines[:before]) + LEFT_OUT[1:] + "".join(lines[-behind:])


def written(text: str, outputs: list[str]) -> str:
    """The README with these outputs, one a command, in their order."""
    left = iter(outputs)

    def block(match: re.Match[str]) -> str:
        commands = re.split(r"^\$ ", match[1], flags=re.MULTILINE)[1:]
        return "```console\n" + "".join(f"$ {one.partition(chr(10))[0]}\n{next(left)}" for one in commands) + "```"

    return re.sub(r"^```console\n(.*?)^```$", block, text, flags=re.MULTILINE | re.DOTALL)


def test_every_command_gives_the_output_that_is_shown(here: Path) -> None:
    outputs = []
    for command, shown in commands():
        done = run(command, here)
        outputs.append(as_shown(done.stdout + done.stderr, shown))
        if not WRITE:
            assert outputs[-1] == shown, command
    whole = written(README, outputs)
    if WRITE:
        (ROOT / "README.md").write_text(whole, encoding="utf-8")
    else:
        assert whole == README


def test_outputs_are_written_where_they_stand_and_nothing_else_is_touched() -> None:
    text = "a\n```console\n$ one\nold\n$ two\nx\n...\ny\n```\nb\n"
    assert as_shown("1\n2\n3\n4\n", "x\n...\ny\n") == "1\n...\n4\n"
    assert as_shown("1\n2\n", "old\n") == "1\n2\n"
    assert written(text, ["new\n", "1\n...\n4\n"]) == "a\n```console\n$ one\nnew\n$ two\n1\n...\n4\n```\nb\n"


def test_the_sheet_that_it_shows_is_the_sheet_that_is_printed(here: Path) -> None:
    assert SHEET is not None
    name, shown = SHEET[1], SHEET[2]
    if not (here / "out" / name).exists():  # the commands may have run in another process, in a folder of its own
        assert run(commands()[0][0], here).returncode == 0, "the README's first command ends without conflicts"
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
