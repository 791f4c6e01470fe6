"""Writes a changed file over the one that was read: whole or not at all, and only if it is still that one."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from pathlib import Path


class ChangedMeanwhile(Exception):
    """The file is no longer as it was read."""


def write_over(path: Path, content: bytes, before: bytes | None = None) -> None:
    """Put `content` in place of the file at `path`, or make that file, in one step.

    With `before`, only if it still holds just that: `ChangedMeanwhile` where it does not. A link stays a
    link, and the new file may be read by whom the old one might. Raises `OSError`.
    """
    target = path.resolve()
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:80]}.", suffix=".advisor-part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        Path(name).chmod(_mode(target))
        if before is not None and target.read_bytes() != before:
            raise ChangedMeanwhile
        Path(name).replace(target)
    finally:
        with contextlib.suppress(FileNotFoundError):
            Path(name).unlink()


def _mode(path: Path) -> int:
    """How the file may be used: as before, or as any new file."""
    with contextlib.suppress(FileNotFoundError):
        return stat.S_IMODE(path.stat().st_mode)
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
