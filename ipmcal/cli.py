"""The command line: arguments and exit codes, nothing else. What is heavy is imported inside the command."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

if TYPE_CHECKING:
    from ipmcal.model.plan.plan import Plan
    from ipmcal.model.rules.rulebook import Rulebook
    from ipmcal.reading.yards.yards import Loaded

DONE, CONFLICTS, BAD_INPUT, NO_ENGINE = 0, 1, 2, 3

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Plan a beekeeper's yard visits against varroa: clipboard sheets, season plans and calendars.",
    epilog="Exit codes: 0 done; 1 done, with conflicts to read; 2 bad input, nothing written; "
    "3 no PDF engine, the rest written.",
)
Paths = Annotated[list[Path], typer.Argument(help="Yard files, or folders with outfit.yaml and yard files.")]
AsOf = Annotated[
    str | None, typer.Option("--as-of", metavar="DATE", help="Plan as on the morning of this day (default: today).")
]
SeasonYear = Annotated[
    int | None, typer.Option("--season", metavar="YEAR", help="The season by the year it begins in.")
]


def main() -> None:
    """The entry point: bad input is one complaint a line and exit code 2, never a traceback."""
    from ipmcal.reading.source.complaints import BadInput

    try:
        app()
    except BadInput as bad:
        for complaint in bad.complaints:
            print(complaint, file=sys.stderr)
        sys.exit(BAD_INPUT)
    except KeyboardInterrupt:
        print("stopped; nothing is half-written", file=sys.stderr)
        sys.exit(130)


@app.command()
def plan(
    paths: Paths,
    out: Annotated[Path, typer.Option(help="Folder for the documents; each outfit gets a folder in it.")] = Path("out"),
    season: SeasonYear = None,
    as_of: AsOf = None,
    print_: Annotated[
        str, typer.Option("--print", metavar="KINDS", help="What to make: sheet, season, feed, plan.")
    ] = "sheet,season,feed,plan",
) -> None:
    """Plan the season and make its documents: clipboard sheets, season pages, calendars, plan.json."""
    from ipmcal.publishing.memory.ledger import read_ledger
    from ipmcal.publishing.publish import publish
    from ipmcal.saying.changed import change_lines, superseded_lines
    from ipmcal.saying.telling import finding_lines, size_words

    kinds = _kinds(print_)
    day = _day(as_of)
    loaded = _load(paths)
    plans = _plans(loaded, day, season)
    ledgers = [_checked(partial(read_ledger, one.ledger, one.outfit.id)) for one in loaded]
    code = DONE
    for one, made, ledger in zip(loaded, plans, ledgers, strict=True):
        with _progress(f"printing {one.outfit.name}") as tell:
            done = _checked(partial(publish, made, ledger, one.ledger, out / one.outfit.id, kinds, tell))
        print(f"{made.outfit_name}: {size_words(made)}. {len(done.documents)} documents in {out / one.outfit.id}.")
        told = (*change_lines(ledger, made, done.changes), *superseded_lines(ledger, done.ledger, made))
        for line in (*finding_lines(made), *(f"  changed: {line}" for line in told)):
            print(line)
        if done.no_pdf:
            print(done.no_pdf, file=sys.stderr)
        code = max(code, NO_ENGINE if done.no_pdf else CONFLICTS if made.conflicts else DONE)
    raise typer.Exit(code)


@app.command()
def check(
    paths: Annotated[list[Path], typer.Argument(help="Yard files, outfits' folders, or folders of rules of your own.")],
    as_of: AsOf = None,
) -> None:
    """Read yard files, journals and rules, and say what is wrong with them; write nothing."""
    from ipmcal.reading.rules.rulebook import holds_rules
    from ipmcal.saying.telling import finding_lines, size_words

    day = _day(as_of)
    for path in (p for p in paths if holds_rules(p)):
        for line in _checked_rules(path):
            print(line)
    loaded = _load([p for p in paths if not holds_rules(p)])
    plans = _plans(loaded, day, None)
    for made in plans:
        print(f"{made.outfit_name}: {size_words(made)}. No complaints.")
        for line in finding_lines(made):
            print(line)
    raise typer.Exit(CONFLICTS if any(made.conflicts for made in plans) else DONE)


@app.command()
def new(
    path: Annotated[Path, typer.Argument(help="The yard file to write; it must not exist yet.")],
) -> None:
    """Ask in plain words about a yard and its hives, and write a yard file to start from."""
    from ipmcal.publishing.atomic import write_all
    from ipmcal.reading.yards.interview import interview
    from ipmcal.reading.yards.newyard import yard_text

    if path.exists():
        _complain(path.name, "is there already; give the new yard another file name")
    if path.suffix != ".yaml":
        _complain(path.name, "a yard file's name ends in '.yaml'")
    book = _book()

    def ask(question: str, default: str) -> str:
        try:
            answer: str = typer.prompt(question, default=default, show_default=bool(default))
        except (EOFError, typer.Abort):
            _complain(path.name, "the answers ended early; nothing was written")
        return answer

    text = yard_text(interview(ask, typer.echo, book), book, path.name)
    _checked(partial(write_all, {path: text.encode()}))
    print(f"{path} is written. Next: ipmcal plan {path}")


@app.command()
def status(
    paths: Paths,
    roster: Annotated[bool, typer.Option("--roster", help="A line a yard, for many keepers.")] = False,
    as_of: AsOf = None,
) -> None:
    """Say where each yard stands: what is due, over the line, to take out, missed, or not heard of."""
    from ipmcal.saying.status import roster_lines, status_lines

    day = _day(as_of)
    loaded = _load([folder for path in paths for folder in _outfits(path)])
    plans = _plans(loaded, day, None)
    words = [frozenset(w for w, rule in one.book.events.items() if rule.value == "count") for one in loaded]
    if roster:
        for line in roster_lines(plans, frozenset().union(*words)):
            print(line)
        return
    for made, counts in zip(plans, words, strict=True):
        for line in status_lines(made, counts):
            print(line)


@app.command()
def options(
    path: Annotated[Path, typer.Argument(help="A yard file, or an outfit's folder.")],
    colony: Annotated[str | None, typer.Argument(help="A hive's key; all hives without it.")] = None,
    on: Annotated[str | None, typer.Option(metavar="DATE", help="The day on which the treatment would begin.")] = None,
    as_of: AsOf = None,
) -> None:
    """Say of every treatment what the rule files say to it in each hive: with every reason, and until when."""
    from ipmcal.place.season import TooFar
    from ipmcal.planning.options import options as ask
    from ipmcal.saying.options import option_lines

    today = _day(as_of)
    day = today if on is None else _day(on, "--on")
    loaded = _load([path])[0]
    try:
        found = list(ask(loaded.outfit, loaded.book, day, today, colony))
    except TooFar as error:
        _complain(path.name, str(error))
    if not found:
        _complain(path.name, f"there is no hive '{colony}' in it" if colony else "there is no hive in it")
    for one in found:
        for line in option_lines(one, loaded.book.sources):
            print(line)


@app.command()
def log(
    path: Annotated[Path, typer.Argument(help="A yard file, or an outfit's folder.")],
    words: Annotated[
        list[str] | None,
        typer.Argument(help="A hive's key (or @YARD) and an event; or a sheet's code, then '1 done', '2 9/300'."),
    ] = None,
    on: Annotated[str | None, typer.Option(metavar="DATE", help="The day on which the work was done.")] = None,
    by: Annotated[str, typer.Option(metavar="WHO", help="Who did it; a treatment needs it.")] = "",
    note: Annotated[str, typer.Option(metavar="TEXT", help="A note for the lines.")] = "",
    dry: Annotated[bool, typer.Option("--dry", help="Show what was understood; write nothing.")] = False,
    as_of: AsOf = None,
) -> None:
    """Write into the journal what was found and done: one event, a sheet's lines, or a sheet line by line."""
    from ipmcal.entering import Request, enter

    request = Request(str(path), tuple(words or ()), on, by, note, _day(as_of), dry)
    loaded = _load([path])[0]

    def ask(question: str, default: str) -> str:
        try:
            answer: str = typer.prompt(question, default=default, show_default=bool(default))
        except (EOFError, typer.Abort):
            _complain(loaded.prefix + loaded.journal.name, "the answers ended early; nothing was written")
        return answer

    _checked(partial(enter, loaded, request, ask, typer.echo))


@app.command()
def why(
    path: Annotated[Path, typer.Argument(help="A yard file, or an outfit's folder.")],
    task: Annotated[str, typer.Argument(help="A task's id, or the beginning or end of it; or a visit: YARD/DATE.")],
    season: SeasonYear = None,
    as_of: AsOf = None,
) -> None:
    """Explain a task's days, each value with its source; or a visit: what forced it, and what would save it."""
    from ipmcal.planning.compare import find_visit, without
    from ipmcal.saying.reasons import visit_lines, which_words, why_lines, without_lines

    day = _day(as_of)
    loaded = _load([path])
    made = _plans(loaded, day, season)[0]
    visit = find_visit(made, task)
    if visit is not None:
        for line in visit_lines(made, visit):
            print(line)
        spared = without(loaded[0].outfit, loaded[0].book, made, visit)
        now = sum(v.yard == visit.yard for v in made.visits)
        for line in without_lines(now, spared.visits, spared.conflicts, spared.courses):
            print(line)
        return
    ids = [t.id for t in made.tasks]
    found = [i for i in ids if i == task] or [i for i in ids if i.startswith(task) or i.endswith("/" + task)]
    if len(found) != 1:
        _complain(path.name, which_words(task, found, ids))
    for line in why_lines(made.task(found[0]), loaded[0].book.sources):
        print(line)


@app.command()
def record(
    path: Annotated[Path, typer.Argument(help="A yard file, or an outfit's folder.")],
    year: Annotated[int | None, typer.Option(metavar="YEAR", help="The calendar year (default: all years).")] = None,
    out: Annotated[Path, typer.Option(help="Folder for the record; the outfit gets a folder in it.")] = Path("out"),
    as_of: AsOf = None,
) -> None:
    """Make the record of treatments from the journal, as PDF, HTML and CSV."""
    from ipmcal.model.values.words import counted
    from ipmcal.planning.record import make_record
    from ipmcal.publishing.record import publish_record

    day = _day(as_of)
    loaded = _load([path])[0]
    made = make_record(loaded.outfit, loaded.book, day, year)
    done = _checked(partial(publish_record, made, out / loaded.outfit.id))
    span = "all years" if year is None else str(year)
    count = counted(len(made.entries), "application")
    print(f"{made.outfit}: {count} in {span}. {', '.join(done.documents)} in {out / loaded.outfit.id}.")
    for line in made.contradictions:
        print(f"  to put right: {line}.")
    if done.no_pdf:
        print(done.no_pdf, file=sys.stderr)
    raise typer.Exit(NO_ENGINE if done.no_pdf else CONFLICTS if made.contradictions else DONE)


@app.command()
def rules(
    files: Annotated[bool, typer.Option("--files", help="Also list each file, and when it was checked.")] = False,
) -> None:
    """Say what rules are shipped, when they were checked, from which sources, and how much is from memory."""
    from ipmcal.saying.inventory import inventory_lines

    for line in inventory_lines(_book(), files):
        print(line)


@app.command()
def schema(
    out: Annotated[Path, typer.Option(help="Folder for the JSON Schemas.")] = Path("schemas"),
) -> None:
    """Write the JSON Schemas of yard files, rule files and plan.json, for editors."""

    from ipmcal.model.schema import schema_texts
    from ipmcal.publishing.atomic import write_all
    from ipmcal.publishing.plan_json import schema_text

    texts = schema_texts()
    texts["plan.json"] = schema_text()
    _checked(partial(write_all, {out / name: text.encode() for name, text in texts.items()}))
    print(f"{len(texts)} schemas in {out}.")


# What the commands share ---------------------------------------------------------------------------------------------


def _outfits(path: Path) -> list[Path]:
    """A folder of outfits as its outfits and lone yard files; anything else as it is."""
    if not path.is_dir() or (path / "outfit.yaml").exists():
        return [path]
    inside = [p for p in sorted(path.iterdir()) if (p / "outfit.yaml").exists() or p.suffix == ".yaml"]
    return inside or [path]


def _checked_rules(path: Path) -> Iterator[str]:
    """A folder of rules laid over the shipped ones: what it holds, once it is without complaint."""
    from ipmcal.data import folder
    from ipmcal.model.values.words import counted
    from ipmcal.reading.rules.rulebook import load_rulebook

    shipped = _book()
    book = load_rulebook(folder("rules"), path)
    yield f"{path.name}: {counted(len(book.local), 'rule file')}. No complaints."
    for key in sorted(book.local):
        yield f"  {key}: {'replaces the shipped one, whole' if key in shipped.files else 'new'}"


def _book() -> Rulebook:
    from ipmcal.data import folder
    from ipmcal.reading.rules.rulebook import load_rulebook

    return load_rulebook(folder("rules"))


def _load(paths: list[Path]) -> list[Loaded]:
    """Every path, or every complaint about any of them."""
    from ipmcal.data import folder
    from ipmcal.reading.source.complaints import BadInput, Complaint
    from ipmcal.reading.yards.yards import load

    book = _book()
    loaded: list[Loaded] = []
    complaints: list[Complaint] = []
    for path in paths:
        try:
            loaded.append(load(path, folder("rules"), book))
        except BadInput as bad:
            complaints.extend(bad.complaints)
    ids = [one.outfit.id for one in loaded]
    complaints.extend(
        Complaint(path.name, 0, 0, f"the outfit id '{i}' is used twice in this run; give each its own")
        for path, i in zip(paths, ids, strict=False)
        if ids.count(i) > 1
    )
    if complaints:
        raise BadInput(complaints)
    return loaded


def _plans(loaded: list[Loaded], day: int, season: int | None) -> list[Plan]:
    from ipmcal.place.season import TooFar
    from ipmcal.planning.plan import make_plan, season_of
    from ipmcal.reading.source.complaints import BadInput, Complaint

    complaints: list[Complaint] = []
    for one in loaded:
        for yard in one.outfit.yards:
            try:
                season_of(yard, one.book, day, season)
            except TooFar as error:
                complaints.append(Complaint.at(yard.place, str(error)))
    if complaints:
        raise BadInput(complaints)
    plans = []
    for one in loaded:
        with _progress(f"planning {one.outfit.name}") as tell, _no_collecting():
            tell(len(one.outfit.yards))
            plans.append(make_plan(one.outfit, one.book, day, season, explain=True))
    return plans


def _day(text: str | None, option: str = "--as-of") -> int:
    """A date as keepers write it; without it the clock is read, here and nowhere else."""
    if text is None:
        return date.today().toordinal()
    from dateutil.parser import ParserError, parse

    from ipmcal.model.values.forms import iso_date

    try:
        if any(letter.isalpha() for letter in text):
            return parse(text, dayfirst=True).date().toordinal()
        return iso_date(text).toordinal()
    except (ParserError, OverflowError, ValueError):
        _complain(option, f"'{text}' is not a date; write '2027-05-22' or '22 May 2027'")


def _kinds(text: str) -> list[str]:
    from ipmcal.model.values.text import nearest
    from ipmcal.publishing.publish import KINDS

    kinds = [word.strip() for word in text.split(",") if word.strip()]
    for kind in kinds:
        if kind not in KINDS:
            _complain("--print", f"'{kind}' can't be printed{nearest(kind, list(KINDS))}")
    return kinds


def _checked(work: Callable[[], Any]) -> Any:
    """Trouble with the ledger or the disk, as a complaint."""
    from ipmcal.publishing.memory.ledger import LedgerError

    try:
        return work()
    except LedgerError as error:
        _complain("ledger", str(error))
    except OSError as error:
        _complain(
            Path(str(error.filename or "out")).name, f"can't be written: {(error.strerror or 'unknown error').lower()}"
        )


def _complain(file: str, what: str) -> NoReturn:
    from ipmcal.reading.source.complaints import BadInput, Complaint

    raise BadInput([Complaint(file, 0, 0, what)])


@contextmanager
def _no_collecting() -> Iterator[None]:
    """A plan makes many small values that all live to its end: looking for garbage among them only costs time."""
    import gc

    gc.disable()
    try:
        yield
    finally:
        gc.enable()


@contextmanager
def _progress(what: str) -> Iterator[Callable[[int], None]]:
    """A spinner while something takes its time; nothing at all where nobody watches."""
    if not sys.stderr.isatty():
        yield lambda number: None
        return
    from rich.console import Console

    with Console(stderr=True).status(what) as status:
        yield lambda number: status.update(f"{what} ({number})") if number else None
