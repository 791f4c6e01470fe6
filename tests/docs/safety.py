"""The cautions as a chapter of docs/safety.md; `python -m tests.docs.safety` writes it anew."""

from __future__ import annotations

from collections import defaultdict
from typing import Final

from advisor.files import load_rules
from advisor.sheets.ruleset import RuleSet
from tests.docs.source import ROOT

PAGE: Final = ROOT / "docs" / "safety.md"
BEGIN: Final = "<!-- cautions: written from the rule set by `python -m tests.docs.safety` -->"
END: Final = "<!-- end of the cautions -->"


def chapter(rules: RuleSet) -> str:
    """Every caution: what it says, whose rule governs, where it was read, and where the program shows it."""
    shown = _shown(rules)
    lines: list[str] = []
    for key, caution in rules.cautions.items():
        lines += [f"### {key.replace('_', ' ').capitalize()}", "", caution.says, ""]
        lines += [f"**Whose rule governs:** {caution.governs}", ""]
        told = []
        for cite in caution.cite:
            entry = rules.sources[cite.source]
            where = ", ".join(filter(None, (entry.publisher, entry.number, cite.where)))
            strength = "" if entry.tier == "memory" else f"; {entry.tier}"
            told.append(f"{entry.title}{f' ({where})' if where else ''}{strength}")
        lines += [f"*Read in:* {'. '.join(told)}.", ""]
        lines += [f"*Shown with:* {'; '.join(shown[key]) or 'nothing yet'}.", ""]
    return "\n".join(lines).strip()


def _shown(rules: RuleSet) -> dict[str, list[str]]:
    """By caution: the parts, work, tasks and rules that carry it, in words."""
    vocabulary = rules.vocabulary
    found: dict[str, list[str]] = defaultdict(list)
    for entries in (vocabulary.kinds, vocabulary.operations, vocabulary.tasks):
        for entry in entries.values():
            for key in entry.cautions:
                found[key].append(entry.label.rstrip("."))
    for rule in rules.rules:
        for key in rule.cautions:
            found[key].append(f"rule `{rule.id}`")
    return found


def page(text: str, rules: RuleSet) -> str:
    """The page with its chapter written anew. Raises `ValueError` where its marks are missing."""
    before, _, rest = text.partition(BEGIN)
    _, mark, after = rest.partition(END)
    if not mark:
        raise ValueError(f"{PAGE.name} lacks the lines {BEGIN} and {END}")
    return f"{before}{BEGIN}\n\n{chapter(rules)}\n\n{END}{after}"


def main() -> None:
    """Write the chapter into the page."""
    PAGE.write_text(page(PAGE.read_text("utf-8"), load_rules()), encoding="utf-8")


if __name__ == "__main__":
    main()
