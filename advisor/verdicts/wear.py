"""How long what is put back will last, in words; it stands beside the verdict and never changes it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from advisor.gauging import GaugedDimension
from advisor.gauging.lasting import Lasting, Running, lasting
from advisor.sheets.bench import Bench
from advisor.sheets.ruleset import RuleSet
from advisor.verdicts.model import WearForecast
from advisor.verdicts.words import Teller


def forecasts(
    bench: Bench,
    ruleset: RuleSet,
    teller: Teller,
    index: int,
    gauged: Mapping[str, GaugedDimension],
    running: Running,
) -> tuple[WearForecast, ...]:
    """The forecasts for one item, the one that is soonest at its limit first."""
    told = [
        _told(each, gauged[each.dimension], ruleset, teller, running)
        for each in lasting(bench, ruleset, index, gauged, running)
    ]
    return tuple(sorted(told, key=lambda each: (each.at_least, each.dimension)))


def _told(
    each: Lasting, gauged: GaugedDimension, ruleset: RuleSet, teller: Teller, running: Running
) -> WearForecast:
    dimension = ruleset.vocabulary.dimensions[each.dimension]
    forecast, limit = each.forecast, gauged.standings["discard"].limit
    assert gauged.measure is not None  # what has a forecast has both
    assert limit is not None
    return WearForecast(
        dimension=each.dimension,
        label=dimension.label,
        outcome=forecast.outcome,
        probability=_percent(forecast.probability),
        hours_run=_down(running.hours),
        hours_wanted=_up(running.wanted),
        hours_left=None if forecast.remaining is None else _down(forecast.remaining),
        at_least=_down(forecast.least),
        at_most=None if forecast.most is None else _up(forecast.most),
        look_again=_down(forecast.look_again),
        beyond_observed=forecast.beyond_observed,
        value=teller.size(gauged.measure.value, dimension.quantity),
        limit=teller.limit(limit, dimension.quantity),
        when_new=teller.size(each.when_new, dimension.quantity),
        says=f"{dimension.label}: {forecast.words[:1].lower()}{forecast.words[1:]}",
    )


def _percent(probability: float) -> str:
    if probability > 0.999:
        return "over 99.9 %"
    return "under 0.1 %" if probability < 0.001 else f"{100 * probability:.1f} %"


def _down(hours: Decimal) -> int:
    return int(hours.to_integral_value(ROUND_FLOOR))


def _up(hours: Decimal) -> int:
    return int(hours.to_integral_value(ROUND_CEILING))


def notes(forecasts: Iterable[WearForecast]) -> Iterator[str]:
    """What is put back and will not last as long as is wanted, or of which nobody can tell.

    Without the sizes, so that places of which the same is to be said stay together; the forecasts hold them.
    """
    for each in forecasts:
        if each.outcome == "lasts":
            continue
        hours = f"the {each.hours_wanted} h wanted"
        if each.outcome == "does not last":
            says = f"{each.label} will not stay within its discard limit for {hours}, at the rate it has worn"
        else:
            says = f"whether {each.label} stays within its discard limit for {hours} cannot be told"
        if each.beyond_observed:
            says += (
                f"; that is further ahead than the {each.hours_run} h it has run, and it is assumed, not "
                "known, that wear goes on evenly"
            )
        yield says
