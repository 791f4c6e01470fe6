"""Where the base rule sets and demo cases lie: inside an installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from advisor.faults import OurFault

_PACKAGE: Final = Path(__file__).resolve().parent

# The licence travels with the rule data, so a directory without it is some other `rulesets`: one that
# happens to lie beside the package in site-packages, say.
_MARKER: Final = Path("rulesets", "LICENSE")


def rulesets_dir() -> Path:
    """The directory that holds one directory per base rule set.

    Returns an absolute path. Raises `OurFault` where the data is missing, which means a damaged install.
    """
    return _find("rulesets", _PACKAGE)


def demo_dir() -> Path:
    """The directory that holds one directory per demo case.

    Returns an absolute path. Raises `OurFault` where the data is missing, which means a damaged install.
    """
    return _find("cases_demo", _PACKAGE)


def _find(name: str, package: Path) -> Path:
    """The directory `name` that belongs to the code in `package`; the current directory plays no part."""
    roots = (package / "_data", package.parent)
    for root in roots:
        found = root / name
        if (root / _MARKER).is_file() and found.is_dir():
            return found
    places = " or ".join(str(root / name) for root in roots)
    raise OurFault(
        f"the installed advisor lacks its own directory {name}; expected {places}, with {_MARKER.as_posix()} "
        "beside it; install the advisor again"
    )
