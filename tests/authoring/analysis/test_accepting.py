"""What is let stand, by a rule set and by house rules over it."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from advisor.cli import main
from tests.authoring.analysis.sound import sound, write
from tests.authoring.analysis.test_command import idle_task, proved

HOUSE = {
    "format": "1",
    "house": "shop",
    "version": "1.0.0",
    "title": "a made-up shop",
    "base": {"folder": "../rules", "version": "1.0.0"},
    "retire": [
        {"rule": "journal-straw", "by": "Ada Thorne", "on": "2026-02-02", "because": "Nobody polishes here."}
    ],
}
"""It leaves nothing that tells bright from straw."""

ALIKE = {"finding": "extents-alike", "subject": "heat: none, straw", "because": "It is a lesson."}


def house(folder: Path, **more: object) -> str:
    folder.mkdir()
    (folder / "house.yaml").write_text(yaml.safe_dump({**HOUSE, **more}), encoding="utf-8")
    return str(folder)


def test_what_house_rules_leave_is_found_in_the_whole(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(proved(sound()), tmp_path / "rules")
    assert main(["rules", "check", house(tmp_path / "shop")]) == 0
    assert "no rule tells straw from none of heat" in " ".join(capsys.readouterr().out.split())


def test_house_rules_let_it_stand(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(proved(sound()), tmp_path / "rules")
    assert main(["rules", "check", house(tmp_path / "shop", accept=[ALIKE])]) == 0
    shown = capsys.readouterr().out
    assert "heat: none, straw [extents-alike]: It is a lesson." in shown
    assert shown.endswith("nothing found, 1 finding accepted.\n")


def test_an_acceptance_of_the_house_that_is_idle_is_an_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(proved(sound()), tmp_path / "rules")
    wrong = {**ALIKE, "subject": "heat: straw, none"}
    assert main(["rules", "check", house(tmp_path / "shop", accept=[wrong])]) == 1
    shown = " ".join(capsys.readouterr().out.split())
    assert "[acceptance-idle]" in shown
    assert "shop/house.yaml:2:" in shown


def test_what_the_base_accepts_may_be_gone_in_the_house(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = idle_task()
    entry = {"finding": "unused-task", "subject": "oil_it", "because": "It is a lesson."}
    data["ruleset"]["accept"] = [entry]
    write(data, tmp_path / "rules")
    added = {
        "format": "1",
        "rules": [
            {
                "id": "shop-oils",
                "for": "shell",
                "when": {"place": "unknown"},
                "then": {"task": "oil_it"},
                "because": "it is so",
                "cite": [{"source": "made_up"}],
                "examples": {"fires": [{"place": "unknown"}], "holds": [{}]},
            }
        ],
    }
    add = [{"rules": ["more.yaml"], "by": "Ada Thorne", "on": "2026-02-02", "because": "We oil it."}]
    shop = house(tmp_path / "shop", accept=[ALIKE], add=add)
    (tmp_path / "shop" / "more.yaml").write_text(yaml.safe_dump(added), encoding="utf-8")
    assert main(["rules", "check", str(tmp_path / "rules")]) == 0
    capsys.readouterr()
    assert main(["rules", "check", shop]) == 0
    assert "acceptance-idle" not in capsys.readouterr().out


def test_the_shipped_rule_sets_have_no_errors(capsys: pytest.CaptureFixture[str]) -> None:
    from advisor._resources import rulesets_dir

    for folder in sorted(each for each in rulesets_dir().iterdir() if each.is_dir()):
        assert main(["rules", "check", str(folder)]) == 0, capsys.readouterr().out
