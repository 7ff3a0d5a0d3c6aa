"""The command line: its commands and their arguments, nothing else. What is heavy is imported inside the command."""

from __future__ import annotations

import sys
from io import TextIOWrapper
from pathlib import Path
from typing import Annotated

import typer

from ipmcal.terminal.arguments import cores, typed_day, typed_kinds, typed_span
from ipmcal.terminal.ending import (
    BAD_INPUT,
    CONFLICTS,
    DONE,
    NO_ENGINE,
    OUR_FAULT,
    complain,
    our_fault,
    progress,
    trouble,
)

FIRST_SEASON, LAST_SEASON = 1901, 2198
"""Seasons whose days, and those a year before and behind, are dates that may be written."""

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
        print(our_fault(error), file=sys.stderr)
        sys.exit(OUR_FAULT)


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

    ahead = None if all_ else typed_span(next_, "--next")
    order = MakingOrder(typed_day(as_of), season, out, typed_kinds(print_), ahead=ahead, changed=changed)
    code = DONE
    with trouble():
        for made in make(load_all(paths), order, progress):
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
    with trouble():
        for line, in_conflict in check_paths(paths, typed_day(as_of), season, progress):
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
    from ipmcal.terminal.asking import asking

    if exists(path, path.name):
        complain(path.name, "is there already; give the new yard another file name")
    if path.suffix != ".yaml":
        complain(path.name, "a yard file's name ends in '.yaml'")
    with trouble():
        begin(path, asking(path.name), typer.echo)


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

    day = typed_day(as_of)
    with trouble():
        loaded = with_past(load_all([folder for path in paths for folder in outfits_in(path)]), day)
    plans = plans_of(loaded, day, season, progress)
    words = [frozenset(w for w, rule in one.book.events.items() if rule.value == "count") for one in loaded]
    if roster:
        for line in roster_lines(plans, frozenset().union(*words)):
            print(line)
    elif dates:
        from ipmcal.publishing.memory.ledger import read_ledger
        from ipmcal.publishing.paper.dates import codes_known
        from ipmcal.saying.dates import date_lines

        with trouble():
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
    from ipmcal.terminal.rolling import enrolled

    if example:
        print(EXAMPLE_LIST, end="")
        for name, what in COLUMNS.items():
            print(f"{name}: {what}", file=sys.stderr)
        return
    if list_ is None:
        complain("roster", "needs the list of keepers; 'ipmcal roster --example' prints one to begin with")
    raise typer.Exit(enrolled(ClubOrder(list_, out, typed_day(as_of), DOCUMENTS, jobs or cores(), share_of(part))))


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

    today = typed_day(as_of)
    day = today if on is None else typed_day(on, "--on")
    with trouble():
        loaded = with_past(load_all([path]), today)[0]
    try:
        found = list(ask(loaded.outfit, loaded.book, day, today, colony))
    except TooFar as error:
        complain(path.name, str(error))
    if not found:
        complain(path.name, no_hive(loaded.outfit, day, colony))
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
    from ipmcal.terminal.asking import asking
    from ipmcal.terminal.talking import say_words, take_from

    if from_ is not None:
        more = bool(words or note)
        raise typer.Exit(take_from(from_, Post(path, typed_day(as_of), by, dry), on, more=more, sure=sure))
    if words_:
        say_words(path, words[0] if words else "")
        return
    request = Request(str(path), tuple(words or ()), on, by, note, typed_day(as_of), dry, sure, sys.stdin.isatty())
    loaded = load_all([path])[0]
    with trouble():
        enter(loaded, request, asking(loaded.prefix + loaded.journal.name), typer.echo)


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

    day = typed_day(as_of)
    with trouble():
        loaded = with_past(load_all([path]), day)
    made = plans_of(loaded, day, season, progress)[0]
    with trouble():
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

    order = ComparingOrder(typed_day(as_of), season, tuple(program or ()), data, out)
    with trouble():
        made = side_by_side(with_past(load_all([path]), order.day)[0], order, progress)
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

    day = typed_day(as_of)
    loaded = load_all([path])[0]
    made = make_record(loaded.outfit, loaded.book, day, year)
    with trouble():
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
        complain("--address", "begins with https:// (or http:// in one's own network)")
    with trouble():
        done = share(ShareOrder(path, to, address, revoke, typed_day(as_of)))
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
        complain(folder.name, "is not a folder; ipmcal publish makes one")
    with trouble(), server(folder, port, lan) as serving:
        pages = addresses(folder, serving.server_port, lan)
        if not pages:
            complain(folder.name, "holds no pages; ipmcal publish makes them")
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
    with trouble():
        write_all({out / name: text.encode() for name, text in texts.items()})
    print(f"{len(texts)} schemas in {out}.")
