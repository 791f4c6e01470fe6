"""`advisor rules`: the commands for whoever writes a rule set."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import click

from advisor.cli.group import LazyGroup

COMMANDS: Final[Mapping[str, str]] = {
    "new": "Begin a rule set, or add a part, a finding, a rule or another thing to one.",
    "check": "Find what is wrong with a rule set as a whole: dead rules, gaps, contradictions.",
    "test": "Decide the test cases of a rule set, and tell which do not come out as expected.",
    "show": "Show what house rules change of their base, who decided it, and what rests on it.",
    "cover": "Show which conditions of the rules some case has shown to decide.",
    "probe": "Write cases on both sides of every limit and extent, for their author to answer.",
    "schema": "Write the JSON Schemas by which an editor checks a file while it is written.",
}
"""Each command with what it does. Its module in this package is called ``rules_`` and its name."""


@click.group(
    "rules",
    cls=LazyGroup,
    table=COMMANDS,
    prefix="advisor.cli.rules_",
    epilog="Example: advisor rules test my-rules",
)
def command() -> None:
    """Write a rule set, and prove that it does what it should."""
