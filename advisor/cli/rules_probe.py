"""`advisor rules probe`: cases on both sides of every threshold, for their author to answer."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from advisor.cli.show import json_option, paper, say, show_json, show_lines

if TYPE_CHECKING:
    from advisor.authoring.probe import Probed
    from advisor.sheets.ruleset import RuleSet


@click.command("probe", epilog="Example: advisor rules probe my-rules --kind some_part --out my-rules/tests")
@click.argument("ruleset", type=click.Path(path_type=Path))
@click.option(
    "--rule", "ids", metavar="ID", multiple=True, help="What this rule looks at; may be given again."
)
@click.option(
    "--kind", "kinds", metavar="KIND", multiple=True, help="All of this kind of part; may be given again."
)
@click.option(
    "--engine",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Engine sheet with the limits; left out, the first that a test of the rule set names.",
)
@click.option(
    "--out",
    metavar="DIR",
    type=click.Path(path_type=Path),
    help="Write the cases as test files into this folder.",
)
@click.option("--reveal", is_flag=True, help="Show what the rule set says now of each; think first.")
@json_option
def command(
    ruleset: Path,
    ids: tuple[str, ...],
    kinds: tuple[str, ...],
    engine: Path | None,
    out: Path | None,
    reveal: bool,
    as_json: bool,
) -> None:
    """Make cases just inside, at and just outside every limit, and at every extent of every finding.

    Everything else is as mild as can be, so that the threshold alone decides. The verdicts are left
    unanswered for whoever writes the rules of RULESET: until then the tests neither pass nor fail.
    """
    from advisor.authoring.engine_for import engine_for
    from advisor.authoring.probe import probe, probe_files
    from advisor.cli.rules_given import chosen, write_tests
    from advisor.files import load_rules

    if out is not None and not out.is_dir():
        raise click.UsageError(f"there is no folder {out}")
    rules = load_rules(ruleset)
    chosen(rules, ids, kinds)
    sheet = engine_for(ruleset, rules, engine)
    probed = probe(rules, sheet, rules=ids, kinds=kinds)
    if out is not None:
        write_tests(out, probe_files(probed))
    if as_json:
        show_json(_values(probed, rules, reveal))
    else:
        show_lines(_lines(probed, rules, reveal, paper().width))
    if not reveal and not as_json:
        say("What the rule set says of them is not shown before you have answered: --reveal shows it.")


def _lines(probed: Probed, rules: RuleSet, reveal: bool, width: int) -> Iterator[str]:
    import textwrap

    from advisor.authoring.probe import revealed
    from advisor.sheets.mixed_up import counted

    def wrapped(text: str, indent: int) -> list[str]:
        return textwrap.wrap(
            text,
            max(width, 40),
            initial_indent=" " * indent,
            subsequent_indent=" " * (indent + 2),
            break_long_words=False,
            break_on_hyphens=False,
        )

    for case in probed.cases:
        yield from wrapped(case.name, 0)
        if not reveal:
            yield from wrapped(case.asks, 4)
        for verdict in revealed(case, rules) if reveal else ():
            by = ", ".join(dict.fromkeys(reason.rule for reason in verdict.reasons if reason.rule))
            whose = f"{verdict.part} {verdict.place}".strip()
            yield from wrapped(f"{whose}: {verdict.verdict}" + (f", by {by}" if by else ""), 4)
    if probed.left_out:
        yield ""
        yield "Not probed:"
        for each in probed.left_out:
            yield from wrapped(each, 2)
    yield ""
    yield from wrapped(
        f"{counted(len(probed.cases), 'case')} at {counted(probed.thresholds, 'threshold')} of {rules.name} "
        f"{rules.version}.",
        0,
    )


def _values(probed: Probed, rules: RuleSet, reveal: bool) -> dict[str, Any]:
    from advisor.authoring.probe import revealed

    def case_values(case: Any) -> dict[str, Any]:
        told: dict[str, Any] = {
            "name": case.name,
            "part": case.part,
            "place": case.place,
            "threshold": case.threshold,
            "asks": case.asks,
        }
        if reveal:
            told["says"] = [
                {
                    "part": each.part,
                    "place": each.place,
                    "verdict": each.verdict,
                    "rules": list(dict.fromkeys(reason.rule for reason in each.reasons if reason.rule)),
                }
                for each in revealed(case, rules)
            ]
        return told

    return {
        "format": 1,
        "ruleset": {"name": rules.name, "version": rules.version},
        "thresholds": probed.thresholds,
        "cases": [case_values(each) for each in probed.cases],
        "left_out": list(probed.left_out),
    }
