"""The calendar feed: one calendar a yard and one for all, as iCalendar (RFC 5545, RFC 7986).

In: a Plan and the Ledger. Out: the bytes of the ``.ics`` files, and the Ledger that knows what stands in them.

What a subscriber sees: an all-day event for each visit, one for each last good day of a yard, and, in yards that can be
visited on any day, one over the days within which a visit could be moved, where they are few. Alarms stand in what is
still to come, where the keeper wants them; many clients drop them in feeds, so deadlines are events all the same. No
METHOD: with it DTSTAMP would mean something else, and a server would have to repeat it.

Who is who: a UID is uuid5 of the outfit's namespace (itself uuid5 of ``NAMESPACE``, the outfit's id and birth) and a
task id.
A visit, or tasks with one last good day, have no identity of their own: they keep the UID of what was last published
that shares most tasks with them.

What changed: SEQUENCE rises by one when a date changes (RFC 5546 2.1.4), not for wording. DTSTAMP and LAST-MODIFIED
are the instant of the last change of content. There is no clock here: that instant is midnight UTC at the beginning
of the plan's ``as_of`` day, or a second after the entry's last stamp where that is later.

What goes: an entry that the plan no longer has is left out, unless its day is past: then it stays as it was, for two
years. What was taken out keeps its sequence in the ledger, in case it comes back.
"""
