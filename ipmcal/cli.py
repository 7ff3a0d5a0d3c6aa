"""The command line: arguments and exit codes, nothing else. What is heavy is imported inside the command."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from io import TextIOWrapper
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

if TYPE_CHECKING:
    from ipmcal.enrolling import ClubOrder
    from ipmcal.journaling.messaging import Post

DONE, CONFLICTS, BAD_INPUT, NO_ENGINE, OUR_FAULT = 0, 1, 2, 3, 4
FIRST_SEASON, LAST_SEASON = 1901, 2198
"""Seasons whose days, and those a year before and behind, are dates that may be written."""
LONGEST_SPAN = 999
"""Weeks or days; a year of sheets is what --all makes."""

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Plan a beekeeper's yard visits against varroa: clipboard sheets, season plans and calendars.",
    epilog="Exit codes: 0 done; 1 done, with conflicts to read or rows to put right; 2 bad input, nothing written; "
    "3 no PDF engine, the rest written; 4 a fault of ipmcal itself.",
)
YardPaths = Annotated[list[Path], typer.Argument(help="Yard files, or folders with outfit.yaml and yard files.")]
AsOf = Annotated[
    str | None, typer.Option("--as-of", metavar="DATE", help="Plan as on the morning of this day (default: today).")
]
SeasonYear = Annotated[
    int | None,
    typer.Option(
        "--season",
        metavar="YEAR",
        min=FIRST_SEASON,
        max=LAST_SEASON,
        help="The season by the year it begins in.",
    ),
]


def main() -> None:
    """The entry point: bad input is one complaint a line and exit code 2, never a traceback; nor is a fault of ours."""
    from ipmcal.reading.source.complaints import BadInput

    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")  # a screen that lacks a letter shows '?' for it
    try:
        app()
    except BadInput as bad:
        for complaint in bad.complaints:
            print(complaint, file=sys.stderr)
        sys.exit(BAD_INPUT)
    except KeyboardInterrupt:
        print("stopped; nothing is half-written", file=sys.stderr)
        sys.exit(130)
    except Exception as error:
        print(_our_fault(error), file=sys.stderr)
        sys.exit(OUR_FAULT)


def _our_fault(error: Exception) -> str:
    """An error that nobody foresaw, on one line, with the place in our own code at which it arose."""
    from traceback import extract_tb

    from ipmcal.model.values.text import one_line

    frames = [frame for frame in extract_tb(error.__traceback__) if "ipmcal" in Path(frame.filename).parts]
    where = f" ({Path(frames[-1].filename).name}:{frames[-1].lineno})" if frames else ""
    what = one_line(f"{type(error).__name__}: {error}", 200)
    return f"a fault of ipmcal, not of your files{where}: {what}; no file is half-written. Please report this line."


@app.command()
def plan(
    paths: YardPaths,
    out: Annotated[Path, typer.Option(help="Folder for the documents; each outfit gets a folder in it.")] = Path("out"),
    season: SeasonYear = None,
    as_of: AsOf = None,
    print_: Annotated[
        str,
        typer.Option(
            "--print", metavar="KINDS", help="What to make: these; handout, forms, fillable, review, csv, import."
        ),
    ] = "sheet,season,feed,plan",
    next_: Annotated[
        str, typer.Option("--next", metavar="TIME", help="Make the sheets of visits in this time: '10 days'.")
    ] = "4 weeks",
    all_: Annotated[bool, typer.Option("--all", help="Make the sheets of all visits, not only the next ones.")] = False,
    changed: Annotated[
        bool, typer.Option("--changed", help="Put only what changed since the last time into print.pdf.")
    ] = False,
) -> None:
    """Plan the season and make its documents: clipboard sheets, season pages, calendars, plan.json."""
    from ipmcal.loading import load_all
    from ipmcal.making import MakingOrder, make

    ahead = None if all_ else _span(next_, "--next")
    order = MakingOrder(_day(as_of), season, out, _kinds(print_), ahead=ahead, changed=changed)
    code = DONE
    with _trouble():
        for made in make(load_all(paths), order, _progress):
            for line in made.lines:
                print(line)
            if made.no_pdf:
                print(made.no_pdf, file=sys.stderr)
            code = max(code, NO_ENGINE if made.no_pdf else CONFLICTS if made.conflicts else DONE)
    raise typer.Exit(code)


@app.command()
def check(
    paths: Annotated[list[Path], typer.Argument(help="Yard files, outfits' folders, or folders of rules of your own.")],
    season: SeasonYear = None,
    as_of: AsOf = None,
) -> None:
    """Read yard files, journals and rules, and say what is wrong with them; write nothing."""
    from ipmcal.checking import check_paths

    conflicts = False
    with _trouble():
        for line, in_conflict in check_paths(paths, _day(as_of), season, _progress):
            print(line)
            conflicts = conflicts or in_conflict
    raise typer.Exit(CONFLICTS if conflicts else DONE)


@app.command()
def new(
    path: Annotated[Path, typer.Argument(help="The yard file to write; it must not exist yet.")],
) -> None:
    """Ask in plain words about a yard and its hives, and write a yard file to start from."""
    from ipmcal.beginning import begin
    from ipmcal.reading.source.files import exists

    if exists(path, path.name):
        _complain(path.name, "is there already; give the new yard another file name")
    if path.suffix != ".yaml":
        _complain(path.name, "a yard file's name ends in '.yaml'")
    with _trouble():
        begin(path, _asking(path.name), typer.echo)


@app.command()
def status(
    paths: YardPaths,
    roster: Annotated[bool, typer.Option("--roster", help="A line a yard, for many keepers.")] = False,
    dates: Annotated[
        bool, typer.Option("--dates", help="All yards by date: what must be done, sheet codes, what to load.")
    ] = False,
    season: SeasonYear = None,
    as_of: AsOf = None,
) -> None:
    """Say where each yard stands: what is due, over the line, to take out, missed, or not heard of."""
    from ipmcal.loading import load_all, outfits_in, plans_of, with_past
    from ipmcal.saying.status import roster_lines, status_lines

    day = _day(as_of)
    with _trouble():
        loaded = with_past(load_all([folder for path in paths for folder in outfits_in(path)]), day)
    plans = plans_of(loaded, day, season, _progress)
    words = [frozenset(w for w, rule in one.book.events.items() if rule.value == "count") for one in loaded]
    if roster:
        for line in roster_lines(plans, frozenset().union(*words)):
            print(line)
    elif dates:
        from ipmcal.publishing.memory.ledger import read_ledger
        from ipmcal.publishing.paper.dates import codes_known
        from ipmcal.saying.dates import date_lines

        with _trouble():
            known = [read_ledger(one.ledger, one.outfit.id) for one in loaded]
        for made, ledger in zip(plans, known, strict=True):
            for line in date_lines(made, codes_known(made, ledger)):
                print(line)
    else:
        for made, counts in zip(plans, words, strict=True):
            for line in status_lines(made, counts):
                print(line)
    raise typer.Exit(CONFLICTS if any(made.conflicts for made in plans) else DONE)


@app.command("roster")
def make_roster(
    list_: Annotated[
        Path | None, typer.Argument(metavar="LIST.csv", help="A row a keeper; columns by name in any order.")
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder of the club; each keeper gets a folder in it.")] = Path("club"),
    as_of: AsOf = None,
    example: Annotated[
        bool, typer.Option("--example", help="Print a list to begin with, and what its columns say.")
    ] = False,
    part: Annotated[
        str, typer.Option(metavar="K/N", help="Make the K-th of N shares of the list only, for N machines or runs.")
    ] = "1/1",
    jobs: Annotated[
        int | None, typer.Option(min=1, max=64, help="Processes to use (default: the cores there are).")
    ] = None,
) -> None:
    """Make a folder for each keeper of a list: yard file (once), sheets, season page, calendar."""
    from ipmcal.enrolling import EXAMPLE_LIST, ClubOrder, share_of
    from ipmcal.publishing.publish import DOCUMENTS
    from ipmcal.reading.club.keepers import COLUMNS

    if example:
        print(EXAMPLE_LIST, end="")
        for name, what in COLUMNS.items():
            print(f"{name}: {what}", file=sys.stderr)
        return
    if list_ is None:
        _complain("roster", "needs the list of keepers; 'ipmcal roster --example' prints one to begin with")
    raise typer.Exit(_enrolled(ClubOrder(list_, out, _day(as_of), DOCUMENTS, jobs or _cores(), share_of(part))))


@app.command()
def options(
    path: Annotated[Path, typer.Argument(help="A yard file, or an outfit's folder.")],
    colony: Annotated[str | None, typer.Argument(help="A hive's key; all hives without it.")] = None,
    on: Annotated[str | None, typer.Option(metavar="DATE", help="The day on which the treatment would begin.")] = None,
    as_of: AsOf = None,
) -> None:
    """Say of every treatment what the rule files say to it in each hive: with every reason, and until when."""
    from ipmcal.loading import load_all, with_past
    from ipmcal.place.season import TooFar
    from ipmcal.planning.options import options_for as ask
    from ipmcal.saying.options import no_hive, option_lines

    today = _day(as_of)
    day = today if on is None else _day(on, "--on")
    with _trouble():
        loaded = with_past(load_all([path]), today)[0]
    try:
        found = list(ask(loaded.outfit, loaded.book, day, today, colony))
    except TooFar as error:
        _complain(path.name, str(error))
    if not found:
        _complain(path.name, no_hive(loaded.outfit, day, colony))
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
    words_: Annotated[
        bool, typer.Option("--words", help="Say which words are taken: of the journal, or of a sheet's lines.")
    ] = False,
    sure: Annotated[
        bool,
        typer.Option("--sure", help="The day is meant, though the sheet's work was due on others; a form is right."),
    ] = False,
    from_: Annotated[
        str | None,
        typer.Option("--from", metavar="FILE", help="Take a filled sheet (PDF) or messages; - is typed in."),
    ] = None,
    as_of: AsOf = None,
) -> None:
    """Write into the journal what was found and done: one event, a sheet's lines, or a sheet line by line."""
    from ipmcal.journaling.entering import Request, enter
    from ipmcal.journaling.messaging import Post
    from ipmcal.loading import load_all

    if from_ is not None:
        post, form = Post(path, _day(as_of), by, dry), Path(from_).suffix.lower() == ".pdf"
        _check_alone(form, bool(words or note), bool(on))
        raise typer.Exit(_filled(Path(from_), post, on, sure) if form else _taken(post, from_))
    if words_:
        _say_words(path, words[0] if words else "")
        return
    asks = sys.stdin.isatty()
    request = Request(str(path), tuple(words or ()), on, by, note, _day(as_of), dry, sure, asks)
    loaded = load_all([path])[0]
    with _trouble():
        enter(loaded, request, _asking(loaded.prefix + loaded.journal.name), typer.echo)


@app.command()
def why(
    path: Annotated[Path, typer.Argument(help="A yard file, or an outfit's folder.")],
    task: Annotated[
        str, typer.Argument(help="A task's id, its beginning or end; a visit: YARD/DATE; a yard; or a sheet's code.")
    ],
    line: Annotated[int | None, typer.Argument(help="The number of a line of the sheet with that code.")] = None,
    season: SeasonYear = None,
    as_of: AsOf = None,
) -> None:
    """Explain a task's days, with sources; what forced a visit; what one more weekday would save a yard."""
    from ipmcal.explaining import explain
    from ipmcal.loading import load_all, plans_of, with_past

    day = _day(as_of)
    with _trouble():
        loaded = with_past(load_all([path]), day)
    made = plans_of(loaded, day, season, _progress)[0]
    with _trouble():
        for said in explain(loaded[0], made, task, path.name, line):
            print(said)


@app.command()
def compare(
    path: Annotated[Path, typer.Argument(help="A yard file, or an outfit's folder.")],
    program: Annotated[
        list[str] | None, typer.Option("--program", metavar="NAME", help="A program; give it twice at least.")
    ] = None,
    data: Annotated[bool, typer.Option("--json", help="Print it as JSON.")] = False,
    out: Annotated[
        Path | None, typer.Option(help="Make a page with a picture of each, too; the outfit gets a folder in it.")
    ] = None,
    season: SeasonYear = None,
    as_of: AsOf = None,
) -> None:
    """Lay programs side by side: visits, courses, mites at winter bees, hives over the line now and in years."""
    from ipmcal.comparing import ComparingOrder, side_by_side
    from ipmcal.loading import load_all, with_past

    order = ComparingOrder(_day(as_of), season, tuple(program or ()), data, out)
    with _trouble():
        made = side_by_side(with_past(load_all([path]), order.day)[0], order, _progress)
    for line in made.lines:
        print(line)
    if made.no_pdf:
        print(made.no_pdf, file=sys.stderr)
    raise typer.Exit(NO_ENGINE if made.no_pdf else DONE)


@app.command()
def record(
    path: Annotated[Path, typer.Argument(help="A yard file, or an outfit's folder.")],
    year: Annotated[
        int | None,
        typer.Option(metavar="YEAR", min=FIRST_SEASON, max=LAST_SEASON, help="The calendar year (default: all years)."),
    ] = None,
    out: Annotated[Path, typer.Option(help="Folder for the record; the outfit gets a folder in it.")] = Path("out"),
    as_of: AsOf = None,
) -> None:
    """Make the record of treatments from the journal, as PDF, HTML and CSV."""
    from ipmcal.loading import load_all
    from ipmcal.model.values.words import counted
    from ipmcal.planning.record import make_record
    from ipmcal.publishing.record import publish_record

    day = _day(as_of)
    loaded = load_all([path])[0]
    made = make_record(loaded.outfit, loaded.book, day, year)
    with _trouble():
        done = publish_record(made, out / loaded.outfit.id)
    span = "all years" if year is None else str(year)
    count = counted(len(made.entries), "application")
    print(f"{made.outfit}: {count} in {span}. {', '.join(done.documents)} in {out / loaded.outfit.id}.")
    for line in made.contradictions:
        print(f"  to put right: {line}.")
    if done.no_pdf:
        print(done.no_pdf, file=sys.stderr)
    raise typer.Exit(NO_ENGINE if done.no_pdf else CONFLICTS if made.contradictions else DONE)


@app.command("publish")
def publish_pages(
    path: Annotated[Path, typer.Argument(help="A club's folder, or an outfit's folder of documents.")],
    to: Annotated[Path, typer.Option(help="Folder that a web host serves; nothing but ipmcal writes in it.")],
    address: Annotated[
        str, typer.Option(metavar="URL", help="The folder's address, https://...; pages then lead to the calendar.")
    ] = "",
    revoke: Annotated[
        str,
        typer.Option(metavar="KEEPER", help="Take a keeper's address back (their folder's name); they get another."),
    ] = "",
    as_of: AsOf = None,
) -> None:
    """Publish pages, calendars and PDFs, a keeper each under an address that nobody guesses."""
    from ipmcal.sharing import ShareOrder, share

    if address and not address.startswith(("https://", "http://")):
        _complain("--address", "begins with https:// (or http:// in one's own network)")
    with _trouble():
        done = share(ShareOrder(path, to, address, revoke, _day(as_of)))
    for folder, name in done.names.items():
        print(f"{folder}: {f'{address.rstrip(chr(47))}/' if address else ''}{name}/")
    print(f"{len(done.names)} published in {to}, {done.written} files written.")


@app.command()
def serve(
    folder: Annotated[Path, typer.Argument(help="A folder that ipmcal publish made.")],
    port: Annotated[int, typer.Option(min=0, max=65535, help="The port; 0 for any free one.")] = 8321,
    lan: Annotated[bool, typer.Option("--lan", help="For the same Wi-Fi too, not only for this machine.")] = False,
) -> None:
    """Serve a published folder, read-only, until stopped: what a web host would do, for a try or the same Wi-Fi."""
    from ipmcal.publishing.paper.ink.qr import screen_squares
    from ipmcal.serving import addresses, server

    if not folder.is_dir():
        _complain(folder.name, "is not a folder; ipmcal publish makes one")
    with _trouble(), server(folder, port, lan) as serving:
        pages = addresses(folder, serving.server_port, lan)
        if not pages:
            _complain(folder.name, "holds no pages; ipmcal publish makes them")
        for page in pages:
            print(page)
        if len(pages) == 1 and lan:
            print(screen_squares(pages[0]))
        print("Until stopped with Ctrl-C.", flush=True)
        serving.serve_forever()


@app.command()
def rules(
    files: Annotated[bool, typer.Option("--files", help="Also list each file, and when it was checked.")] = False,
) -> None:
    """Say what rules are shipped, when they were checked, from which sources, and how much is from memory."""
    from ipmcal.loading import shipped_rules
    from ipmcal.saying.inventory import inventory_lines

    for line in inventory_lines(shipped_rules(), files):
        print(line)


@app.command()
def schema(
    out: Annotated[Path, typer.Option(help="Folder for the JSON Schemas.")] = Path("schemas"),
) -> None:
    """Write the JSON Schemas of yard files, rule files and plan.json, for editors."""

    from ipmcal.model.schema import schema_texts
    from ipmcal.publishing.asdata.plan_json import schema_text
    from ipmcal.publishing.disk.atomic import write_all

    texts = schema_texts()
    texts["plan.json"] = schema_text()
    with _trouble():
        write_all({out / name: text.encode() for name, text in texts.items()})
    print(f"{len(texts)} schemas in {out}.")


# What the commands share ---------------------------------------------------------------------------------------------


def _day(text: str | None, option: str = "--as-of") -> int:
    """A date as keepers write it; without it the clock is read, here and nowhere else."""
    if text is None:
        return date.today().toordinal()
    from ipmcal.reading.source.dates import read_day

    try:
        return read_day(text)
    except ValueError as error:
        _complain(option, str(error))


def _span(text: str, option: str) -> int:
    """A stretch of time as keepers write it, in days: "4 weeks", "10 days"."""
    number, _, unit = text.strip().lower().partition(" ")
    days = {"day": 1, "days": 1, "week": 7, "weeks": 7}.get(unit.strip())
    if days is None or not (number.isascii() and number.isdigit()) or not 1 <= int(number[:4]) <= LONGEST_SPAN:
        _complain(option, "'4 weeks' or '10 days' is meant; for the whole year write --all")
    return int(number[:4]) * days


def _enrolled(order: ClubOrder) -> int:
    """Makes the keepers of a list, says so as it goes, and returns the exit code."""
    from ipmcal.enrolling import club_list, enrol, mentor_pages
    from ipmcal.model.values.words import counted
    from ipmcal.saying.club import roster_end, roster_words

    club = club_list(order)
    for complaint in club.complaints:
        print(complaint, file=sys.stderr)
    made, no_pdf = [], ""
    with _trouble():
        for one in enrol(club, order, _progress):
            for line in roster_words(one.head, one.lines):
                print(line, flush=True)
            for line in one.complaints:
                print(line, file=sys.stderr)
            made.append((bool(one.head), bool(one.complaints)))
            no_pdf = no_pdf or one.no_pdf
        told, no_page = mentor_pages(order)
    print(roster_end(made, len(club.complaints), club.others))
    print(f"The mentor's page of {counted(told, 'keeper')}: mentor.html, .pdf, .csv and .txt in {order.out}.")
    no_pdf = no_pdf or no_page
    if no_pdf:
        print(no_pdf, file=sys.stderr)
    wrong = bool(club.complaints) or any(failed for _, failed in made)
    return NO_ENGINE if no_pdf else CONFLICTS if wrong else DONE


def _check_alone(form: bool, more: bool, on: bool) -> None:
    """Whether nothing is said beside a file: it says all by itself, messages also the day."""
    if form and more:
        _complain("--from", "takes a filled sheet as it stands; leave out other words, and --note")
    if not form and (more or on):
        _complain("--from", "takes messages, which say the day themselves; leave out other words, --on and --note")


def _filled(source: Path, post: Post, on: str | None, sure: bool) -> int:
    """Takes a filled sheet into its journal, says what it says, and returns the exit code."""
    from ipmcal.journaling.filling import MAX_FORM, FilledForm, take_form
    from ipmcal.reading.entering.filled import read_filled
    from ipmcal.reading.source.files import read_bytes

    name, asks = source.name, sys.stdin.isatty()
    worked = None if on is None else _day(on, "--on")
    form = FilledForm(read_filled(read_bytes(source, name, MAX_FORM), name), name, post, worked, sure, asks)
    with _trouble():
        questions = take_form(form, _asking(name) if asks else _unasked(name), typer.echo)
    return CONFLICTS if questions else DONE


def _unasked(name: str) -> Callable[[str, str], str]:
    """What stands for an answer where nobody can be asked: nothing is written without a yes."""

    def ask(question: str, default: str) -> str:
        _complain(name, "nothing was written, since nobody is here to ask; if it is right, say it again with --sure")

    return ask


def _taken(post: Post, source: str) -> int:
    """Takes messages into journals, says what became of each, and returns the exit code."""
    from ipmcal.journaling.messaging import MAX_POST, take
    from ipmcal.reading.source.files import read_text
    from ipmcal.saying.club import answer_lines, post_end

    name = "what was typed in" if source == "-" else Path(source).name
    text = sys.stdin.read(MAX_POST) if source == "-" else read_text(Path(source), name, MAX_POST)
    counts = []
    with _trouble():
        for answer in take(text, name, post):
            for line in answer_lines(answer.who, answer.phone, answer.understood, answer.questions):
                print(line, flush=True)
            counts.append((answer.written, len(answer.questions)))
    print(post_end(counts))
    return CONFLICTS if any(asked for _, asked in counts) else DONE


def _asking(name: str) -> Callable[[str, str], str]:
    """A way to ask on the terminal; where the answers end early, ``name`` stands before the complaint."""

    def ask(question: str, default: str) -> str:
        try:
            answer: str = typer.prompt(question, default=default, show_default=bool(default))
        except (EOFError, typer.Abort):
            _complain(name, "the answers ended early; nothing was written")
        return answer

    return ask


def _say_words(path: Path, code: str) -> None:
    """Prints the words that are taken: of a sheet's lines, or of the journal."""
    from ipmcal.journaling.printed import known_sheet
    from ipmcal.loading import load_all
    from ipmcal.saying.wording import journal_words, sheet_words

    loaded = load_all([path])[0]
    with _trouble():
        said = sheet_words(known_sheet(loaded, code), loaded.book) if code else journal_words(loaded.book)
        for line in said:
            print(line)


def _cores() -> int:
    """How many cores this process may use."""
    import os

    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _kinds(text: str) -> list[str]:
    from ipmcal.model.values.text import nearest
    from ipmcal.publishing.publish import DOCUMENTS, ON_REQUEST

    known = (*DOCUMENTS, *ON_REQUEST)
    kinds = [word.strip() for word in text.split(",") if word.strip()]
    for kind in kinds:
        if kind not in known:
            _complain("--print", f"'{kind}' can't be printed{nearest(kind, list(known))}")
    return kinds


@contextmanager
def _trouble() -> Iterator[None]:
    """Trouble with the ledger or the disk, as a complaint."""
    from ipmcal.publishing.memory.ledger import LedgerError

    try:
        yield
    except LedgerError as error:
        _complain("ledger", str(error))
    except BrokenPipeError:
        raise
    except OSError as error:
        name = Path(str(error.filename or "out")).name
        _complain(name, f"can't be written: {(error.strerror or 'unknown error').lower()}")


def _complain(file: str, what: str) -> NoReturn:
    from ipmcal.reading.source.complaints import BadInput, Complaint

    raise BadInput([Complaint(file, 0, 0, what)])


@contextmanager
def _progress(what: str) -> Iterator[Callable[[int], None]]:
    """A spinner while something takes its time; nothing at all where nobody watches."""
    if not sys.stderr.isatty():
        yield lambda number: None
        return
    from rich.console import Console

    with Console(stderr=True).status(what) as status:
        yield lambda number: status.update(f"{what} ({number})") if number else None
