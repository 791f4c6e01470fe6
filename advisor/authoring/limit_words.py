"""A handbook's rule of thumb in plain language."""

from __future__ import annotations

from advisor.sheets.rule_of_thumb import LimitSize, RuleOfThumb
from advisor.sheets.vocabulary import VocabularyFile
from advisor.verdicts.words import plain, short_label


def limit_words(limit: RuleOfThumb, vocabulary: VocabularyFile) -> str:
    """A limit as a sentence: of what, for what, how it follows from the part, for which sizes it serves."""
    kind = short_label(vocabulary.kinds[limit.part].label)
    sides = [
        f"{side} {_size(size)}"
        for side, size in (("at least", limit.at_least), ("at most", limit.at_most))
        if size is not None
    ]
    text = (
        f"{kind[:1].upper()}{kind[1:]}, {vocabulary.dimensions[limit.dimension].label}, for {limit.purpose}: "
    )
    text += " and ".join(sides)
    if limit.band is not None:
        over = f"over {limit.over.text}" if limit.over is not None else ""
        up_to = f"up to {limit.up_to.text}" if limit.up_to is not None else ""
        text += f", where {plain(limit.band)} is {' and '.join(filter(None, (over, up_to)))}"
    return f"{text}."


def _size(size: LimitSize) -> str:
    parts = []
    if size.from_ is not None:
        times = "" if size.times == 1 else f"{size.times:f} times "
        parts.append(f"{times}the maker's limit for {size.from_}")
    if size.ratio is not None:
        parts.append(f"{size.ratio:f} times {plain(size.size or '')} when new")
    if size.plus is not None:
        parts.append(size.plus.text)
    return " and ".join(parts[:1]) + "".join(f" plus {each}" for each in parts[1:])
