"""Options in words: every treatment for the colonies of a yard, with every reason, its source, and when it falls away.

In: ``Options``, the bibliography. Out: lines of text. It says what a rule file of a date says, and no more than that.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from ipmcal.model.outfit.outfit import Outfit
from ipmcal.model.plan.verdict import Allowed, Limited, Options, Verdict
from ipmcal.model.rules.files import Source
from ipmcal.model.values.cited import Basis, Citation
from ipmcal.model.values.days import day as date_of
from ipmcal.model.values.words import full_day, hives, joined, short_day, shortened

BASIS = {
    Basis.READ: "read",
    Basis.SECOND: "read second-hand",
    Basis.DERIVED: "derived",
    Basis.PRACTICE: "common practice",
    Basis.MEMORY: "from memory: check your label",
    Basis.ASSUMPTION: "assumed",
}
"""How sure a figure is, as printed."""
VERDICTS = (Allowed.ALLOWED, Allowed.ADVISED_AGAINST, Allowed.FORBIDDEN)
_LONGEST = 90


def no_hive(outfit: Outfit, day: int, colony: str | None) -> str:
    """Why nothing can be said of a hive (of any, without ``colony``) on a day: it begins later, or there is none."""
    every = [one for yard in outfit.yards for one in yard.colonies if colony in (None, one.key)]
    later = [f"{one.key} begins on {full_day(one.began)}" for one in every if one.began > day]
    if later:
        return f"no hive stands there on {full_day(day)}: {joined(later)}; ask with '--on' for a day from then on"
    return f"there is no hive '{colony}' in it" if colony else "there is no hive in it"


def option_lines(options: Options, sources: Mapping[str, Source]) -> Iterator[str]:
    """A yard's treatments: allowed ones first; colonies with the same verdict together; those without a label last."""
    yield f"{options.yard}, begun on {short_day(options.day)} {date_of(options.day).year}: what the rule files say"
    groups, missing = _grouped(options)
    for word in VERDICTS:
        for verdict, keys in groups:
            if verdict.verdict is word:
                yield f"  {word}: {options.titles[verdict.treatment]}: {_who(keys, options)}"
                yield from _lines(verdict, options, sources)
    if missing:
        dates = {options.checked[name] for name in missing}
        when = joined(map(full_day, sorted(dates)))
        yield f"  forbidden: no label in the rule file for {options.jurisdiction}, checked {when}:"
        yield f"    {'; '.join(options.titles[name] for name in missing)}"


def _grouped(options: Options) -> tuple[list[tuple[Verdict, list[str]]], list[str]]:
    """Equal verdicts with the colonies that they are for; and the treatments without any label."""
    groups: list[tuple[Verdict, list[str]]] = []
    missing: list[str] = []
    for key, verdicts in options.verdicts.items():
        for verdict in verdicts:
            if not verdict.holder:
                if verdict.treatment not in missing:
                    missing.append(verdict.treatment)
                continue
            keys = next((keys for other, keys in groups if other == verdict), None)
            if keys is None:
                groups.append((verdict, [key]))
            else:
                keys.append(key)
    place = {name: i for i, name in enumerate(options.titles)}
    groups.sort(key=lambda group: place[group[0].treatment])
    return groups, missing


def _who(keys: Sequence[str], options: Options) -> str:
    everyone = list(options.verdicts)
    return hives(keys, everyone) if len(everyone) > 1 else keys[0]


def _lines(verdict: Verdict, options: Options, sources: Mapping[str, Source]) -> Iterator[str]:
    for reason in verdict.reasons:
        yield f"    {'advice: ' if reason.advice else ''}{reason_words(reason)}{until_words(reason)}"
        yield f"      {source_words(reason.cites, sources)}" if reason.cites else "      what you wrote"
    if verdict.verdict is not Allowed.FORBIDDEN:
        for one in verdict.conditions:
            yield f"    on the day: {reason_words(one)}"
    for remark in verdict.remarks:
        yield f"    {remark}"


def reason_words(reason: Limited) -> str:
    """A reason in words: the label's own, what is known, what it is for."""
    why = f" ({reason.why})" if reason.why and reason.why != reason.known else ""
    parts = [part for part in (reason.says, reason.known) if part]
    return f"{reason.limit.replace('_', ' ')}: {': '.join(parts)}{why}"


def until_words(reason: Limited) -> str:
    """When a reason falls away; "" for one that the keeper mends or looks at."""
    if reason.by_hand or reason.look:
        return ""
    if reason.limit == "supers" and reason.until is not None and not reason.stays:
        return f"; falls away on {short_day(reason.until)} {date_of(reason.until).year}, or once no super is on"
    if reason.until is None:
        return "; no day is known on which that falls away"
    return f"; falls away on {short_day(reason.until)} {date_of(reason.until).year}"


def source_words(cites: Sequence[Citation], sources: Mapping[str, Source]) -> str:
    """Sources with author, year and title, each with how sure the figure is."""
    parts = []
    for cite in cites:
        source = sources.get(cite.source)
        title = f"{source.author}{f' {source.year}' if source.year else ''}, {source.title}" if source else cite.source
        locus = f", {cite.locus}" if cite.locus else ""
        parts.append(f"{shortened(title, _LONGEST)}{locus} [{BASIS[cite.basis]}]")
    return "; ".join(parts)
