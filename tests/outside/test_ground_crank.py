"""What comes from the machine shop is held to the tolerances of a new one, through the whole decision.

Source: Clevite, Engine Bearing Failure & Analysis Guide, CL77-3-402, p. 2, the installation tolerances of
new and ground parts; its lines are named by their quantity beside each check. A used part is held to the wear
limits of US Army TM 10-3930-647-14&P, P0175, or of the engine maker. That a part from the machine shop is
checked against the figures for a new one is common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from advisor.verdicts.model import Verdict
from tests.outside.crank import BORE, JOURNAL, SOUND, STRIP, Bench, because, even, of, readings, single

PLAY = even("plastic_strip", STRIP, "0.0025 in")


def _inches(size: Fraction) -> str:
    return f"{float(size):.5f} in"


def _sizes(high: str, **less: str) -> dict[str, str]:
    """Sizes all over a journal: `high`, less so much at positions with a word in their name."""
    sizes = {}
    for position in JOURNAL:
        words = position.split()
        sizes[position] = _inches(Fraction(high) - sum(Fraction(less.get(word, "0")) for word in words))
    return sizes


def _ground(kind: str, undersize: str, sizes: dict[str, str], **made: str) -> Verdict:
    """The verdict on item 1 of a set that was ground by 0.010 in; the others came out at `undersize`."""
    operation = {"main_journal": "grind_main_journals", "crank_pin": "grind_crank_pins"}[kind]
    others = {"main_journal": "2, 3", "crank_pin": "2"}[kind]
    bench = Bench(**made)
    bench.more(f"done:\n  - {{operation: {operation}, part: {kind}, to_size: -0.010 in}}\n")
    bench.line(f"{{part: {kind}, moment: after machining, otherwise: none}}")
    right = even("journal_diameter", JOURNAL, f"{undersize} in")
    made_so = readings("journal_diameter", sizes)
    for place, figures in ((others, right), ("1", made_so)):
        bench.line(
            f'{{part: {kind}, place: "{place}", moment: after machining, readings: {{{figures}, {PLAY}}}}}'
        )
    return of(bench.decide(), kind, "1")


def _sent_back(verdict: Verdict, kind: str, rule: str) -> None:
    """It is not reuse: it is to be ground again, to the next listed size, and the reason names the limit."""
    assert verdict.verdict == "recondition"
    assert because(verdict) == {f"{kind.replace('_', '-')}-{rule}"}
    (work,) = verdict.operations
    assert work.operation == {"main_journal": "grind_main_journals", "crank_pin": "grind_crank_pins"}[kind]
    assert [size.split()[0] for size in work.sizes] == ["-0.0200"]
    assert any("limit for new" in line.says for reason in verdict.reasons for line in reason.evidence)


@pytest.mark.parametrize(("kind", "undersize"), [("main_journal", "2.490"), ("crank_pin", "2.365")])
def test_out_of_round(kind: str, undersize: str) -> None:
    """Up to 5.000 in: 0.0005 in. Worn, 0.0004 in per inch: 0.0010 in for the main, 0.00095 in for the pin."""
    assert _ground(kind, undersize, _sizes(undersize, horizontal="0.0004")).verdict == "reuse"
    oval = _ground(kind, undersize, _sizes(undersize, horizontal="0.0007"))
    _sent_back(oval, kind, "out-of-round")


@pytest.mark.parametrize(("kind", "position"), [("main_journal", "2.500"), ("crank_pin", "2.375")])
def test_the_same_oval_may_go_on_where_it_was_worn_so(kind: str, position: str) -> None:
    worn = readings("journal_diameter", _sizes(position, horizontal="0.0007"))
    others = {"main_journal": "2, 3", "crank_pin": "2"}[kind]
    bench = Bench().measured(kind, "1", worn).sound(kind, others, "journal_diameter")
    assert of(bench.decide(), kind, "1").verdict == "reuse"


@pytest.mark.parametrize(
    ("length", "within", "beyond"),
    [
        ("0.9 in", "0.0001", "0.0003"),  # up to 1 in: 0.0002 in
        ("1.5 in", "0.0003", "0.0005"),  # 1 to 2 in: 0.0004 in
        ("2.1 in", "0.0004", "0.0006"),  # 2 in and longer: 0.0005 in
    ],
)
@pytest.mark.parametrize("section", ["rear", "middle"])
def test_taper_and_waist_by_the_length_of_the_journal(
    length: str, within: str, beyond: str, section: str
) -> None:
    """An hour-glass or a barrel has the limit of taper."""
    kept = _ground("crank_pin", "2.365", _sizes("2.365", **{section: within}), pin_length=length)
    assert kept.verdict == "reuse"
    tapered = _ground("crank_pin", "2.365", _sizes("2.365", **{section: beyond}), pin_length=length)
    _sent_back(tapered, "crank_pin", "tapered")


@pytest.mark.parametrize(
    ("kind", "pin", "undersize", "within", "beyond"),
    [
        ("main_journal", "", "2.490", "0.0008", "0.0012"),  # 1.5 to 10 in: 0.001 in
        ("crank_pin", "", "2.365", "0.0008", "0.0012"),
        ("crank_pin", "1.500 in", "1.490", "0.0004", "0.0006"),  # up to 1.5 in: 0.0005 in
    ],
)
def test_tolerance_of_the_diameter(kind: str, pin: str, undersize: str, within: str, beyond: str) -> None:
    """The maker gives a wear limit of 0.003 in and no tolerance of a new one."""
    low = dict.fromkeys(("front", "middle", "rear"), within)
    assert _ground(kind, undersize, _sizes(undersize, **low), pin=pin).verdict == "reuse"
    low = dict.fromkeys(("front", "middle", "rear"), beyond)
    _sent_back(_ground(kind, undersize, _sizes(undersize, **low), pin=pin), kind, "worn")


@pytest.mark.parametrize(("slant", "verdict"), [("0.0008", "reuse"), ("0.0012", "recondition")])
def test_pin_parallel_with_the_mains(slant: str, verdict: str) -> None:
    """Within 0.001 in. The maker gives no limit for a worn one."""
    slanting = single("pin_parallelism", f"{slant} in")
    bench = Bench().more("done:\n  - {operation: grind_crank_pins, part: crank_pin, to_size: -0.010 in}\n")
    bench.line("{part: crank_pin, moment: after machining, otherwise: none}")
    right = even("journal_diameter", JOURNAL, "2.3645 in")
    bench.line(
        f"{{part: crank_pin, place: all, moment: after machining, readings: {{{right}, {PLAY}, {slanting}}}}}"
    )
    pin = of(bench.decide(), "crank_pin", "1")
    assert pin.verdict == verdict
    assert because(pin) == ({"crank-pin-out-of-line"} if verdict == "recondition" else set())


def _bore(size: str, **more: str) -> str:
    """Sizes all over a bearing bore, more by so much at positions with a word in their name."""
    return readings(
        "housing_bore",
        {
            position: _inches(
                Fraction(size) + sum(Fraction(more.get(word, "0")) for word in position.split())
            )
            for position in BORE
        },
    )


def _bored(part: str, operation: str, *lines: str) -> Verdict:
    """The verdict on item 1 of a kind whose bores were worked on, with these readings after it."""
    names = {line.split(":")[0] for line in lines}
    kept = [line for line in SOUND[part] if line.split(":")[0] not in names]
    bench = Bench().more(f"done:\n  - {{operation: {operation}, part: {part}}}\n")
    bench.line(f"{{part: {part}, moment: after machining, otherwise: none}}")
    bench.line(
        f"{{part: {part}, place: all, moment: after machining, readings: {{{', '.join([*lines, *kept])}}}}}"
    )
    return of(bench.decide(), part, "1")


@pytest.mark.parametrize(
    ("line", "verdict"),
    [
        # Bore 0.0005 in up to 3.250 in; the maker's wear limit is 0.0015 in.
        (_bore("2.5174"), "reuse"),
        (_bore("2.5178"), "recondition"),
        # Out-of-round 0.001 in; the width of 1.400 in allows 0.0004 in of taper.
        (_bore("2.5171", front="0.0003"), "reuse"),
        (_bore("2.5170", front="0.00045"), "recondition"),
    ],
)
def test_a_resized_big_end(line: str, verdict: str) -> None:
    assert _bored("connecting_rod", "resize_big_end", line).verdict == verdict


@pytest.mark.parametrize(
    ("line", "verdict"),
    [
        # Out-of-round 0.001 in; the maker's wear limit is 0.0020 in.
        (_bore("2.6820", horizontal="0.0008"), "reuse"),
        (_bore("2.6820", horizontal="0.0012"), "recondition"),
        # In line within 0.001 in between neighbours and 0.002 in over all; worn, 0.002 and 0.004 in.
        (single("bore_step_adjacent", "0.0008 in"), "reuse"),
        (single("bore_step_adjacent", "0.0012 in"), "recondition"),
        (single("bore_line_overall", "0.0018 in"), "reuse"),
        (single("bore_line_overall", "0.0022 in"), "recondition"),
    ],
)
def test_line_bored_mains(line: str, verdict: str) -> None:
    assert _bored("main_bore", "line_bore_mains", line).verdict == verdict


def _set_float(shaft: str, end_float: str) -> Verdict:
    """The verdict on the front washer after the end float was set with new washers."""
    bench = Bench(shaft=shaft).more("done:\n  - {operation: renew_thrust_washers, part: crankshaft}\n")
    reading = single("end_float", f"{end_float} in")
    bench.line(f"{{part: crankshaft, place: all, moment: after machining, readings: {{{reading}}}}}")
    return of(bench.decide(), "thrust_washer", "front")


@pytest.mark.parametrize(
    ("shaft", "least", "most"),
    [
        ("2.500 in", "0.003", "0.007"),  # 2.000 to 2.750 in
        ("3.000 in", "0.005", "0.009"),  # 2.813 to 3.500 in
        ("4.000 in", "0.007", "0.011"),  # 3.500 in and over
    ],
)
def test_end_float_by_the_diameter_of_the_shaft(shaft: str, least: str, most: str) -> None:
    step = Fraction("0.0005")
    for inside in (Fraction(least) + step, Fraction(most) - step):
        assert _set_float(shaft, f"{float(inside):.4f}").verdict == "reuse"
    slack = _set_float(shaft, f"{float(Fraction(most) + step):.4f}")
    assert (slack.verdict, because(slack)) == ("replace", {"thrust-washer-end-float-beyond"})
    tight = _set_float(shaft, f"{float(Fraction(least) - step):.4f}")
    assert (tight.verdict, because(tight)) == ("replace", {"thrust-washer-leaves-no-float"})
