"""docs/messages.md holds every fault code of the source, with an example in the source's own words."""

from __future__ import annotations

import re
from typing import Final, NamedTuple

import pytest

from tests.docs.source import ANY, ROOT, source
from tests.docs.source import source_of as read

PAGE: Final = ROOT / "docs" / "messages.md"
_ENTRY: Final = re.compile(
    r"### `(?P<code>[a-z0-9-]+)`\n\n(?P<means>.+?)\n\n```text\n(?P<example>.+?)\n```\n\n"
    r"\*To mend it:\* (?P<mend>.+?)\n(?=\n#|\Z)",
    re.DOTALL,
)
_EXAMPLE: Final = re.compile(
    r"(?:(?P<at>[^\s:]+:[1-9]\d*:[1-9]\d*): )?(?P<said>.+) \[(?P<code>[a-z0-9-]+)\]", re.DOTALL
)


class Entry(NamedTuple):
    """One entry of the page."""

    code: str
    means: str
    example: str
    mend: str


def entries() -> list[Entry]:
    """The entries of the page, in its order."""
    return [Entry(*each.group("code", "means", "example", "mend")) for each in _ENTRY.finditer(text())]


def text() -> str:
    return PAGE.read_text("utf-8") + "\n"


def said(entry: Entry) -> str:
    """The words of an example between its place and its code."""
    match = _EXAMPLE.fullmatch(entry.example)
    assert match is not None, f"{entry.code}: the example is no message: {entry.example}"
    assert match["code"] == entry.code, f"{entry.code}: the example is of {match['code']}"
    return match["said"]


def begins(words: str, pattern: str) -> bool:
    """Whether a message begins with what the source says first: its `what`, up to a semicolon or the end."""
    return re.match(f"(?:{pattern})(?:; |$)", words) is not None


def test_every_heading_is_a_whole_entry() -> None:
    assert re.findall(r"^### `(.+)`$", text(), re.MULTILINE) == [entry.code for entry in entries()]


def test_each_code_has_one_entry_and_each_entry_a_code() -> None:
    documented = [entry.code for entry in entries()]
    assert len(documented) == len(set(documented))
    assert set(documented) == set(source().codes)


def test_every_code_can_be_read_off_the_source() -> None:
    assert source().loose == []


def test_each_example_is_in_the_words_of_the_source() -> None:
    stale = [
        f"{entry.code}: {said(entry)}"
        for entry in entries()
        if not any(begins(said(entry), what) for each in source().codes[entry.code] for what in each.what)
    ]
    assert stale == []


def test_most_examples_show_a_place() -> None:
    """What has no place concerns no line of a file."""
    without = {entry.code for entry in entries() if not (_EXAMPLE.fullmatch(entry.example) or {})["at"]}  # type: ignore[index]
    assert without <= {
        "engine-limit",
        "engine-missing",
        "no-engine-sheet",
        "no-file",
        "no-rule-set",
        "no-tests",
        "not-a-file",
        "not-readable",
        "nothing-to-build-on",
        "too-many-probes",
    }


def test_the_units_own_list_of_codes_is_there() -> None:
    from advisor.units import CODES

    assert set(CODES) <= {entry.code for entry in entries()}


@pytest.mark.parametrize(
    ("code", "codes", "loose"),
    [
        ("Fault('a-b', f'no {x}')", {"a-b": (r"no\ " + ANY,)}, 0),
        ("Fault(what='w', code='a-b')", {"a-b": ("w",)}, 0),
        ("def f(x):\n    what = 'one' if x else 'two'\n    Fault('a', what)", {"a": ("one", "two")}, 0),
        ("def f(x):\n    Fault('a-b' if x else 'c-d', 'w')", {"a-b": ("w",), "c-d": ("w",)}, 0),
        ("def f(code):\n    def g():\n        Fault(code, 'w')", {}, 0),
        ("Fault(e.code, 'w')", {}, 0),
        ("Fault(made_up(), 'w')", {}, 1),
        ("def f(x):\n    Fault(x['code'], 'w')", {}, 1),
    ],
)
def test_how_the_source_is_read(code: str, codes: dict[str, tuple[str, ...]], loose: int) -> None:
    model = "class Fault:\n    code: str\n    what: str\n\n"
    found = read({"a.py": model + code})
    assert {each.code: each.what for each in found.raised} == codes
    assert len(found.loose) == loose
