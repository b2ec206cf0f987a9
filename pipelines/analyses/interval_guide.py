"""What would it cost in shoes to book this horse again in 4 weeks, or in 10?"""

import numpy as np
import polars as pl

from pipelines.analyses import horse_losses as horses
from pipelines.analyses import shoe_risk
from pipelines.analyses.shoe_risk import ENDS, days_in_bands, hazard_by_age, horse_sums, peers_ratios, work_ratios
from pipelines.analyses.splits import NO_RANGE
from pipelines.stats.gamma_poisson import gamma_poisson, shrunk
from schemas.results import IntervalGuide

BOOKING_WEEKS = range(4, 11)
FEW_LOSSES = 5
ENOUGH_FOLLOWED = 10
DAYS_A_YEAR = 365.25
FOUND = ("losses", "expected")
FEW_PEERS = "few others do its work: a guess, so no range"
ALIKE = "horses differ no more than chance would make them, so it has the ratio of all and no range of its own"

_VISITS = """(
    select horse_id, discipline, fitted_visit_id, count(*) as nailed, count(*) filter ("end" = 'hind') as hinds
    from derived.shoe_spells group by all
)"""
_USUAL = "quantile_disc(nailed, 0.5) as shoes_at_once, sum(hinds)::double / sum(nailed)::double as hind_share"
_FOLLOWED = ", ".join(f"count(*) filter (days_on >= {7 * weeks}) as followed_{weeks}" for weeks in BOOKING_WEEKS)

COUNTS = {
    **horses.COUNTS,
    **shoe_risk.COUNTS,
    "usual": f"""
select 'horse' as dimension, horse_id as level, discipline, {_USUAL} from {_VISITS} group by all
union all
select 'discipline', discipline, discipline, {_USUAL} from {_VISITS} group by all
order by dimension desc, level
""",
    "followed": f"select discipline, {_FOLLOWED} from derived.shoe_spells group by all",
}


def interval_guide(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Chance of losing at least one shoe, and losses expected, by a booking at 4 to 10 weeks → `interval_guide`.

    The hazard of a shoe is the record's by age band and end (`shoe_risk.hazard_by_age`). A discipline's is that times
    its losses over those expected so; its limits are those of that ratio with horses as the units, and speak of a
    horse that is average for it. A horse's is that of its peers (`shoe_risk.peers_ratios`) times its shrunk ratio,
    whose spread goes into the chance; low and high are the chance at the 2.5 % and 97.5 % points of that ratio.
    shoes_at_once: the median nailed at one visit, split between front and hind as its shoes are. losses_per_year: the
    same booked all year, one interval after the other. Shoes of one visit are taken as independent given the horse.
    Blank for a booking that fewer than 10 shoes of that discipline were followed to.
    """
    usual = counts["usual"]
    if usual.is_empty():
        return {"interval_guide": IntervalGuide.empty()}
    hazard = hazard_by_age(counts)
    sums = horse_sums(counts["cells"], hazard)
    found = horses.horse_losses(counts)["horse_losses"]
    own = _horse_ratios(found).join(peers_ratios(sums, found), on="horse_id", how="left", validate="1:1")
    own = own.join(found.select("horse_id", "few_peers"), on="horse_id", how="left", validate="1:1")
    table = (
        usual.join(work_ratios(sums), on="discipline", how="left", validate="m:1")
        .join(own, left_on="level", right_on="horse_id", how="left")
        .join(counts["followed"], on="discipline", how="left", validate="m:1")
    )
    risks = {weeks: _shoe_risk(hazard, 7 * weeks) for weeks in BOOKING_WEEKS}
    rows = [_row(line, weeks, risk) for line in table.to_dicts() for weeks, risk in risks.items()]
    return {"interval_guide": IntervalGuide.check(pl.DataFrame(rows, schema=IntervalGuide.dtypes()))}


def _horse_ratios(found: pl.DataFrame) -> pl.DataFrame:
    """Shape and rate of each horse's ratio, its 2.5 % and 97.5 % points; shape is inf where horses do not differ.

    A horse of which nothing was expected yet has the spread of all.
    """
    known = pl.col("expected").fill_null(0) > 0
    losses, expected = (found.select(pl.when(known).then(name).otherwise(0)).to_series().to_numpy() for name in FOUND)
    spread = gamma_poisson(losses[expected > 0], expected[expected > 0]) if (expected > 0).any() else None
    if spread is None:
        return pl.DataFrame(
            schema={"horse_id": pl.String} | dict.fromkeys(("shape", "rate", "mean", "low", "high"), pl.Float64)
        )
    belief = shrunk(spread, losses, expected)
    return found.select("horse_id").with_columns(
        shape=pl.Series(spread.shape + losses),
        rate=pl.Series(spread.rate + expected),
        mean=pl.Series(belief.mean),
        low=pl.Series(belief.low),
        high=pl.Series(belief.high),
    )


def _shoe_risk(hazard: dict[str, np.ndarray], days: int) -> np.ndarray:
    """Summed hazard of one shoe by that day, front and hind."""
    return np.array([hazard[end] @ days_in_bands(0, days) for end in ENDS])


def _row(line: dict, weeks: int, risk: np.ndarray) -> dict[str, object]:
    shoes = line["shoes_at_once"] * np.array([1 - line["hind_share"], line["hind_share"]])
    row = {name: line[name] for name in ("dimension", "level", "shoes_at_once")} | {"weeks": weeks}
    if not line["ratio"]:
        return row | {"note": "no horse of this discipline lost a shoe: no rate to go by"}
    if line[f"followed_{weeks}"] < ENOUGH_FOLLOWED:
        return row | {"note": f"fewer than {ENOUGH_FOLLOWED} shoes of this discipline were followed so long"}
    few = f"fewer than {FEW_LOSSES} losses in this discipline: take it as a rough guide"
    notes = [few] if line["losses"] < FEW_LOSSES else []
    if line["dimension"] == "discipline":
        known = line["ratio_low"] is not None
        limits = tuple(line[name] / line["ratio"] for name in ("ratio_low", "ratio_high")) if known else None
        notes += [] if known else [NO_RANGE]
        said = _chances(shoes, risk * line["ratio"], np.inf, 1.0, 1.0, limits)
    elif line["mean"] is None or not line["peers"]:
        return row | {"note": "no peers to compare this horse with"}
    else:
        alike = np.isinf(line["shape"])
        limits = None if line["few_peers"] or alike else (line["low"], line["high"])
        notes = [ALIKE] if alike else []
        notes = [FEW_PEERS] if line["few_peers"] else notes
        said = _chances(shoes, risk * line["peers"], line["shape"], line["rate"], line["mean"], limits)
    said["losses_per_year"] = said["expected_losses"] * DAYS_A_YEAR / (7 * weeks)
    return row | said | {"note": "; ".join(notes) or None}


def _chances(
    shoes: np.ndarray, risk: np.ndarray, shape: float, rate: float, ratio: float, limits: tuple[float, ...] | None
) -> dict[str, float | None]:
    """Expected losses and chance of one, over what is believed of the ratio: Gamma(shape, rate), or `ratio` itself."""

    def kept(hazard: np.ndarray) -> np.ndarray:
        return np.exp(-ratio * hazard) if np.isinf(shape) else (1 + hazard / rate) ** -shape

    total = float(shoes @ risk)
    low, high = (float(1 - np.exp(-limit * total)) for limit in limits) if limits else (None, None)
    return {
        "expected_losses": float(shoes @ (1 - kept(risk))),
        "chance_of_a_loss": float(1 - kept(np.array(total))),
        "low": low,
        "high": high,
    }
