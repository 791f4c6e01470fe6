"""Every command in the README and under docs/ is typed in, and does what the page says it does."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from advisor.cli.group import COMMANDS, commands
from advisor.cli.rules import COMMANDS as RULES
from advisor.cli.rules import command as rules
from tests.docs.pages import Reader, missing, pages
from tests.docs.pages import commands as commands_on
from tests.docs.source import ROOT


def lay_out(folder: Path) -> Path:
    """A folder as whoever has the project sees it."""
    for name in ("cases_demo", "rulesets"):
        shutil.copytree(ROOT / name, folder / name)
    return folder


@pytest.fixture(scope="session")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(autouse=True)
def plain_terminal(monkeypatch: pytest.MonkeyPatch, cache: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("NO_COLOR", "1")


@pytest.mark.parametrize("page", pages(), ids=lambda page: page.relative_to(ROOT).as_posix())
def test_a_page_can_be_followed(page: Path, tmp_path: Path) -> None:
    reader = Reader(lay_out(tmp_path))
    reader.follow(page.read_text("utf-8"), page.relative_to(ROOT).as_posix())
    assert not reader.wrong, "\n\n".join(reader.wrong)


def test_every_command_is_on_a_page() -> None:
    used = {words[0] for page in pages() for words in commands_on(page.read_text("utf-8")) if words}
    assert set(COMMANDS) <= used
    typed = (words for page in pages() for words in commands_on(page.read_text("utf-8")))
    assert set(RULES) <= {words[1] for words in typed if words[:1] == ["rules"]}


def test_every_option_is_on_a_page() -> None:
    text = "\n".join(page.read_text("utf-8") for page in pages())
    context = commands.make_context("advisor", ["decide", "x"], resilient_parsing=True)
    below = rules.make_context("rules", ["test", "x"], resilient_parsing=True)
    every = [(name, commands.get_command(context, name)) for name in COMMANDS]
    every += [(f"rules {name}", rules.get_command(below, name)) for name in RULES]
    unnamed = [
        f"{name} {option}"
        for name, command in every
        if command is not None
        for parameter in command.params
        for option in parameter.opts
        if option.startswith("--") and f"`{option}" not in text and f" {option} " not in text
    ]
    assert unnamed == []


PAGE = """
```sh
advisor decide nothing.yaml  # exits 1
```

```text
there is no file "nothing.yaml"; check the name and the folder [no-file]
```
"""


def test_what_a_page_promises_is_held_against_what_happens(tmp_path: Path) -> None:
    reader = Reader(tmp_path)
    reader.follow(PAGE, "page")
    assert reader.wrong == []
    reader.follow(PAGE.replace("  # exits 1", ""), "page")
    assert [line.splitlines()[0] for line in reader.wrong] == [
        "page:3: ended with 1: advisor decide nothing.yaml"
    ]
    reader.wrong.clear()
    reader.follow(PAGE.replace("no file", "no such thing"), "page")
    assert len(reader.wrong) == 1
    reader.wrong.clear()
    reader.follow(PAGE.replace("advisor decide", "frobnicate"), "page")
    assert "nobody knows how to try this" in reader.wrong[0]


def test_shown_lines_have_to_stand_together_and_in_order() -> None:
    printed = "one\ntwo\nthree\nfour\n"
    assert missing("one\n...\nthree\nfour", printed) == []
    assert missing("one\nthree", printed) == ["one\nthree"]
    assert missing("three\n...\none", printed) == ["one"]
