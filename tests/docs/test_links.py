"""Every link between the pages leads somewhere: to a file that is there, and to a heading that is in it."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from tests.docs.pages import pages
from tests.docs.source import ROOT

PAGES = [*pages(), ROOT / "DEVELOPERS.md"]


@cache
def anchors(page: Path) -> set[str]:
    """The names by which the headings of a page are linked to."""
    text = re.sub(r"```.*?```", "", page.read_text("utf-8"), flags=re.DOTALL)
    headings = re.findall(r"^#+ (.+)$", text, re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}


def broken(page: Path) -> list[str]:
    """The links of a page that lead nowhere."""
    found = []
    text = re.sub(r"```.*?```", "", page.read_text("utf-8"), flags=re.DOTALL)
    for target in re.findall(r"\[[^\]]*\]\(([^)\s]+)\)", text):
        if "://" in target:
            continue
        name, _, anchor = target.partition("#")
        file = (page.parent / name) if name else page
        if not file.exists() or (anchor and anchor not in anchors(file.resolve())):
            found.append(target)
    return found


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_its_links_lead_somewhere(page: Path) -> None:
    assert broken(page) == []


def test_a_link_that_leads_nowhere_is_found(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text("# A heading: of sorts\n\n[a](page.md#a-heading-of-sorts) [b](#gone) [c](gone.md)\n")
    assert broken(page) == ["#gone", "gone.md"]


def test_every_page_can_be_reached_from_the_readme() -> None:
    reached, waiting = set(), [ROOT / "README.md"]
    while waiting:
        page = waiting.pop()
        if page in reached:
            continue
        reached.add(page)
        for target in re.findall(r"\]\(([^)\s#]+)", page.read_text("utf-8")):
            file = (page.parent / target).resolve()
            if file.suffix == ".md" and file.exists():
                waiting.append(file)
            elif file.is_dir():
                waiting += file.glob("*.md")
    assert set(PAGES) - reached == set()
