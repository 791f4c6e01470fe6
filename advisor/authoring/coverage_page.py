"""A coverage as one page that stands by itself: words and type, nothing from elsewhere, and good on paper."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import Final

from advisor.authoring.coverage import ConditionCover, Coverage, RuleCover
from advisor.authoring.coverage_report import lacking, share
from advisor.sheets.mixed_up import counted

_STYLE: Final = """
:root { color-scheme: light; }
body { margin: 0 auto; max-width: 44rem; padding: 1.5rem 1rem 4rem; font: 1rem/1.5 Georgia, serif;
  color: #111; background: #fff; overflow-wrap: anywhere; }
a { color: inherit; }
h1 { font-size: 1.5rem; line-height: 1.25; margin: 0 0 1rem; }
h2 { font-size: 1.15rem; margin: 2.5rem 0 .5rem; border-bottom: 1px solid; padding-bottom: .2rem; }
h3 { font-size: 1rem; margin: 1.6rem 0 0; }
p { margin: .3rem 0; }
.where, dd { font-size: .9rem; }
ol { padding-left: 1.4rem; margin: .5rem 0; }
li { margin: .5rem 0; }
.state { font-variant: small-caps; letter-spacing: .04em; }
.missing > .state { font-weight: bold; text-decoration: underline; text-underline-offset: .2em; }
dl { margin: .2rem 0 .2rem 0; }
dt { font-size: .9rem; font-style: italic; }
dd { margin: 0 0 .2rem 1rem; }
table { border-collapse: collapse; width: 100%; margin: 1rem 0; font-variant-numeric: tabular-nums; }
th, td { text-align: right; padding: .15rem .3rem; border-bottom: 1px solid #999; font-weight: normal; }
th:first-child, td:first-child { text-align: left; }
thead th { font-style: italic; font-size: .9rem; vertical-align: bottom; }
@media print { body { max-width: none; padding: 0; font-size: 10pt; } h2 { break-after: avoid; }
  li, h3 + p { break-inside: avoid; } h3 { break-after: avoid; } }
"""


def page(coverage: Coverage) -> str:
    """The whole page as HTML."""
    return "\n".join(_page(coverage)) + "\n"


def _page(coverage: Coverage) -> Iterator[str]:
    title = f"Conditions shown to decide: {coverage.name} {coverage.version}"
    yield "<!doctype html>"
    yield '<html lang="en">'
    yield '<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{escape(title)}</title><style>{_STYLE}</style></head>"
    yield "<body>"
    yield f"<h1>{escape(title)}</h1>"
    yield (
        f"<p>{counted(coverage.conditions, 'condition')} in {counted(len(coverage.rules), 'rule')}, over "
        f"{counted(coverage.examples, 'example')} and {counted(coverage.cases, 'decided case')}: "
        f"{coverage.count('shown')} shown, {coverage.count('argued')} argued, "
        f"{coverage.count('not shown')} not shown; {escape(share(coverage))}.</p>"
    )
    yield (
        "<p>A condition is shown when two cases differ in it alone, and the rule fires for certain in the "
        "one and cannot fire in the other. What is unknown in a case shows nothing.</p>"
    )
    by_part: dict[str, list[RuleCover]] = {}
    for rule in coverage.rules:
        by_part.setdefault(rule.part, []).append(rule)
    heads = "".join(f"<th>{each}</th>" for each in ("Part", "Rules", "Conditions", "Not shown"))
    yield f"<table><thead><tr>{heads}</tr></thead><tbody>"
    for part, rules in by_part.items():
        conditions = [each for rule in rules for each in rule.conditions]
        missing = sum(each.state == "not shown" for each in conditions)
        cells = (len(rules), len(conditions), missing or "none")
        numbers = "".join(f"<td>{each}</td>" for each in cells)
        yield f'<tr><td><a href="#{escape(part)}">{escape(part.replace("_", " "))}</a></td>{numbers}</tr>'
    yield "</tbody></table>"
    for part, rules in by_part.items():
        yield f'<h2 id="{escape(part)}">{escape(part.replace("_", " ").capitalize())}</h2>'
        for rule in rules:
            yield from _rule(rule)
    yield "</body></html>"


def _rule(rule: RuleCover) -> Iterator[str]:
    yield f"<h3>{escape(rule.rule)}</h3>"
    yield f"<p>{escape(rule.because)}</p>"
    if rule.at:
        yield f'<p class="where">{escape(rule.at)}</p>'
    if not rule.conditions:
        yield "<p>It has no condition, and fires on every one.</p>"
        return
    yield "<ol>"
    for each in rule.conditions:
        yield from _condition(each)
    yield "</ol>"


def _condition(each: ConditionCover) -> Iterator[str]:
    missing = each.state == "not shown"
    yield f'<li class="missing">{_head(each)}' if missing else f"<li>{_head(each)}"
    rows: list[tuple[str, str]] = []
    if missing:
        rows.append(("Lacking", lacking(each)))
    if each.why:
        rows.append(("Argument" if each.state == "argued" else "Why", each.why))
    if each.pair is not None:
        rows += [("True, and the rule fires", each.where[0]), ("False, and it cannot", each.where[1])]
        if each.pair.form != "unique cause":
            rows.append(("Form", each.pair.form))
    rows += list(zip(("Would show it true", "Would show it not true"), each.ready, strict=False))
    told = "".join(f"<dt>{escape(term)}</dt><dd>{escape(text)}</dd>" for term, text in rows)
    yield f"<dl>{told}</dl></li>" if rows else "</li>"


def _head(each: ConditionCover) -> str:
    return f'<span>{escape(each.says)}</span>: <span class="state">{escape(each.state)}</span>'
