"""A club's list made into folders, said as it goes."""

from __future__ import annotations

import sys

from ipmcal.enrolling import ClubOrder
from ipmcal.terminal.ending import CONFLICTS, DONE, NO_ENGINE, progress, trouble


def enrolled(order: ClubOrder) -> int:
    """Makes the keepers of a list, says so as it goes, and returns the exit code."""
    from ipmcal.enrolling import club_list, enrol, mentor_pages
    from ipmcal.model.values.words import counted
    from ipmcal.saying.club import roster_end, roster_words

    club = club_list(order)
    for complaint in club.complaints:
        print(complaint, file=sys.stderr)
    made, no_pdf = [], ""
    with trouble():
        for one in enrol(club, order, progress):
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
