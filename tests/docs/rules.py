"""The pages of the rules and the bibliography; `python -m tests.docs.rules` writes them anew."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Final

from advisor.authoring.bibliography import bibliography
from advisor.authoring.rule_pages import INDEX, RulePages
from tests.docs.source import ROOT

DOCS: Final = ROOT / "docs"
RULESETS: Final = ("engine", "gearbox")
TABLES: Final = {"engine": "../../handbook-table.md"}
BIBLIOGRAPHY: Final = "../../bibliography.md"

_ABOUT: Final = """# Bibliography

Every source that a rule, a limit, a kind of work, a caution or an instrument cites, and what cites it.
This page is made from the rule sets; what the words for the strength of a source mean stands in
[the files of a rule set](rule-set-files.md#sources).
Nothing is cited that nobody opened, save as *common practice, from memory*, which says so.
"""

_OVER_ALL: Final = """# Every rule, in words

Made from the rule sets, one section for each rule: what it is for, when it fires, what follows, why, where
that was read, and examples on which it fires and holds off.
"""


@cache
def of(name: str) -> RulePages:
    """The pages of one rule set."""
    return RulePages.of(ROOT / "rulesets" / name, BIBLIOGRAPHY, TABLES.get(name, ""))


def pages() -> dict[Path, str]:
    """Every page by its file."""
    chapters = (bibliography(of(name), f"rules/{name}") for name in RULESETS)
    links = (
        f"- [{of(name).ruleset.title}]({name}/{INDEX}): {len(of(name).ruleset.rules)} rules"
        for name in RULESETS
    )
    sources = "[The bibliography](../bibliography.md) has every source."
    found = {
        DOCS / "bibliography.md": "\n".join((_ABOUT, *chapters)),
        DOCS / "rules" / INDEX: "\n".join((_OVER_ALL, *links, "", sources, "")),
    }
    for name in RULESETS:
        found |= {DOCS / "rules" / name / page: text for page, text in of(name).pages().items()}
    return found


def stray() -> list[Path]:
    """Pages that no rule set has any more."""
    return sorted(set((DOCS / "rules").rglob("*.md")) - set(pages()))


def main() -> None:
    """Write every page, and take away those of files that are gone."""
    for path, text in pages().items():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    for path in stray():
        path.unlink()


if __name__ == "__main__":
    main()
