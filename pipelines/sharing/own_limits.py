"""How often one horse loses a shoe, and how often a look finds a bruise, each with its range."""

import numpy as np
import polars as pl

from pipelines.stats.poisson import exact_limits
from pipelines.stats.two_state import wilson_limits


def with_own_limits(horses: pl.DataFrame) -> pl.DataFrame:
    """The horses with per_1000_days and bruised_share, and 95 % limits of both; blank without shoe-days or looks.

    horses: losses, shoe_days, bruised, looks. Shoes and looks count as independent of one another. The four feet of a
    horse are alike, and so are two looks at one foot, so the true ranges are wider.
    Source: exact Poisson limits, Garwood 1936, Biometrika 28:437; score limits, Wilson 1927, J Am Stat Assoc 22:209.
    """
    low, high = exact_limits(horses["losses"].to_numpy())
    share_low, share_high = wilson_limits(horses["bruised"].to_numpy(), horses["looks"].to_numpy())
    return horses.with_columns(
        per_1000_days=_per_1000(horses["losses"].to_numpy(), horses),
        per_1000_low=_per_1000(low, horses),
        per_1000_high=_per_1000(high, horses),
        bruised_share=pl.when(pl.col("looks") > 0).then(pl.col("bruised") / pl.col("looks")),
        bruised_low=pl.Series(share_low).fill_nan(None),
        bruised_high=pl.Series(share_high).fill_nan(None),
    )


def _per_1000(losses: np.ndarray, horses: pl.DataFrame) -> pl.Expr:
    days = horses["shoe_days"]
    return pl.when(days > 0).then(1000 * pl.Series(losses) / days)
