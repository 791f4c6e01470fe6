"""Where the rule engine cannot be loaded, that is told as what is missing, not as a fault of the rules."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.chain import ready
from advisor.chain.network import EngineUnavailable
from advisor.chain.world import World
from advisor.faults import Faults
from tests.decide import small


def test_an_engine_that_cannot_be_loaded_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(_: object) -> None:
        raise EngineUnavailable("durable-rules cannot be loaded")

    monkeypatch.setattr(ready, "DurableMatcher", missing)
    ready._ready.clear()
    rules = small.ruleset(tmp_path / "rules")
    with pytest.raises(Faults) as raised:
        ready.chain(rules, World((), {}, {}, {"fuel": "diesel"}))
    assert [fault.code for fault in raised.value.faults] == ["engine-missing"]
