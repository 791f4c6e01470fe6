"""House rules in words: at the head of a decision, and as a list of what a house changed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from advisor.reports.paper import Paper
from advisor.schema import sentence
from advisor.sheets.house_record import ChangeKind, HouseChange, HouseLayer

HEADINGS: Final[dict[ChangeKind, str]] = {
    "limit changed": "Limits",
    "rule retired": "Rules retired",
    "alternative followed": "Other sources followed",
    "probabilities changed": "How sure one must be",
    "instrument changed": "Instruments by their certificates",
    "rules added": "Rules and limits added",
    "words added": "Words added",
}
"""What changes of each kind are told under, in the order in which they are told."""


def house_lines(layers: Sequence[HouseLayer], paper: Paper) -> Iterator[str]:
    """The house rules that a decision rests on: what they are, and all that is, or may be, milder by them."""
    for layer in layers:
        yield from paper.wrap(
            f"With the house rules {layer.name} {layer.version} ({layer.title}): {layer.counted}."
        )
        if layer.drift:
            yield from map(paper.strong, paper.wrap(f"Go through the house rules again: {layer.drift}."))
    looser = [change for layer in layers for change in layer.looser]
    for grave, title in (
        (True, "MILDER THAN THE BASE WHERE A MISTAKE IS GRAVEST, BY DECISION OF THE HOUSE"),
        (False, "MILDER THAN THE BASE, BY DECISION OF THE HOUSE"),
    ):
        some = [change for change in looser if change.grave is grave]
        if some:
            yield ""
            yield from paper.heading(title)
            for harm in dict.fromkeys(change.harm for change in some):
                if harm:
                    yield from map(paper.strong if grave else str, paper.wrap(sentence(harm), 2))
                for change in some:
                    if change.harm == harm:
                        yield from change_lines(change, paper, 2)


def change_lines(change: HouseChange, paper: Paper, indent: int) -> Iterator[str]:
    """One change, and who decided it."""
    says = change.says[:1].upper() + change.says[1:]
    yield from paper.wrap(f"{sentence(says)} Decided {sentence(change.signed)}", indent, mark="- ")
