"""What would it cost in shoes to book this horse again in 4 weeks, or in 10?"""

import numpy as np
import polars as pl

from pipelines.analyses import horse_losses as horses
from pipelines.stats.gamma_poisson import Spread, gamma_poisson, shrunk
from pipelines.stats.poisson import exact_limits
from schemas.results import IntervalGuide

BOOKING_WEEKS = range(4, 11)
ENDS = ("front", "hind")
FEW_LOSSES = 5
BAND_STARTS = np.array((0, *horses.BAND_ENDS), dtype=float)
BAND_STOPS = np.array((*horses.BAND_ENDS, np.inf))

_VISITS = """(
    select horse_id, discipline, fitted_visit_id, count(*) as nailed, count(*) filter ("end" = 'hind') as hinds
    from derived.shoe_spells group by all
)"""
_USUAL = "quantile_disc(nailed, 0.5) as shoes_at_once, sum(hinds)::double / sum(nailed)::double as hind_share"

COUNTS = {
    **horses.COUNTS,
    "usual": f"""
select 'horse' as dimension, horse_id as level, discipline, {_USUAL} from {_VISITS} group by all
union all
select 'discipline', discipline, discipline, {_USUAL} from {_VISITS} group by all
order by dimension desc, level
""",
}


def interval_guide(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Chance of losing at least one shoe, and losses expected, by a booking at 4 to 10 weeks → `interval_guide`.

    The hazard of a shoe is the record's by age band and end, times the discipline's losses over those expected so.
    A horse's is that times its shrunk ratio, whose spread goes into the chance; low and high are the chance at the
    2.5 % and 97.5 % points of that ratio. A discipline's limits are those of its exact ratio: they speak of a horse
    that is average for it. shoes_at_once: the median nailed at one visit, split between front and hind as its shoes
    are. Shoes of one visit are taken as independent given the horse.
    """
    usual = counts["usual"]
    if usual.is_empty():
        return {"interval_guide": IntervalGuide.empty()}
    hazard = _hazard(counts["cells"])
    ratios = _discipline_ratios(counts["cells"], hazard)
    own = _horse_ratios(horses.horse_losses(counts)["horse_losses"])
    table = usual.join(ratios, on="discipline", how="left", validate="m:1").join(
        own, left_on="level", right_on="horse_id", how="left"
    )
    risks = {weeks: _shoe_risk(hazard, 7 * weeks) for weeks in BOOKING_WEEKS}
    rows = [_row(line, weeks, risk) for line in table.to_dicts() for weeks, risk in risks.items()]
    return {"interval_guide": IntervalGuide.check(pl.DataFrame(rows, schema=IntervalGuide.dtypes()))}


def _hazard(cells: pl.DataFrame) -> dict[str, np.ndarray]:
    """Losses a shoe-day of each age band, by end; a band nobody was followed in has the rate of the end."""
    rates = {}
    for end in ENDS:
        own = cells.filter(pl.col("end") == end)
        days, losses = (_sums(own, part) for part in ("days", "losses"))
        overall = losses.sum() / days.sum() if days.sum() else 0.0
        rates[end] = np.where(days > 0, losses / np.where(days > 0, days, 1), overall)
    return rates


def _sums(cells: pl.DataFrame, part: str) -> np.ndarray:
    columns = [pl.col(f"{part}_{band}").sum() for band in range(len(BAND_STARTS))]
    return cells.select(columns).fill_null(0).to_numpy()[0].astype(float)


def _discipline_ratios(cells: pl.DataFrame, hazard: dict[str, np.ndarray]) -> pl.DataFrame:
    """Each discipline's losses over those its shoe-days would bring at the record's own hazard, with exact limits."""
    rows = []
    for (discipline,), own in cells.group_by("discipline", maintain_order=True):
        expected = sum(hazard[end] @ _sums(own.filter(pl.col("end") == end), "days") for end in ENDS)
        losses = _sums(own, "losses").sum()
        low, high = (float(limit) for limit in exact_limits(losses))
        known = (losses / expected, low / expected, high / expected) if expected > 0 else (None, None, None)
        rows.append((discipline, int(losses), *known))
    names = ["discipline", "losses", "ratio", "ratio_low", "ratio_high"]
    return pl.DataFrame(rows, schema=names, orient="row")


def _horse_ratios(found: pl.DataFrame) -> pl.DataFrame:
    """Shape and rate of each horse's ratio, its 2.5 % and 97.5 % points; shape is inf where horses do not differ."""
    known = found.filter(pl.col("expected") > 0).select("horse_id", "losses", "expected")
    losses, expected = known["losses"].to_numpy(), known["expected"].to_numpy()
    spread = gamma_poisson(losses, expected) if known.height else None
    if spread is None:
        return pl.DataFrame(
            schema={"horse_id": pl.String} | dict.fromkeys(("shape", "rate", "mean", "low", "high"), pl.Float64)
        )
    belief = shrunk(spread, losses, expected)
    shape, rate = _posterior(spread, losses, expected)
    return known.select("horse_id").with_columns(
        shape=pl.Series(shape),
        rate=pl.Series(rate),
        mean=pl.Series(belief.mean),
        low=pl.Series(belief.low),
        high=pl.Series(belief.high),
    )


def _posterior(spread: Spread, losses: np.ndarray, expected: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    return spread.shape + losses, spread.rate + expected


def _shoe_risk(hazard: dict[str, np.ndarray], days: int) -> np.ndarray:
    """Summed hazard of one shoe by that day, front and hind."""
    worn = np.maximum(np.minimum(days, BAND_STOPS) - BAND_STARTS, 0)
    return np.array([hazard[end] @ worn for end in ENDS])


def _row(line: dict, weeks: int, risk: np.ndarray) -> dict[str, object]:
    shoes = line["shoes_at_once"] * np.array([1 - line["hind_share"], line["hind_share"]])
    row = {name: line[name] for name in ("dimension", "level", "shoes_at_once")} | {"weeks": weeks}
    if not line["ratio"]:
        return row | {"note": "no horse of this discipline lost a shoe: no rate to go by"}
    risk = risk * line["ratio"]
    few = f"fewer than {FEW_LOSSES} losses in this discipline: take it as a rough guide"
    note = few if line["losses"] < FEW_LOSSES else None
    if line["dimension"] == "discipline":
        limits = (line["ratio_low"] / line["ratio"], line["ratio_high"] / line["ratio"])
        return row | _chances(shoes, risk, np.inf, 1.0, 1.0, limits) | {"note": note}
    if line["mean"] is None:
        return row | {"note": "no peers to compare this horse with"}
    return row | _chances(shoes, risk, line["shape"], line["rate"], line["mean"], (line["low"], line["high"])) | {
        "note": note
    }  # fmt: skip


def _chances(
    shoes: np.ndarray, risk: np.ndarray, shape: float, rate: float, ratio: float, limits: tuple[float, float]
) -> dict[str, float]:
    """Expected losses and chance of one, over what is believed of the ratio: Gamma(shape, rate), or `ratio` itself."""

    def kept(hazard: np.ndarray) -> np.ndarray:
        return np.exp(-ratio * hazard) if np.isinf(shape) else (1 + hazard / rate) ** -shape

    total = float(shoes @ risk)
    return {
        "expected_losses": float(shoes @ (1 - kept(risk))),
        "chance_of_a_loss": float(1 - kept(np.array(total))),
        "low": float(1 - np.exp(-limits[0] * total)),
        "high": float(1 - np.exp(-limits[1] * total)),
    }
