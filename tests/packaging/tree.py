"""The files that belong to the project."""

from __future__ import annotations

import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Final

ROOT: Final = Path(__file__).resolve().parents[2]

# What tools leave behind, for a tree that came as an archive and so cannot be asked what it ignores.
_LEFT_BEHIND: Final = {
    ".benchmarks", ".coverage", ".git", ".hypothesis", ".import_linter_cache", ".mypy_cache", ".pytest_cache",
    ".ruff_cache", ".venv", "__pycache__", "build", "dist", "htmlcov",
}  # fmt: skip


@cache
def project_files() -> tuple[Path, ...]:
    """Every file that is tracked or would be, relative to `ROOT`, sorted.

    In a git checkout a file not yet added counts; an ignored one does not.
    """
    if (ROOT / ".git").exists() and shutil.which("git"):
        # Whoever owns the checkout, its list of files can be read.
        git = ["git", "-c", f"safe.directory={ROOT}", "-C", str(ROOT)]
        listed = subprocess.run(
            [*git, "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
            check=True, capture_output=True, text=True,
        ).stdout  # fmt: skip
        names = [Path(name) for name in listed.split("\0") if name]
    else:
        names = [path.relative_to(ROOT) for path in ROOT.rglob("*") if path.is_file()]
        names = [name for name in names if _LEFT_BEHIND.isdisjoint(name.parts)]
    return tuple(sorted(name for name in names if (ROOT / name).is_file()))
