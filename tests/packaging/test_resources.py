"""The locator of the data that is distributed with the package."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor import _resources
from advisor.faults import OurFault
from tests.packaging.tree import ROOT


def lay(root: Path, *directories: str, licence: bool = True) -> Path:
    """A root with these directories and, where wanted, the licence that marks it as ours."""
    for name in directories:
        (root / name).mkdir(parents=True)
    if licence:
        (root / "rulesets" / "LICENSE").write_text("licence", encoding="utf-8")
    return root


@pytest.fixture
def package(tmp_path: Path) -> Path:
    package = tmp_path / "site" / "advisor"
    package.mkdir(parents=True)
    return package


def test_a_checkout_serves_its_own_directories() -> None:
    assert _resources.rulesets_dir() == ROOT / "rulesets"
    assert _resources.demo_dir() == ROOT / "cases_demo"


def test_the_current_directory_plays_no_part(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(lay(tmp_path, "rulesets", "cases_demo"))
    assert _resources.rulesets_dir() == ROOT / "rulesets"
    assert _resources.demo_dir() == ROOT / "cases_demo"


@pytest.mark.parametrize("name", ["rulesets", "cases_demo"])
def test_data_inside_the_package_comes_before_data_beside_it(package: Path, name: str) -> None:
    lay(package.parent, "rulesets", "cases_demo")
    lay(package / "_data", "rulesets", "cases_demo")
    assert _resources._find(name, package) == package / "_data" / name


@pytest.mark.parametrize("name", ["rulesets", "cases_demo"])
def test_a_stranger_of_the_same_name_is_passed_over(package: Path, name: str) -> None:
    lay(package.parent, "rulesets", "cases_demo", licence=False)
    with pytest.raises(OurFault, match="install the advisor again"):
        _resources._find(name, package)


def test_missing_data_is_named_with_where_it_should_be(package: Path) -> None:
    lay(package / "_data", "rulesets")
    with pytest.raises(OurFault) as caught:
        _resources._find("cases_demo", package)
    inside, beside = package / "_data" / "cases_demo", package.parent / "cases_demo"
    assert str(caught.value) == (
        f"the installed advisor lacks its own directory cases_demo; expected {inside} or {beside}, "
        "with rulesets/LICENSE beside it; install the advisor again"
    )
