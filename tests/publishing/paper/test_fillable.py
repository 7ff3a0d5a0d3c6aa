"""Fillable sheets, filled in by a library that did not write them: the journal says what the same words typed would."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pypdf
import pytest
from command import ipmcal
from examples import SOURCE, short_jobs
from publishing.paper.test_every_page import nothing_lies_over_anything_or_beyond_the_margins
from publishing.pdf_reading import elements, pages, squares

from ipmcal.loading import shipped_rules
from ipmcal.model.values.fillable import FormBox, Says, form_box
from ipmcal.publishing import publish
from ipmcal.publishing.paper.pdf import render_job as real_job
from ipmcal.reading.entering.filled import said_in_boxes

EXAMPLES = {
    "allotment.yaml": "2027-07-25",
    "first_season.yaml": "2027-06-01",
    "hollow_lane": "2027-05-01",
    "long_meadow": "2027-05-01",
    "quarry_end": "2027-08-01",
    "ridge_road.yaml": "2027-09-01",
}
"""Each example, and the day whose next sheets are filled in; with FORMS=all, of every example each sheet
from the spring on."""
MOST_PAGES = 4
"""Combs of boxes take room: two of a leaf's pages become so many at most."""
WITH_SHEETS = "long_meadow"
"""The example of which sheets without boxes are asked too."""
ALL = os.environ.get("FORMS") == "all"
SPRING, LATER = "2027-03-01", "2028-06-30"
NAMED = re.compile(r"(.+)-([0-9]{4}-[0-9]{2}-[0-9]{2})-([A-Z0-9]+)-fillable\.pdf")
TYPED = {"amount": "2", "lot": "K21"}

Yards = tuple[Path, tuple[Path, ...]]


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Yards]:
    """By example: its folder with the ledger, once its sheets were made, and the fillable ones."""
    made: dict[str, Yards] = {}

    def make(name: str) -> Yards:
        if name not in made:
            home = tmp_path_factory.mktemp(name.partition(".")[0])
            shutil.copytree(SOURCE, home / "yards", ignore=shutil.ignore_patterns("*ledger*"))
            with forms_alone(but=name == WITH_SHEETS):
                done = plan(home / "yards" / name, home / "out", EXAMPLES[name])
            assert done.returncode in (0, 1), done.stderr
            made[name] = home, tuple(sorted(home.glob("out/*/sheets/*-fillable.pdf")))
        return made[name]

    return make


@contextmanager
def forms_alone(*, but: bool) -> Iterator[None]:
    """The sheets without boxes, which come along, are stood in for."""
    real = publish.render_job

    def render_job(pages: Sequence[str], job: Sequence[str], cover: str) -> tuple[list[bytes], bytes]:
        forms = [page for page in pages if "<input" in page]
        made = dict(zip(forms, real(forms, (), cover)[0], strict=True))
        return [made.get(page, b"%PDF, a sheet") for page in pages], b"%PDF, a job"

    with pytest.MonkeyPatch.context() as patch:
        if not but:
            patch.setattr(publish, "render_job", render_job)
        yield


def plan(yard: Path, out: Path, as_of: str) -> subprocess.CompletedProcess[str]:
    due = ("--as-of", SPRING, "--all") if ALL else ("--as-of", as_of)
    with short_jobs():
        return ipmcal("plan", yard, *due, "--print", "fillable", "--out", out)


def boxes(pdf: Path) -> dict[str, FormBox]:
    found = {name: form_box(name) for name in pypdf.PdfReader(pdf).get_fields() or {}}
    assert None not in found.values(), "every field is one that is read back"
    return {name: box for name, box in found.items() if box is not None}


def filled(pdf: Path, values: Mapping[str, str], to: Path, password: str = "") -> Path:
    """The PDF with these boxes ticked ("/on"), or filled with what is typed."""
    writer = pypdf.PdfWriter(clone_from=pdf)
    for page in (page for page in writer.pages if "/Annots" in page):
        writer.update_page_form_field_values(page, dict(values), auto_regenerate=False)
    if password:
        writer.encrypt(password, algorithm="RC4-128")
    writer.write(to)
    return to


def answers(known: dict[str, FormBox]) -> tuple[dict[str, str], list[str]]:
    """For each line an answer: what stands in its boxes, and the same typed as a message. Counts are 7 of 304, other
    numbers 2; the first word of a line; what can be typed; else its tick."""
    values: dict[str, str] = {}
    typed: list[str] = []
    for line in sorted({box.line for box in known.values() if box.line}):
        here = {name: box for name, box in known.items() if box.line == line}
        figures = {box.text for box in here.values() if box.says == Says.DIGIT}
        words = [name for name, box in here.items() if box.says == Says.WORD and box.text != "not done"]
        said: list[str] = []
        if words:
            values[words[0]] = "/on"
            said.append(here[words[0]].text)
        elif "first" in figures:
            values |= digits(here, ("first", 1, 7), ("second", 100, 3), ("second", 10, 0), ("second", 1, 4))
            said.append("7/304")
        if "amount" in figures:
            values |= digits(here, ("amount", 1, 2))
            said += ["2"] if said else ["done 2"]
        texts = [(name, box) for name, box in here.items() if box.says == Says.TEXT]
        said += ["done"] if texts and not said else []
        for name, box in texts:
            values[name] = TYPED.get(box.text, "12 14")  # in a form, no number is another line's
            label = "" if box.text == "amount" else re.split("[ ,]", box.text)[0]
            said.append(f"{label} {values[name].replace(' ', ', ')}".strip())
        if "frames" in figures:
            values |= digits(here, ("frames", 1, 8))
            said += [*([] if said else ["done"]), f"{', ' if texts else ''}frames of bees 8"]
        if not said:
            only = next((name for name, box in here.items() if box.says == Says.DONE), "")
            values[only or next(name for name, box in here.items() if box.text == "not done")] = "/on"
            said.append("done" if only else "not done")
        typed.append(f"{line} {' '.join(said)}")
    return values, typed


def sheet_to_come(name: str, sheets: Iterable[Path]) -> tuple[Path, str]:
    """A sheet, with its code, of which the example's journal has nothing yet: with FORMS=all there are older ones."""
    named = [(path, found) for path in sheets if (found := NAMED.fullmatch(path.name))]
    return next((path, found[3]) for path, found in named if found[2] >= EXAMPLES[name])


def digits(here: Mapping[str, FormBox], *wanted: tuple[str, int, int]) -> dict[str, str]:
    names = [name for name, box in here.items() if (box.text, box.place, box.digit) in wanted]
    assert len(names) == len(wanted)
    return dict.fromkeys(names, "/on")


def journals(yards: Path) -> dict[str, str]:
    return {path.relative_to(yards).as_posix(): path.read_text() for path in sorted(yards.rglob("*journal*.csv"))}


def log(home: Path, name: str, file: Path, *more: str, **kind: str) -> subprocess.CompletedProcess[str]:
    return ipmcal("log", home / "yards" / name, "--from", file, "--as-of", LATER, *more, **kind)


def asked(told: str) -> list[str]:
    """The questions in what a command said, without the sheet's code."""
    return [re.sub(r"^ *to ask: ([A-Z0-9]+: )?", "", line) for line in told.splitlines() if "to ask:" in line]


@pytest.mark.parametrize("name", EXAMPLES if ALL else ("allotment.yaml", "hollow_lane", "quarry_end"))
def test_what_is_filled_in_is_written_as_what_is_typed_and_once(
    name: str, printed: Callable[[str], Yards], tmp_path: Path
) -> None:
    home, sheets = printed(name)
    assert sheets
    each_box_has_a_name_to_be_heard_and_stands_in_the_tag_tree(sheets)  # here, while they are there: they take long
    each_page_is_fit_to_be_read(sheets)
    said: set[str] = set()
    by_form, by_words = tmp_path / "form", tmp_path / "words"
    for copy in (by_form, by_words):
        shutil.copytree(home / "yards", copy / "yards")
    for pdf in sorted(sheets, key=lambda pdf: next(iter(boxes(pdf).values())).day):
        known, before = boxes(pdf), journals(by_form / "yards")
        values, typed = answers(known)
        said |= {known[tick].says for tick in values}
        file = filled(pdf, values, tmp_path / pdf.name)
        done = log(by_form, name, file, "--sure", "--by", "AB")
        box = next(iter(known.values()))
        (tmp_path / "words.txt").write_text(f"{box.code} {box.day}\n" + "\n".join(typed))
        other = log(by_words, name, tmp_path / "words.txt", "--by", "AB")
        told = (typed, done.stdout, other.stdout)
        assert (done.stderr, done.returncode) == ("", other.returncode), told
        assert asked(done.stdout) == asked(other.stdout), told
        written = journals(by_form / "yards")
        assert written == journals(by_words / "yards"), told
        if any(box.text == "frames" for box in known.values()) and "frames_covered" in "".join(written.values()):
            new = "".join(written.values()).replace("".join(before.values()), "")
            assert not re.search(r"frames_covered,(?!8,)", new), told
        left = len(asked(done.stdout)) == len(typed) or "is there already" in done.stdout
        assert written != before or left, told
        again = log(by_form, name, file, "--sure", "--by", "AB")
        assert (again.returncode, journals(by_form / "yards")) == (done.returncode, written)
        assert "Nothing new to write." in again.stdout or written == before
    assert Says.WORD in said


def test_nothing_is_written_without_a_yes(printed: Callable[[str], Yards], tmp_path: Path) -> None:
    home, sheets = printed("long_meadow")
    shutil.copytree(home / "yards", tmp_path / "yards")
    sheet, _ = sheet_to_come("long_meadow", sheets)
    file = filled(sheet, answers(boxes(sheet))[0], tmp_path / "filled.pdf")
    done = log(tmp_path, "long_meadow", file)
    assert done.returncode == 2
    assert done.stderr.startswith("filled.pdf ")
    assert "say it again with --sure" in done.stderr
    assert "Sheet" in done.stdout, "it is shown what was understood"
    dry = log(tmp_path, "long_meadow", file, "--dry")
    assert dry.returncode in (0, 1)
    assert "nothing was written" in dry.stdout
    assert journals(tmp_path / "yards") == journals(home / "yards")


def test_an_old_sheet_is_said_to_be_one(printed: Callable[[str], Yards], tmp_path: Path) -> None:
    home, sheets = printed("long_meadow")
    shutil.copytree(home / "yards", tmp_path / "yards")
    sheet, code = sheet_to_come("long_meadow", sheets)
    file = filled(sheet, answers(boxes(sheet))[0], tmp_path / "filled.pdf")
    ledger = tmp_path / "yards" / "long_meadow" / "ledger.json"
    told = json.loads(ledger.read_text())
    mine = next(one for one in told["sheets"] if one["code"] == code)
    mine["superseded_by"] = next(one["serial"] for one in told["sheets"] if one["code"] != code)
    ledger.write_text(json.dumps(told))
    done = log(tmp_path, "long_meadow", file)
    assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (2, "", 1), done
    assert "is an old sheet" in done.stderr
    assert journals(tmp_path / "yards") == journals(home / "yards")
    assert log(tmp_path, "long_meadow", file, "--sure", "--by", "AB").returncode in (0, 1)
    assert journals(tmp_path / "yards") != journals(home / "yards")


def test_the_same_bytes_twice_and_no_page_for_the_screen(printed: Callable[[str], Yards], tmp_path: Path) -> None:
    home, sheets = printed("long_meadow")
    shutil.copytree(SOURCE, tmp_path / "yards")
    for ledger in (tmp_path / "yards").rglob("*ledger*"):
        ledger.unlink()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(publish, "render_job", real_job)  # not the bytes of the run before
        plan(tmp_path / "yards" / "long_meadow", tmp_path / "out", EXAMPLES["long_meadow"])
    again = sorted(tmp_path.glob("out/*/sheets/*-fillable.pdf"))
    assert [(p.name, p.read_bytes()) for p in again] == [(p.name, p.read_bytes()) for p in sheets]
    assert not list(tmp_path.glob("out/**/*-fillable.html"))
    assert all(NAMED.fullmatch(p.name) and p.with_name(p.name.replace("-fillable", "")).exists() for p in sheets)
    job = pypdf.PdfReader(home / "out" / "long_meadow" / "print.pdf")
    assert not job.get_fields(), "what is printed has no boxes of a form"


def each_page_is_fit_to_be_read(sheets: Iterable[Path]) -> None:
    """A form is filled in on a screen, and may be longer than a leaf; what else is asked of paper holds for it too."""
    for pdf in sheets:
        with pages(pdf.read_bytes()) as all_pages:
            assert squares(all_pages[0]), f"{pdf.name}: no hive on its first page"
            assert len(all_pages) <= MOST_PAGES, pdf.name
            for number, page in enumerate(all_pages, 1):
                nothing_lies_over_anything_or_beyond_the_margins(page, "sheets", f"{pdf.name}, page {number}")


def each_box_has_a_name_to_be_heard_and_stands_in_the_tag_tree(sheets: Iterable[Path]) -> None:
    for pdf in sheets:
        reader = pypdf.PdfReader(pdf)
        root: Any = reader.trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"]
        assert root["/Lang"] == "en"
        assert all(page["/Tabs"] == "/S" for page in reader.pages if "/Annots" in page)
        widgets = {a.idnum: a.get_object() for page in reader.pages for a in page.get("/Annots", ())}
        names = [str(one["/TU"]).strip() for one in widgets.values() if one["/Subtype"] == "/Widget"]
        assert all(names)
        assert len(names) == len(set(names)), "no two are called the same"
        tagged = [node for kind, node in elements(root["/StructTreeRoot"]["/K"]) if kind == "Form"]
        assert sorted(node["/K"][0].get_object().raw_get("/Obj").idnum for node in tagged) == sorted(widgets)


def test_a_sheet_with_boxes_alone_holds_no_whole_font(printed: Callable[[str], Yards]) -> None:
    for pdf in printed("long_meadow")[1]:
        typed = any(box.says == Says.TEXT for box in boxes(pdf).values())
        assert pdf.stat().st_size < (250_000 if typed else 150_000), pdf.name


def spoilt(pdf: Path, to: Path, kind: str) -> Path:
    raw = pdf.read_bytes()
    if kind == "encrypted":
        return filled(pdf, {}, to, "secret")
    if kind == "no fields":
        return Path(shutil.copy(pdf.with_name(pdf.name.replace("-fillable", "")), to))
    to.write_bytes({"cut off": raw[: len(raw) // 2], "text": b"1 done", "empty": b"", "head alone": raw[:9]}[kind])
    return to


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("encrypted", "is encrypted; save it without a password"),
        ("no fields", "has no boxes of a sheet"),
        ("cut off", ""),
        ("text", "can't be read as a PDF"),
        ("empty", "can't be read as a PDF"),
        ("head alone", "can't be read as a PDF"),
    ],
)
def test_a_file_that_is_none_is_one_complaint(
    kind: str, words: str, printed: Callable[[str], Yards], tmp_path: Path
) -> None:
    home, sheets = printed("long_meadow")
    before = journals(home / "yards")
    done = log(home, "long_meadow", spoilt(sheets[0], tmp_path / "filled.pdf", kind))
    assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (2, "", 1), done
    assert done.stderr.startswith("filled.pdf ")
    assert words in done.stderr
    assert journals(home / "yards") == before


def test_a_sheet_of_others_or_of_another_day_is_none(printed: Callable[[str], Yards], tmp_path: Path) -> None:
    home, sheets = printed("long_meadow")
    shutil.copytree(home / "yards", tmp_path / "yards")
    sheet, code = sheet_to_come("long_meadow", sheets)
    file = filled(sheet, answers(boxes(sheet))[0], tmp_path / "filled.pdf")
    ledger = tmp_path / "yards" / "long_meadow" / "ledger.json"
    told = json.loads(ledger.read_text())
    mine = next(one for one in told["sheets"] if one["code"] == code)
    others = ({"day": "2027-05-13"}, "known here is of Thu 13 May 2027"), ({"code": "Y9"}, "is not the code of a sheet")
    for change, words in others:
        before = dict(mine)
        mine |= change
        ledger.write_text(json.dumps(told))
        done = log(tmp_path, "long_meadow", file)
        assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (2, "", 1), done
        assert words in done.stderr
        mine |= before
    assert journals(tmp_path / "yards") == journals(home / "yards")


def ticked(known: dict[str, FormBox], *wanted: tuple[str, int, int]) -> dict[str, str]:
    line = next(box.line for box in known.values() if box.text == "first")
    return digits({name: box for name, box in known.items() if box.line == line}, *wanted)


@pytest.mark.parametrize(
    ("wanted", "question"),
    [
        ([("first", 1, 7), ("first", 1, 8), ("second", 1, 4)], "7 and 8 are ticked in the ones"),
        ([("first", 1, 7)], "which is the other"),
        ([("first", 1, 7), ("second", 100, 3), ("second", 1, 0)], "no digit is ticked in the tens"),
    ],
)
def test_what_is_unsure_is_asked_and_not_written(
    wanted: list[tuple[str, int, int]], question: str, printed: Callable[[str], Yards], tmp_path: Path
) -> None:
    home, sheets = printed("long_meadow")
    pdf = next(one for one in sheets if any(box.text == "first" for box in boxes(one).values()))
    shutil.copytree(home / "yards", tmp_path / "yards")
    done = log(tmp_path, "long_meadow", filled(pdf, ticked(boxes(pdf), *wanted), tmp_path / "filled.pdf"))
    assert (done.returncode, done.stderr) == (1, "")
    assert question in done.stdout
    assert journals(tmp_path / "yards") == journals(home / "yards")


def test_the_rain_date_and_another_day_can_be_said(printed: Callable[[str], Yards], tmp_path: Path) -> None:
    home, sheets = printed("long_meadow")
    pdf = next(one for one in sheets if any(box.says == "rain" for box in boxes(one).values()))
    known = boxes(pdf)
    rain = next(name for name, box in known.items() if box.says == "rain")
    tick = next(name for name, box in known.items() if box.says in (Says.DONE, Says.TICK, Says.WORD))
    for more, day in (((), known[rain].text), (("--on", known[rain].day), known[rain].day)):
        copy = tmp_path / day
        shutil.copytree(home / "yards", copy / "yards")
        log(copy, "long_meadow", filled(pdf, {rain: "/on", tick: "/on"}, tmp_path / "filled.pdf"), "--sure", *more)
        (new,) = set(journals(copy / "yards").items()) - set(journals(home / "yards").items())
        assert new[1].splitlines()[-1].startswith(day)


def test_names_that_are_none_of_a_sheet_are_none() -> None:
    assert form_box("A2W 2027-05-15/3/digit/first/10/7") == FormBox("A2W", "2027-05-15", 3, Says.DIGIT, "first", 10, 7)
    for name in ("", "A2W", "A2W 2027-05-15/3/digit/first/10/12", "A2W 2027-05-15/3/word/", "name"):
        assert form_box(name) is None


@pytest.mark.parametrize(
    ("typed", "question"),
    [
        ({"lot": "K21; 4 done"}, "is not one word of letters and digits"),
        ({"lot": "K21\n5 done"}, "is not one word"),
        ({"amount": "2: 3 done"}, "has other signs than letters, digits, commas"),
    ],
)
def test_nothing_typed_into_one_line_is_said_of_another(typed: Mapping[str, str], question: str) -> None:
    name = "A2W 2027-05-15/3/text/{}"
    boxes = {form_box(name.format(label)): text for label, text in (TYPED | dict(typed)).items()}
    said, questions = said_in_boxes({box: " ".join(text.split()) for box, text in boxes.items() if box})
    assert said == ()
    assert question in questions[0]


def test_a_tick_beside_not_done_is_asked() -> None:
    name = "A2W 2027-05-15/3/{}"
    boxes = {form_box(name.format(one)): "/on" for one in ("word/not done", "word/capped")}
    assert "which of the two is it" in said_in_boxes({box: text for box, text in boxes.items() if box})[1][0]


def test_no_blank_of_the_rules_breaks_a_name() -> None:
    steps = [step for method in shipped_rules().methods.values() for step in method.steps.values()]
    labels = {label for step in steps for label in (*step.blanks, *step.circle)}
    assert labels
    assert [label for label in labels if form_box(f"A2W 2027-05-15/3/text/{label}") is None] == []
