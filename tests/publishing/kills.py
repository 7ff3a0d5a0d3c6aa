"""Publishing a changed plan is killed at random moments, and once more between any two renames; then it runs again.

``python tests/publishing/kills.py TIMES [SEED]`` kills so often and says what was found (sources and ``tests`` have to
be on the path); the tests kill a few times. PDFs are stood in for by bytes that hang on their page alone: what is tried
is the order in which files change on the disk. POSIX only.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from planning.yards import SAT, SUN, colony, on, outfit, rules, short, yard

from ipmcal.model.plan.plan import Plan
from ipmcal.planning.plan import make_plan
from ipmcal.publishing import publish as publishing
from ipmcal.publishing.memory.ledger import read_ledger
from ipmcal.publishing.places import ANSWERS, DATES, INDEX, PRINT_JOB, SEASONS

PAUSE = 0.002
"""Seconds that a PDF takes here, so that kills fall into the time in which they are made, too."""


def plans() -> tuple[Plan, Plan]:
    """A plan, and the plan of the same yard a week later, with another weekday and a hive less."""
    hives = [colony("1", traps=[short()]), colony("2"), colony("3")]
    first = make_plan(outfit(yard(*hives, weekdays=(SAT,))), rules(), on("05-01"))
    then = make_plan(outfit(yard(*hives[:2], weekdays=(SUN,))), rules(), on("05-08"))
    return first, then


def taken_back() -> Plan:
    """The plan of the yard as it was at first, on the day of the other plan."""
    hives = [colony("1", traps=[short()]), colony("2"), colony("3")]
    return make_plan(outfit(yard(*hives, weekdays=(SAT,))), rules(), on("05-08"))


def slow_pdfs(pages: Sequence[str]) -> list[bytes]:
    """Stand-ins for PDFs."""
    time.sleep(PAUSE * len(pages))
    return [f"%PDF of {page}".encode() for page in pages]


def slow_job(pages: Sequence[str], job: Sequence[str], cover: str) -> tuple[list[bytes], bytes]:
    """Stand-ins for PDFs, and for the one of all."""
    return slow_pdfs(pages), b"".join(slow_pdfs(job))


def publish(plan: Plan, folder: Path) -> None:
    """What ``ipmcal plan`` does once a plan is made."""
    publishing.render_job = slow_job
    publishing.engine = lambda: None
    ledger = folder / "ledger.json"
    publishing.publish(plan, read_ledger(ledger, plan.outfit), ledger, folder / "out")


def tree(folder: Path) -> dict[str, bytes]:
    """All files with their content."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def killed(work: Callable[[], None], after: float | None, change: int | None) -> bool:
    """Run in a process of its own, and kill it ``after`` seconds, or at its ``change``-th rename or removal of a file.

    True where it was killed, False where it was done before.
    """
    child = os.fork()
    if child == 0:
        if change is not None:
            _die_at(change)
        work()
        os._exit(0)
    if after is not None:
        time.sleep(after)
        os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


def _die_at(change: int) -> None:
    left = [change]

    def counted(real: Callable[..., None]) -> Callable[..., None]:
        def call(*args: object, **more: object) -> None:
            left[0] -= 1
            if left[0] < 0:
                os.kill(os.getpid(), signal.SIGKILL)
            real(*args, **more)

        return call

    os.replace = counted(os.replace)
    os.unlink = counted(os.unlink)


def trial(times: int, seed: int, place: Path) -> tuple[int, list[str]]:
    """How many of so many runs were killed under way, and which ended otherwise than an undisturbed run."""
    chance = random.Random(seed)
    first, then = plans()
    back = taken_back()
    publish(first, place / "before")
    shutil.copytree(place / "before", place / "calm")
    begun = time.perf_counter()
    publish(then, place / "calm")
    long, calm = time.perf_counter() - begun, tree(place / "calm")
    changes = sum(1 for name in {*calm} | {*tree(place / "before")} if calm.get(name) != _read(place / "before" / name))
    under_way, wrong = 0, []
    for number in range(times):
        here = place / f"run-{number}"
        shutil.copytree(place / "before", here)
        after = chance.uniform(0, 1.2 * long) if number % 2 else None
        change = None if number % 2 else chance.randrange(changes)
        under_way += killed(lambda here=here: publish(then, here), after, change)  # type: ignore[misc]
        if number % 3 == 0:  # the change is taken back: what was made half-way must not be taken for what is wanted
            publish(back, here)
        publish(then, here)
        found = tree(here)
        if number % 3 == 0:
            found, wanted = ({n: c for n, c in some.items() if n.endswith(".pdf")} for some in (found, calm))
            wrong += [f"{number}: {name}" for name in found if _another(name, found, wanted)]
            wrong += [f"{number}: {p.name}" for p in here.glob("out/**/*.html") if _stale(p)]
        else:
            wrong += [f"{number}: {name}" for name in {*found, *calm} if found.get(name) != calm.get(name)]
        shutil.rmtree(here)
    return under_way, wrong


def _another(name: str, found: dict[str, bytes], wanted: dict[str, bytes]) -> bool:
    """True where a file is not as it should be; what names sheets by codes given out twice is only held against the
    pages beside it."""
    if name == f"out/{PRINT_JOB}":
        return not found[name].startswith(found[f"out/{DATES}.pdf"])
    coded = name == f"out/{DATES}.pdf" or name.startswith(f"out/{SEASONS}/")
    return name in wanted and not coded and found[name] != wanted[name]


def _read(path: Path) -> bytes | None:
    return path.read_bytes() if path.exists() else None


def _stale(page: Path) -> bool:
    """True where the PDF beside a page was made from another."""
    if page.name == INDEX or page.parent.name == ANSWERS:
        return False
    return slow_pdfs([page.read_text()]) != [page.with_suffix(".pdf").read_bytes()]


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        runs, seed = int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 1
        caught, bad = trial(runs, seed, Path(folder))
        print(f"{runs} runs, {caught} killed under way, {len(bad)} files torn or stale")
        for line in bad[:20]:
            print(f"  {line}")
        sys.exit(1 if bad else 0)
