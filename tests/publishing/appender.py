"""A program that appends to a journal as fast as it can and is killed again and again; run by test_journalfile.py.

``appender.py JOURNAL TIMES SEED``: so many times a process is begun, and killed (SIGKILL) after a random while. Each
line whose append returned is then printed: the acknowledgement. The kills fall before, into and between appends.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from itertools import count
from pathlib import Path

from ipmcal.publishing.disk.journalfile import append_rows

LONGEST = 12
"""A process lives for at most so many appends, as long as one takes on this machine now: slow disks change nothing."""

LONGER = 1.3
"""By so much longer lives the process after one that was killed before its first append."""


def main(journal: Path, times: int, seed: str) -> None:
    """Begin, wait, kill; what was acknowledged goes through a pipe, which outlives its writer."""
    chance, least = random.Random(seed), LONGEST * one_append(journal.with_name(f"trial-{seed}.csv"))
    longest = least
    for generation in range(times):
        reader, writer = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reader)
            for number in count():
                append(journal, f"{seed}.{generation}.{number}", writer)
        os.close(writer)
        time.sleep(chance.uniform(0, longest))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status), "a child ended by itself"
        with os.fdopen(reader) as said:
            acknowledged = said.read()
        print(acknowledged, end="")
        # others may have come to work on this machine since the trial: who got nothing done lives longer next time
        longest = max(least, longest / LONGER) if acknowledged else longest * LONGER


def one_append(trial: Path) -> float:
    """Seconds that an append takes: the quickest of five."""
    taken = []
    for _ in range(5):
        begun = time.perf_counter()
        append_rows(trial, lambda text: [("2027-05-22", "home", "3", "note", "", "")])
        taken.append(time.perf_counter() - begun)
    return min(taken)


def append(journal: Path, note: str, writer: int) -> None:
    """One line, and its acknowledgement once it is on the disk."""
    append_rows(journal, lambda text: [("2027-05-22", "home", "3", "note", f'calm, "{note}"', note)])
    os.write(writer, f"{note}\n".encode())


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3])
