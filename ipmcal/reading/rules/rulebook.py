"""The rulebook: every rule file read, cross-checked, and frozen.

In: the shipped rules folder and, where there is one, a folder of the keeper's own. Its single files (sources, events,
planning ...) add to the shipped ones key by key (``laid.py``); a method, region or the like that has the name of a
shipped one replaces it whole. Out: a ``Rulebook``, or every complaint at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from ipmcal.model.rules.files import Biology, EventsFile, Hives, Jurisdiction, MarksFile, Planning, Region, SourcesFile
from ipmcal.model.rules.methods import Method, Program, Skill
from ipmcal.model.rules.mites import MitesFile
from ipmcal.model.rules.rulebook import Rulebook
from ipmcal.model.rules.thresholds import Counting, Thresholds
from ipmcal.model.rules.treatments import Treatment
from ipmcal.model.values.cited import Basis
from ipmcal.model.values.fields import IDENTIFIER, RuleFile
from ipmcal.model.values.text import nearest
from ipmcal.reading.rules.crosscheck import crosscheck
from ipmcal.reading.rules.laid import laid_over
from ipmcal.reading.rules.readbefore import read_rules, shape_rules
from ipmcal.reading.rules.treatmentcheck import whole_labels
from ipmcal.reading.source.complaints import BadInput, Complaint
from ipmcal.reading.source.files import bad, exists, is_folder, refuse_if_any, yaml_files
from ipmcal.reading.source.shape import shape
from ipmcal.reading.source.yaml_source import Tree

SINGLE: dict[str, type[RuleFile]] = {
    "marks": MarksFile, "events": EventsFile, "biology": Biology, "hives": Hives, "planning": Planning,
    "counting": Counting, "mites": MitesFile,
}  # fmt: skip
FOLDERS: dict[str, type[RuleFile]] = {
    "regions": Region, "methods": Method, "programs": Program, "jurisdictions": Jurisdiction,
    "thresholds": Thresholds, "treatments": Treatment, "skills": Skill,
}  # fmt: skip
KEEPER = "keeper"
"""The source of what a yard file says."""
SHIPPED = "rules"

R = TypeVar("R", bound=RuleFile)
Files = dict[str, tuple[Path, str]]
"""Rule files by key (``marks``, ``methods/mite_count``), each with its path and the name used in complaints."""


def load_rulebook(shipped: Path, local: Path | None = None, shown: str = "") -> Rulebook:
    """Every rule file below ``shipped``, with ``local`` laid over it. Raises BadInput.

    ``shown`` is the name that complaints use for ``local``; without it, the folder's own name.
    """
    found = ours = _files(shipped, SHIPPED)
    own: Files = {}
    complaints: list[Complaint] = []
    if local is not None:
        own = _own_files(local, shown or local.name, complaints)
        found = found | own
    trees = _trees(found, complaints)
    for key in own.keys() & ours.keys() & trees.keys() & {"sources", *SINGLE}:
        trees[key] = laid_over(read_rules(*ours[key]), trees[key])
    sources = _sources(trees, complaints)
    read = _shaped(trees, sources, complaints)
    if all(key in read for key in SINGLE):  # without these, every other file would seem to be wrong
        book = _book(sources, read, frozenset(own))
        complaints.extend(crosscheck(book, trees, found))
    refuse_if_any(complaints)
    return book


def holds_rules(path: Path) -> bool:
    """True for a folder of rules: it has a folder of one of their kinds, or one of their files. Raises BadInput."""
    inside, shown = {*FOLDERS, "sources.yaml", *(f"{name}.yaml" for name in SINGLE)}, path.name or str(path)
    if not is_folder(path, shown) or exists(path / "outfit.yaml", shown):
        return False
    return any(exists(path / name, shown) for name in inside)


def _files(root: Path, shown: str) -> Files:
    if not is_folder(root, shown):
        raise bad(shown, "is not a folder of rules")
    paths = [*yaml_files(root, "*", shown)[0], *yaml_files(root, "*/*", shown)[0]]
    relative = {p: p.relative_to(root) for p in paths}
    return {r.with_suffix("").as_posix(): (p, f"{shown}/{r.as_posix()}") for p, r in relative.items()}


def _own_files(root: Path, shown: str, complaints: list[Complaint]) -> Files:
    """The keeper's files: a name that would never be read is a complaint, not a silence."""
    found = _files(root, shown)
    for pattern in ("*", "*/*"):
        complaints.extend(yaml_files(root, pattern, shown)[1])
    for key, (_, name) in found.items():
        if not _known(key):
            complaints.append(Complaint(name, 0, 0, _unplaced(key)))
        elif not IDENTIFIER.fullmatch(key.rpartition("/")[2]):
            what = "its name is the rule's id: use small letters, digits and '_', begin with a letter"
            complaints.append(Complaint(name, 0, 0, what))
    return {key: file for key, file in found.items() if _known(key)}


def _known(key: str) -> bool:
    folder, slash, _ = key.partition("/")
    return folder in FOLDERS if slash else key in SINGLE or key == "sources"


def _unplaced(key: str) -> str:
    singles = [f"{name}.yaml" for name in ["sources", *SINGLE]]
    folder, slash, _ = key.partition("/")
    if slash:
        return f"there is no kind of rule '{folder}/'{nearest(folder, list(FOLDERS))}"
    return f"is not a rule file by its name{nearest(f'{key}.yaml', [*singles, *(f'{f}/NAME.yaml' for f in FOLDERS)])}"


def _trees(files: Files, complaints: list[Complaint]) -> dict[str, Tree]:
    trees: dict[str, Tree] = {}
    for key, (path, name) in files.items():
        try:
            trees[key] = read_rules(path, name)
        except BadInput as error:
            complaints.extend(error.complaints)
    missing = [key for key in ["sources", *SINGLE] if key not in files]
    complaints.extend(Complaint(f"{SHIPPED}/{key}.yaml", 0, 0, "is missing") for key in missing)
    return trees


def _sources(trees: Mapping[str, Tree], complaints: list[Complaint]) -> SourcesFile | Mapping[str, Basis]:
    """The bibliography comes first: without it, no citation can be read.

    Where it is not in order, the names in it still are enough to check the other files.
    """
    tree = trees.get("sources")
    if tree is None:
        return {}
    try:
        return shape(tree, SourcesFile)
    except BadInput as error:
        complaints.extend(error.complaints)
    names = tree.data.get("sources", {}) if isinstance(tree.data, dict) else {}
    return dict.fromkeys(names, Basis.READ) if isinstance(names, dict) else {}


def _bases(sources: SourcesFile | Mapping[str, Basis]) -> dict[str, Basis]:
    known = {k: s.basis for k, s in sources.sources.items()} if isinstance(sources, SourcesFile) else dict(sources)
    return {KEEPER: Basis.READ} | known


def _shaped(
    trees: Mapping[str, Tree], sources: SourcesFile | Mapping[str, Basis], complaints: list[Complaint]
) -> dict[str, RuleFile]:
    bases = frozenset(_bases(sources).items())
    read: dict[str, RuleFile] = {}
    if len(bases) == 1:  # no bibliography: every citation would seem to be wrong
        return read
    for key, tree in trees.items():
        model = SINGLE.get(key) or FOLDERS.get(key.partition("/")[0])
        if model is None:
            continue
        try:
            read[key] = shape_rules(tree, model, bases)
        except BadInput as error:
            complaints.extend(error.complaints)
    return read


def _book(sources: SourcesFile | Mapping[str, Basis], read: dict[str, RuleFile], own: frozenset[str]) -> Rulebook:
    def one(key: str, model: type[R]) -> R:
        value = read[key]
        assert isinstance(value, model)
        return value

    def many(folder: str) -> dict[str, Any]:
        return {key.partition("/")[2]: value for key, value in read.items() if key.startswith(folder + "/")}

    events = one("events", EventsFile)
    return Rulebook(
        sources=sources.sources if isinstance(sources, SourcesFile) else {},
        marks=one("marks", MarksFile).marks,
        events=events.events,
        findings=events.findings,
        circled=events.circled,
        tables=events.tables,
        groups=events.groups,
        biology=one("biology", Biology),
        hives=one("hives", Hives),
        planning=one("planning", Planning),
        counting=one("counting", Counting),
        mites=one("mites", MitesFile),
        regions=many("regions"),
        methods=many("methods"),
        programs=many("programs"),
        jurisdictions=_filled_in(many("jurisdictions")),
        thresholds=many("thresholds"),
        local=own,
        files=read,
        treatments={name: whole_labels(one) for name, one in many("treatments").items()},
        skills=many("skills"),
    )


def _filled_in(files: dict[str, Jurisdiction]) -> dict[str, Jurisdiction]:
    """Jurisdictions with what they leave out taken from the one they lie within, and so on outward."""

    def whole(name: str, inside: frozenset[str]) -> Jurisdiction:
        one = files[name]
        if one.within is None or one.within not in files or one.within in inside:
            return one
        outer = whole(one.within, inside | {one.within})
        left_out = {
            key
            for key in Jurisdiction.model_fields
            if key not in one.model_fields_set and key not in ("within", "cite")
        }
        return one.model_copy(update={key: getattr(outer, key) for key in left_out})

    return {name: whole(name, frozenset({name})) for name in files}
