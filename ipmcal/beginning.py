"""What ``ipmcal new`` does: asks about a yard, and writes its file; a second yard joins the first one's outfit.

In: the file to write, ways to ask and to say. Out: the yard file; ``outfit.yaml`` where two yards become one outfit.
"""

from __future__ import annotations

from pathlib import Path

from ipmcal.loading import load_all, shipped_rules
from ipmcal.model.values.text import one_line
from ipmcal.publishing.disk.atomic import write_all
from ipmcal.reading.source.prompt import Prompt, Say
from ipmcal.reading.yards.interview import interview
from ipmcal.reading.yards.newyard import together_text, yard_text

OUTFIT = "outfit.yaml"


def begin(path: Path, ask: Prompt, say: Say) -> None:
    """Asks, and writes the file or files, all or none. Raises BadInput, OSError, and what ``ask`` raises."""
    book = shipped_rules()
    texts: dict[Path, str] = {}
    keys, joined = _beside(path, ask, say, texts)
    yard = interview(ask, say, book, keys)
    texts[path] = yard_text(yard, book, path.name)
    write_all({file: text.encode() for file, text in texts.items()})
    target = path.parent if joined else path
    say(f"{path} is written. Next: ipmcal plan {target if str(target) != '.' else './'}")


def _beside(path: Path, ask: Prompt, say: Say, texts: dict[Path, str]) -> tuple[frozenset[str], bool]:
    """The keys of the hives of the outfit that the yard joins, and whether it does; asks where that is not settled."""
    here = path.parent
    others = sorted(p for p in here.glob("*.yaml") if p.name != OUTFIT and p.is_file()) if here.is_dir() else []
    if not others:
        return frozenset(), False
    if not (here / OUTFIT).exists():
        names = ", ".join(p.name for p in others)
        if ask(f"Does it belong together with {names}, one keeper, one plan (y or n)?", "n").lower()[:1] != "y":
            return frozenset(), False
        kept = [p.name for one in others for p in here.glob(f"{one.stem}.*") if p != one]
        if kept:
            say(f"  {_there(kept)}, made for a lone yard: they stay two plans")
            return frozenset(), False
        name = one_line(ask("What do you call all your yards together?", here.resolve().name).strip() or "Yards")
        texts[here / OUTFIT] = together_text(name)
        loaded = [one for file in others for one in load_all([file])]
    else:
        loaded = list(load_all([here]))
    return frozenset(c.key for one in loaded for y in one.outfit.yards for c in y.colonies), True


def _there(names: list[str]) -> str:
    return f"{', '.join(sorted(names))} {'is' if len(names) == 1 else 'are'} there"
