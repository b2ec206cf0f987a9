"""What is said to have pulled the shoes that were lost?"""

import polars as pl

from schemas.results import LossCauses

COUNTS = {
    "causes": """
select coalesce(cause, 'unknown') as cause, count(*) as losses
from derived.shoe_spells where end_reason = 'lost' group by all
"""
}


def loss_causes(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Lost shoes by reported cause, the most frequent first; a blank cause is unknown → `loss_causes`."""
    causes = counts["causes"].with_columns(cause_share=pl.col("losses") / pl.col("losses").sum())
    return {"loss_causes": LossCauses.check(causes.sort(-pl.col("losses"), "cause"))}
