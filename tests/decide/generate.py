"""Cases of the small rig, drawn at random, as plain data."""

from __future__ import annotations

from random import Random
from typing import Any

from hypothesis import strategies as st

STATES = ("not looked at", "could not be judged", "lost")
SCALES = {
    "crack": ("none", "line"),
    "heat": ("none", "straw", "blue"),
    "scoring": ("none", "light", "deep"),
    "particles": ("none", "few", "many"),
}
POSITIONS = ("front x", "front y", "rear x", "rear y")
SIZES = (
    "60.000 mm",
    "59.960 mm",
    "59.951 mm",
    "59.949 mm",
    "59.900 mm",
    "59.800 mm",
    "59.700 mm",
    "59.300 mm",
)
BORES = ("60.000 mm", "60.080 mm", "60.119 mm", "60.121 mm", "60.300 mm")
SHELLS = tuple(f"{journal} {half}" for journal in "123" for half in ("upper", "lower"))
MIXED_UP = (SHELLS, ("1 upper", "1 lower"), ("2 lower", "3 upper", "3 lower"))
INSTRUMENTS = ("micrometer", "exact_micrometer")


def case(rng: Random) -> dict[str, Any]:
    """One case: how much of it is known differs much from case to case."""
    known = rng.choice((0.95, 0.85, 0.6, 0.3))
    bench = [_entry(rng, "shaft", "", {"crack": _extent(rng, "crack", known)}, {}, known)]
    for journal in ("1", "2", "3"):
        findings = {name: _extent(rng, name, known) for name in ("heat", "scoring")}
        readings = {"diameter": _diameter(rng, known)}
        bench.append(_entry(rng, "shaft_journal", journal, findings, readings, known))
    mixed = rng.choice(MIXED_UP) if rng.random() < 0.25 else ()
    bench += [_shell(rng, place, known) for place in SHELLS if place not in mixed]
    if mixed:
        bench += [
            {**_shell(rng, "unknown", known), "tag": f"bag {number}", "from_among": ", ".join(mixed)}
            for number in range(len(mixed))
        ]
    data: dict[str, Any] = {"bench": bench}
    if rng.random() < known:
        size = rng.choice(("0 mm", "0 mm", "-0.25 mm"))
        data["found_sizes"] = [{"part": "shaft_journal", "size": size, "read_on": "the web"}]
    if rng.random() < 0.2:
        data["cleans_up"] = [
            {
                "part": "shaft_journal",
                "place": rng.choice(("1", "2", "3")),
                "operation": "grind",
                "size": rng.choice(("59.760 mm", "59.600 mm", "59.200 mm")),
                "by": "the grinder",
            }
        ]
    return data


@st.composite
def cases(draw: st.DrawFn) -> dict[str, Any]:
    """A case for hypothesis, which chooses the seed only: its own choices lean to the first of everything."""
    return case(draw(st.randoms(use_true_random=True)))


def _shell(rng: Random, place: str, known: float) -> dict[str, Any]:
    findings = {name: _extent(rng, name, known) for name in ("scoring", "particles")}
    bore: dict[str, Any] | None = None
    if rng.random() < known:
        bore = {"value": rng.choice(BORES)}
    elif rng.random() < 0.5:
        bore = {"value": rng.choice(STATES)}
    return _entry(rng, "half_shell", place, findings, {"bore": bore}, known)


def _diameter(rng: Random, known: float) -> dict[str, Any] | None:
    if rng.random() > known:
        return {"value": rng.choice(STATES)} if rng.random() < 0.5 else None
    size = rng.choice(SIZES)
    values = {position: size for position in POSITIONS if rng.random() < (0.97 if known > 0.5 else 0.8)}
    return {"values": values or {POSITIONS[0]: size}}


def _extent(rng: Random, finding: str, known: float) -> str | None:
    if rng.random() < known:
        scale = SCALES[finding]
        return rng.choice((scale[0], *scale))
    return rng.choice((None, *STATES))


def _entry(
    rng: Random,
    part: str,
    place: str,
    findings: dict[str, str | None],
    readings: dict[str, dict[str, Any] | None],
    known: float,
) -> dict[str, Any]:
    entry: dict[str, Any] = {"part": part, "place": place or "all"}
    if rng.random() < 0.04:
        return {**entry, "opened": "no"}
    entry["findings"] = {name: extent for name, extent in findings.items() if extent is not None}
    entry["readings"] = {
        name: {"with": rng.choice(INSTRUMENTS), **reading}
        for name, reading in readings.items()
        if reading is not None
    }
    if rng.random() < 0.2 * known:
        entry["otherwise"] = "none"
    return entry
