"""The evidence and the sources of a verdict in words, for one place or for several alike."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.reports.alike import Alike
from advisor.schema import sentence
from advisor.sheets.place_words import places
from advisor.verdicts.model import Citation, EvidenceLine, TaskToDo, Verdict
from advisor.verdicts.words import short_label

_MOMENTS = {
    "running": "seen while it ran",
    "strip": "seen at strip",
    "after machining": "seen after machining",
}


def item_words(label: str, place: str, tag: str = "") -> str:
    """An item in passing: the label of its kind, its place, and its tag where it has one."""
    return f"{short_label(label)} {place}".strip() + (f" (tag {tag})" if tag else "")


def cited(cite: Citation) -> str:
    """A source with the place in it, and how strong it is where it is not an official one."""
    title, tier = _source(cite)
    return f"{title}, {cite.at}{tier}" if cite.at else f"{title}{tier}"


def source_words(cite: Citation) -> str:
    """A source by itself, and how strong it is where it is not an official one."""
    return "".join(_source(cite))


def _source(cite: Citation) -> tuple[str, str]:
    # The title of what nobody read already says so.
    plain_title = cite.tier.startswith("official") or cite.tier == "memory"
    return cite.title, "" if plain_title else f" ({cite.tier})"


def sources(cites: Iterable[Citation]) -> str:
    """Several sources in a row, each once."""
    return "; ".join(dict.fromkeys(cited(cite) for cite in cites))


def evidence_words(line: EvidenceLine, *, of: Verdict | None) -> str:
    """One piece of evidence with its margin and where its limit comes from; named unless it is about `of`."""
    own = of is not None and _own(line, of)
    says = f"origin: {line.says}" if line.kind == "origin" else line.says
    text = says if own else f"{item_words(line.label, line.place, line.tag)}: {says}"
    return "; ".join(filter(None, (text, line.margin, *_after(line))))


def _after(line: EvidenceLine) -> tuple[str, str]:
    return (f"limit from {line.limit_from}" if line.limit_from else "", _MOMENTS.get(line.moment, ""))


def _own(line: EvidenceLine, verdict: Verdict) -> bool:
    return (line.part, line.place, line.tag) == (verdict.part, verdict.place, verdict.tag)


def evidence_of(group: Alike, reason: int) -> list[str]:
    """The evidence of one of a group's reasons, each piece once.

    What differs from place to place is told with its places: sizes against one limit in a row, as in a
    table of tolerances.
    """
    found: dict[tuple[str, str], dict[str, list[str]]] = {}
    """By what the lines share: the words that differ, with the places where they hold."""
    for verdict in group.verdicts:
        for line in verdict.reasons[reason].evidence:
            head, differs, tail = _parted(line, verdict)
            found.setdefault((head, tail), {}).setdefault(differs, []).append(verdict.place)
    every = len({verdict.place for verdict in group.verdicts})
    told = []
    for (head, tail), each in found.items():
        if len(each) == 1:
            ((differs, where),) = each.items()
            shown = " ".join(filter(None, (head, differs))) + tail
            told.append(shown if len(set(where)) == every else f"{places(where)}: {shown}")
        else:
            row = ", ".join(f"{differs} at {places(where)}" for differs, where in each.items())
            told.append(f"{head}: {row}{tail}")
    return told


def _parted(line: EvidenceLine, verdict: Verdict) -> tuple[str, str, str]:
    """A line of evidence as what it is about, the size found, and how that stands."""
    if line.kind == "dimension" and line.value and line.says.count(f" {line.value}, ") == 1:
        head, _, tail = line.says.partition(f" {line.value}, ")
        if not _own(line, verdict):
            head = f"{item_words(line.label, line.place, line.tag)}: {head}"
        size = f"{line.value} ({line.margin})" if line.margin else line.value
        return head, size, "; ".join(filter(None, (f", {tail}", *_after(line))))
    return evidence_words(line, of=verdict), "", ""


def task_words(tasks: Iterable[TaskToDo]) -> list[str]:
    """Each task once, with all the reasons for it."""
    found: dict[str, dict[str, None]] = {}
    for task in tasks:
        found.setdefault(task.says, {})[task.because] = None
    return [" ".join((sentence(says), *map(sentence, reasons))) for says, reasons in found.items()]
