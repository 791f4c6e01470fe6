"""The command line: every command parses, calls, and shows; nothing is decided here."""

from __future__ import annotations

import gc
import os
from collections.abc import Sequence


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code.

    `arguments` are those after the program's name, and default to the ones it was started with. 0 done;
    1 the input has faults, a check fell short, or the answer could not be written; 2 the command was called
    wrongly; 3 our own fault; 130 stopped by Ctrl-C. No exception leaves it.
    """
    # A command is short and makes few cycles; the collector would only walk the rule set again and again.
    gc.set_threshold(100_000, 50, 50)
    # Nothing that happens to be installed beside the program is to run inside its readers.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")

    from advisor.cli.run import run

    return run(arguments)
