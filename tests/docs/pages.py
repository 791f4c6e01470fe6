"""The pages as something to follow: their code blocks are typed in, as a reader would, in a folder apart.

A block of `sh` holds commands. `advisor` runs in this process; `cp -r`, `mkdir` and `cd` are done as well.
A command ends with exit code 0, or with the one in a remark: `advisor check case.yaml  # exits 1`.
A block of `text` right after it shows what was printed; a line of three dots stands for lines left out.
A block of `yaml` after `<!-- file: NAME -->` is saved under that name, and after `<!-- add to: NAME -->` is
put at the end of it. A block of `python` is run.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from advisor.cli import main
from tests.docs.source import ROOT

_BLOCK: Final = re.compile(
    r"(?:<!-- (?P<how>file|add to): (?P<name>[\w./-]+) -->\n)?"
    r"```(?P<kind>\w+)\n(?P<body>.*?)\n```$",
    re.DOTALL | re.MULTILINE,
)
_EXITS: Final = re.compile(r"\s+# exits (\d+)\b.*$")
_LEFT_OUT: Final = "..."

# Typed once on a fresh machine; what they promise is tried by installing the package.
_INSTALLING: Final = ("$(command -v sudo)", "brew ", "pip ", "xcode-select", "uv ", "ruff ", "pytest ")


@dataclass(frozen=True)
class Block:
    """One code block of a page, and the line that it begins on."""

    kind: str
    body: str
    line: int
    saved_as: str = ""
    added_to: str = ""


def pages() -> list[Path]:
    """Every page that may hold commands."""
    return [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]


def blocks(text: str) -> Iterator[Block]:
    """The code blocks of a page."""
    for match in _BLOCK.finditer(text):
        line = text.count("\n", 0, match.start("kind")) + 1
        names = {"file": "", "add to": ""} | ({match["how"]: match["name"]} if match["how"] else {})
        yield Block(match["kind"], match["body"], line, names["file"], names["add to"])


def commands(text: str) -> list[list[str]]:
    """The words of every `advisor` command on a page."""
    lines = [line for block in blocks(text) if block.kind == "sh" for line in block.body.splitlines()]
    return [shlex.split(line, comments=True)[1:] for line in lines if line.startswith("advisor ")]


@dataclass
class Reader:
    """Somebody who follows a page; `where` is the folder that he is in."""

    where: Path
    printed: str = ""
    wrong: list[str] = field(default_factory=list)

    def follow(self, text: str, page: str) -> None:
        """Do what the blocks of a page say; notes in `wrong` whatever is not as it says."""
        for block in blocks(text):
            place = f"{page}:{block.line}"
            if block.saved_as:
                target = self.where / block.saved_as
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_text(block.body + "\n", encoding="utf-8")
            elif block.added_to:
                with (self.where / block.added_to).open("a", encoding="utf-8") as file:
                    file.write(block.body + "\n")
            elif block.kind == "sh":
                self.printed = ""
                for number, line in enumerate(block.body.splitlines(), block.line + 1):
                    self.type(line, f"{page}:{number}")
            elif block.kind == "text" and self.printed:
                self.wrong += [f"{place}: not printed: {each}" for each in missing(block.body, self.printed)]
                self.printed = ""
            elif block.kind == "python":
                self.run_python(block.body)
            else:
                self.printed = ""

    def type(self, line: str, place: str) -> None:
        """Type one line."""
        wanted = _EXITS.search(line)
        words = shlex.split(line, comments=True)
        if not words or line.startswith(_INSTALLING):
            return
        if words[0] == "cp" and words[1] == "-r":
            shutil.copytree(self.where / words[2], self.where / words[3])
        elif words[0] == "mkdir":
            (self.where / words[1]).mkdir()
        elif words[0] == "cd":
            self.where = (self.where / words[1]).resolve()
        elif words[0] == "advisor":
            into = words[words.index(">") + 1] if ">" in words else ""
            code = self.call(words[1 : words.index(">")] if into else words[1:], into)
            if code != (int(wanted[1]) if wanted else 0):
                self.wrong.append(f"{place}: ended with {code}: {line}\n{self.printed[-2000:]}")
        else:
            self.wrong.append(f"{place}: nobody knows how to try this: {line}")

    def call(self, arguments: list[str], into: str) -> int:
        """Run the program in this folder and return its exit code."""
        answer, said = io.StringIO(), io.StringIO()
        streams = contextlib.redirect_stdout(answer), contextlib.redirect_stderr(said)
        with contextlib.chdir(self.where), streams[0], streams[1]:
            code = main(arguments)
        if into:
            (self.where / into).write_text(answer.getvalue(), encoding="utf-8")
        else:
            self.printed += answer.getvalue()
        self.printed += said.getvalue()
        return code

    def run_python(self, body: str) -> None:
        """Run a block of Python in this folder; what it prints may be shown by the next block."""
        answer = io.StringIO()
        with contextlib.chdir(self.where), contextlib.redirect_stdout(answer):
            exec(compile(body, "a page", "exec"), {"__name__": "a page"})
        self.printed = answer.getvalue()


def missing(shown: str, printed: str) -> list[str]:
    """The runs of shown lines, between those left out, that were not printed in that order.

    Where a line is broken is not compared, since that hangs on how wide the terminal is.
    """
    whole = _flat(printed)
    lost, start = [], 0
    for run in _runs(shown):
        words = _flat("\n".join(run))
        found = whole.find(words, start)
        if found < 0:
            lost.append("\n".join(run))
        else:
            start = found + len(words)
    return lost


def _flat(text: str) -> str:
    return " ".join(text.split())


def _runs(shown: str) -> Iterator[list[str]]:
    run: list[str] = []
    for line in shown.splitlines():
        if line.strip() == _LEFT_OUT:
            if run:
                yield run
            run = []
        else:
            run.append(line.rstrip())
    if run:
        yield run
