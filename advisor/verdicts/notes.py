"""What is said beside a verdict: where sizes lie between the limits, and a risk that could not be taken."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from advisor.gauging import GaugedDimension
from advisor.sheets.case import Risk
from advisor.sheets.vocabulary import Answer, VocabularyFile


def limit_notes(
    dimensions: Mapping[str, GaugedDimension],
    vocabulary: VocabularyFile,
    barred_on: Callable[[str], Sequence[str]],
    slips: Mapping[str, str],
) -> Iterator[str]:
    """Notes on the dimensions of an item that is to be reused, in the order of their names.

    `barred_on` gives the other items that are barred because of a dimension of this one, in words, and
    `slips` what is odd about its discard limit, where anything is.
    """
    for name, gauged in sorted(dimensions.items()):
        label = vocabulary.dimensions[name].label
        discard = gauged.standings.get("discard")
        beyond_discard = discard is not None and discard.outcomes.isdisjoint(("inside",))
        if beyond_discard and gauged.measure is not None:
            barred = barred_on(name)
            if barred:
                yield f"{label} is beyond its discard limit, and bars {', '.join(barred)}: not this part"
            else:
                yield f"{label} is beyond its discard limit, and no rule bars on it: see the maker's manual"
        if gauged.measure is not None:
            for purpose, each in gauged.standings.items():
                house = each.limit.house if each.limit is not None else None
                if house is not None and house.change != "tighten":
                    done = "loosened" if house.change == "loosen" else "exchanged"
                    yield (
                        f"{label} is judged by a limit for {purpose} that the house has {done}: {house.by} "
                        f"on {house.on}, {house.because.rstrip('.')}"
                    )
        if gauged.measure is not None and not beyond_discard and name in slips:
            yield f"{label} is judged by a limit for discard that looks like a slip: {slips[name]}"
        reassembly = gauged.standings.get("reassembly")
        if reassembly is None or reassembly.limit is None or gauged.measure is None:
            continue
        if not beyond_discard and reassembly.outcomes != frozenset(("inside",)):
            beyond = "in doubt against" if "inside" in reassembly.outcomes else "beyond"
            yield (
                f"{label} is {beyond} the limit for reassembly and inside the one for discard: "
                "reuse only in its own place"
            )
        if any(each.limit is not None and each.limit.rule_of_thumb for each in gauged.standings.values()):
            yield f"{label} is judged by a handbook's rule of thumb; the engine maker's manual governs"


def risk_note(risk: Risk, possible: Sequence[Answer], *, asked: bool) -> str | None:
    """Why a risk that somebody takes by name is not taken into account; None where it is.

    `possible` are the answers that are left, and `asked` says whether something can still be looked at.
    """
    if len(possible) == 1:
        why = (
            "the verdict stands without it"
            if risk.answer in possible
            else f"the verdict stands: {possible[0]}"
        )
    elif risk.answer not in possible:
        why = f"{risk.answer} is ruled out"
    elif asked:
        why = "what is wanted can still be looked at"
    else:
        return None
    return f"risk of {risk.answer} by {risk.by} not taken into account: {why}"
