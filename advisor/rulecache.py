"""Rule sets read before, kept as JSON so that a command need not read and check their files again.

A kept rule set is found by a digest over the bytes of all its files and over this program's own code, so
one that has changed in any way is read anew. Anything wrong with the cache only makes a command slower.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import tempfile
from pathlib import Path

from pydantic import ValidationError

from advisor._version import VERSION
from advisor.sheets import ruleset as _sheets
from advisor.sheets.digest import canonical
from advisor.sheets.ruleset import MANIFEST, RuleSet

_KEPT = 12
"""Files kept; the oldest go first."""


def fetch(folder: Path) -> RuleSet | None:
    """The rule set in `folder`, if it was kept since its files last changed."""
    try:
        path = _path(folder)
        if path is None:
            return None
        said, _, beside = path.read_text(encoding="utf-8").partition("\n")
        more = json.loads(beside)
        ruleset = RuleSet.of_record(json.loads(said), more["order"])
        ruleset.written.update(more["written"])  # type: ignore[attr-defined]
        # The digest is over just this text, so it need not be made again.
        ruleset.__dict__["digest"] = hashlib.sha256(said.encode()).hexdigest()
        return ruleset
    except (OSError, ValueError, LookupError, TypeError, AttributeError, ValidationError):
        return None


def keep(folder: Path, ruleset: RuleSet) -> None:
    """Keep a rule set that was read from `folder` and found sound."""
    with contextlib.suppress(OSError, ValueError):
        path = _path(folder)
        if path is None:
            return
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = {"order": ruleset.order, "written": dict(ruleset.written)}
        text = f"{canonical(ruleset.record())}\n{json.dumps(beside)}"
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".new-")
        try:
            with os.fdopen(handle, "w", encoding="utf-8") as file:
                file.write(text)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink()
            raise
        kept = sorted(path.parent.glob("*.json"), key=lambda each: each.stat().st_mtime, reverse=True)
        for old in kept[_KEPT:]:
            old.unlink(missing_ok=True)


def _path(folder: Path) -> Path | None:
    """Where the rule set in `folder`, as it is now, is kept; None where there is no place for a cache."""
    root = os.environ.get("XDG_CACHE_HOME") or os.environ.get("HOME")
    if not root or not Path(root).is_absolute():
        return None
    base = Path(root) if os.environ.get("XDG_CACHE_HOME") else Path(root) / ".cache"
    return base / "rebuild-advisor" / f"{_digest(folder)}.json"


def _digest(folder: Path) -> str:
    """Over the bytes of every file of the rule set, and the code that reads them."""
    digest = hashlib.sha256(VERSION.encode())
    (folder / MANIFEST).stat()  # a folder that is no rule set is not walked
    for path in sorted(folder.rglob("*.yaml")):
        raw = path.read_bytes()
        digest.update(f"\0{path.relative_to(folder).as_posix()}\0{len(raw)}\0".encode())
        digest.update(raw)
    for path in sorted(Path(_sheets.__file__).parent.glob("*.py")):
        status = path.stat()
        digest.update(f"\0{path.name}\0{status.st_size}\0{status.st_mtime_ns}".encode())
    return digest.hexdigest()
