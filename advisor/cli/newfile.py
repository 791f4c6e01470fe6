"""Writes a file that was not there before: whole or not at all, and never over another."""

from __future__ import annotations

import contextlib
import os
import tempfile
import time
from pathlib import Path
from typing import Final

import click

_UNFINISHED: Final = ".advisor-part"
_FORGOTTEN: Final = 600
"""Seconds after which nobody is writing an unfinished file any more."""


def write_new(path: Path, content: bytes) -> None:
    """Write `content` to `path`. Raises `FileExistsError` where something stands there already.

    The bytes are on the disk before the name appears; of two writers one wins and the other is refused.
    """
    folder = path.parent
    _sweep(folder)
    handle, name = tempfile.mkstemp(prefix=f".{path.name[:80]}.", suffix=_UNFINISHED, dir=folder)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        mask = os.umask(0)
        os.umask(mask)
        Path(name).chmod(0o666 & ~mask)
        _name_it(Path(name), path)
    finally:
        Path(name).unlink(missing_ok=True)
    with contextlib.suppress(OSError):  # not every system lets a folder be opened
        opened = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(opened)
        finally:
            os.close(opened)


def _sweep(folder: Path) -> None:
    """Remove what a run that was killed while it wrote has left in `folder`."""
    now = time.time()
    for each in folder.glob(f".*{_UNFINISHED}"):
        with contextlib.suppress(OSError):  # another run may sweep it as well
            if now - each.lstat().st_mtime > _FORGOTTEN:
                each.unlink()


def _name_it(temporary: Path, path: Path) -> None:
    try:
        # Unlike a rename, a link is refused where the name is taken.
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:
        # A file system without links: claim the name, then put the whole file in its place.
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
        temporary.replace(path)


def refuse_to_overwrite(path: Path, what: str) -> None:
    """Raise `click.UsageError` where `path` is taken, or where its folder is not there."""
    if path.exists() or path.is_symlink():
        raise click.UsageError(
            f"{path} is there already, and {what} is never written over it; choose another name"
        )
    if not path.parent.is_dir():
        raise click.UsageError(f"there is no folder {path.parent}")


def write_or_refuse(path: Path, content: bytes, what: str) -> None:
    """`write_new`, with its refusals as `click.UsageError`."""
    refuse_to_overwrite(path, what)
    try:
        write_new(path, content)
    except FileExistsError:
        refuse_to_overwrite(path, what)
        raise
    except OSError as error:
        raise click.UsageError(f"{path} could not be written: {error.strerror or error}") from error
