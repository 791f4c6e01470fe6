"""When the program itself is wrong: a short message, and a file with what is needed to reproduce it."""

from __future__ import annotations

import hashlib
import platform
import re
import tempfile
import traceback
from collections.abc import Iterator, Sequence
from pathlib import Path

from advisor._version import VERSION
from advisor.cli.newfile import write_new
from advisor.faults import OurFault
from advisor.sheets.digest import canonical

_LARGEST = 2 * 1024 * 1024
_BASE = re.compile(r"^\s+folder:\s*[\"']?([^\"'\n#]+)", re.MULTILINE)
_MOST_BASES = 4
_SHEET = re.compile(r"^engine_sheet:\s*[\"']?([^\"'\n#]+)", re.MULTILINE)


def report(error: BaseException, arguments: Sequence[str]) -> str:
    """Write the file, beside the work or in the folder for temporary files, and say so in plain words."""
    said = str(error).strip().splitlines()[:1] or [type(error).__name__]
    head = (
        f"This is our fault, not yours: {said[0] if isinstance(error, OurFault) else type(error).__name__}."
    )
    text = canonical(
        {
            "advisor": VERSION,
            "python": platform.python_version(),
            "system": platform.platform(),
            "arguments": list(arguments),
            "error": f"{type(error).__name__}: {error}",
            "where": traceback.format_exception(error),
            "reproduce": getattr(error, "reproduce", ""),
            "files": dict(_files(arguments)),
        }
    ).encode("utf-8", "backslashreplace")
    name = f"advisor-fault-{hashlib.sha256(text).hexdigest()[:12]}.json"
    for folder in (Path(), Path(tempfile.gettempdir())):
        try:
            write_new(folder / name, text)
        except FileExistsError:
            pass
        except OSError:
            continue
        return (
            f"{head}\nWhat is needed to reproduce it is in {folder / name}. It holds the files of this run; "
            "look it through before you pass it on."
        )
    return f"{head}\nThe file to reproduce it could not be written anywhere."


def _files(arguments: Sequence[str]) -> Iterator[tuple[str, str]]:
    """The files that were given, with the engine sheet of a case, the files of a rule set, and those of
    the bases under house rules.
    """
    for argument in arguments:
        path = Path(argument.partition("=")[2] if argument.startswith("--") else argument)
        if path.is_dir():
            for folder in _with_bases(path):
                for each in sorted(folder.rglob("*.yaml"))[:200]:
                    yield from _text(each)
            continue
        for name, text in _text(path):
            yield name, text
            found = _SHEET.search(text)
            if found is not None:
                yield from _text(path.parent / found[1].strip())


def _with_bases(folder: Path) -> list[Path]:
    """A folder, and the folders of the bases of the house rules in it; those shipped are known anyhow."""
    folders = [folder]
    for _ in range(_MOST_BASES):
        said = "".join(text for _, text in _text(folders[-1] / "house.yaml"))
        found = _BASE.search(said)
        if found is None:
            break
        folders.append(folders[-1] / found[1].strip())
    return folders


def _text(path: Path) -> Iterator[tuple[str, str]]:
    try:
        if path.is_file() and path.stat().st_size <= _LARGEST:
            yield str(path), path.read_text(encoding="utf-8", errors="backslashreplace")
    except (OSError, ValueError):
        return
