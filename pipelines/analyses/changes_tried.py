"""Did it help? Losses of one horse before and after something was changed, and what chance alone would have done."""

import numpy as np
import polars as pl
from scipy.special import betainc, pdtr

from pipelines.analyses import horse_losses as horses
from pipelines.stats.gamma_poisson import Spread, gamma_poisson, shrunk
from pipelines.stats.rate_ratio import exact_ratio_limits
from schemas.results import ChangesTried

WINDOW_DAYS = 365
KEY = ("horse_id", "foot", "changed_on", "what")
LOW, HIGH = 0.025, 0.975


def _band_rows() -> str:
    edges = zip((0, *horses.BAND_ENDS), (*horses.BAND_ENDS, 1_000_000), strict=True)
    return ", ".join(f"({band}, {start}, {stop})" for band, (start, stop) in enumerate(edges))


COUNTS = {
    **horses.COUNTS,
    "changes": """
select horse_id, foot, changed_on, what from accepted.changes where changed_on <= getvariable('as_of')::date
""",
    # Age at which a shoe enters and leaves the year before the change, or the year after it.
    "periods": f"""
with worn as (
    select c.horse_id, c.foot, c.changed_on, c.what, s.discipline, s."end", s.end_reason, s.ended_on, s.days_on,
           (c.changed_on - s.fitted_on)::integer as age_then
    from accepted.changes c
    join derived.shoe_spells s on s.horse_id = c.horse_id and c.foot in ('all', s.foot)
    where c.changed_on <= getvariable('as_of')::date
),
parts as (
    select *, 'before' as period, greatest(0, age_then - {WINDOW_DAYS}) as enters, least(days_on, age_then) as leaves
    from worn where age_then > 0
    union all
    select *, 'after', greatest(0, age_then), least(days_on, age_then + {WINDOW_DAYS})
    from worn where age_then <= days_on and not (age_then = days_on and age_then > 0)
)
select horse_id, foot, changed_on, what, discipline, "end", band, period,
       sum(case when days_on = 0 then 0.5::double else least(leaves, stop) - greatest(enters, start) end) as shoe_days,
       count(*) filter (end_reason = 'lost' and leaves = days_on and (days_on > start or band = 0) and days_on <= stop)
           as losses
from parts join (values {_band_rows()}) bands(band, start, stop)
    on case when days_on = 0 then band = 0 else least(leaves, stop) > greatest(enters, start) end
where leaves >= enters
group by all
""",
}


def changes_tried(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses and those expected of the peers in the year before and after each change → `changes_tried`.

    A shoe is before the change until that day and after it from then on; a loss found on the day counts as before.
    Expected is as in `horse_losses`: peers of one age band, discipline and end. change_ratio sets losses over expected
    after against before, with exact limits. losses_by_chance is what the horse would lose afterwards if nothing had
    changed: its ratio before, drawn to that of all horses (gamma-Poisson), times the losses expected; chance_low and
    chance_high hold 95 % of what would then be found. A horse is mostly changed when it has lost many, and so loses
    fewer afterwards whatever is done: Bland & Altman 1994, BMJ 309:780 (regression towards the mean).
    Sources: `pipelines.stats.rate_ratio`, `pipelines.stats.gamma_poisson`.
    """
    cells = horses.beside_peers(counts["cells"])
    rates = cells.select("horse_id", "discipline", "end", "band", rate=pl.col("expected") / pl.col("shoe_days"))
    # In one order, so that sums have the same last digit however the store hands the rows over.
    periods = (
        counts["periods"]
        .sort(*KEY, "period", "discipline", "end", "band")
        .join(rates, on=["horse_id", "discipline", "end", "band"], how="left", validate="m:1")
    )
    sides = {side: _side(periods, side) for side in ("before", "after")}
    table = counts["changes"].join(sides["before"], on=KEY, how="left").join(sides["after"], on=KEY, how="left")
    table = table.with_columns(pl.col("losses_before", "losses_after").fill_null(0))
    table = table.with_columns(pl.col("shoe_days_before", "shoe_days_after").fill_null(0.0)).sort(KEY)
    spread = _spread(cells) if table.height else None
    rows = [_row(row, spread) for row in table.to_dicts()]
    return {"changes_tried": ChangesTried.check(pl.DataFrame(rows, schema=ChangesTried.dtypes()))}


def _side(periods: pl.DataFrame, side: str) -> pl.DataFrame:
    """Shoe-days, losses and expected losses of every change on one side of it."""
    part = periods.filter(period=side).with_columns(expected=pl.col("shoe_days") * pl.col("rate"))
    known = pl.when(pl.col("expected").null_count() == 0).then(pl.col("expected").sum())
    return part.group_by(KEY).agg(
        pl.col("shoe_days").sum().alias(f"shoe_days_{side}"),
        pl.col("losses").sum().alias(f"losses_{side}"),
        known.alias(f"expected_{side}"),
    )


def _spread(cells: pl.DataFrame) -> Spread | None:
    """How much horses differ in truth."""
    known = pl.when(pl.col("expected").null_count() == 0).then(pl.col("expected").sum())
    each = cells.sort("horse_id").group_by("horse_id", maintain_order=True).agg(pl.col("losses").sum(), known)
    each = each.filter(pl.col("expected") > 0)
    return gamma_poisson(each["losses"].to_numpy(), each["expected"].to_numpy()) if each.height else None


def _row(row: dict, spread: Spread | None) -> dict:
    before, after = row["expected_before"], row["expected_after"]
    ratios = {side: _over(row[f"losses_{side}"], row[f"expected_{side}"]) for side in ("before", "after")}
    figures = {f"ratio_{side}": ratio for side, ratio in ratios.items()}
    if ratios["before"] and ratios["after"] is not None:
        low, high = exact_ratio_limits(row["losses_after"], after, row["losses_before"], before)
        figures |= {"change_ratio": ratios["after"] / ratios["before"], "low": low, "high": _finite(high)}
    if spread is not None and before and after:
        figures |= _by_chance(spread, row["losses_before"], before, after)
    return row | figures | {"note": _note(row)}


def _over(losses: int, expected: float | None) -> float | None:
    return losses / expected if expected else None


def _finite(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _by_chance(spread: Spread, losses: int, before: float, after: float) -> dict[str, float]:
    own = shrunk(spread, np.array([losses]), np.array([before])).mean[0]
    low, high = (_quantile(spread, losses, before, after, share) for share in (LOW, HIGH))
    return {"shrunk_before": own, "losses_by_chance": own * after, "chance_low": low, "chance_high": high}


def _quantile(spread: Spread, losses: int, before: float, after: float, share: float) -> float:
    """Smallest count that holds `share` of what is found where the horse's ratio is as it was: negative binomial."""
    count = np.arange(0, 200 + 20 * int(np.ceil(after + losses)))
    if np.isinf(spread.shape):
        held = pdtr(count, spread.mean * after)
    else:
        rate = spread.rate + before
        held = betainc(spread.shape + losses, count + 1.0, rate / (rate + after))
    return float(np.searchsorted(held, share))


def _note(row: dict) -> str | None:
    if not row["shoe_days_before"]:
        return "no shoe was followed in the year before it"
    if not row["shoe_days_after"]:
        return "no shoe has been followed since"
    if not row["expected_before"] or not row["expected_after"]:
        return "no other horse of this discipline has lost a shoe to compare with"
    if row["losses_before"] + row["losses_after"] < 3:
        return "fewer than 3 losses in all: this can tell nothing"
    return None
