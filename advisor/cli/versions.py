"""Which software decides, for a record."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version

from advisor._version import VERSION


def versions() -> dict[str, str]:
    """By name: the program and the rule engine that it runs on."""
    try:
        engine = version("durable-rules")
    except PackageNotFoundError:
        engine = "not known"
    return {"advisor": VERSION, "durable-rules": engine}
