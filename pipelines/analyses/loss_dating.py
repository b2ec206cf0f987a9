"""How closely are the days on which shoes came off known?"""

import polars as pl

from pipelines.analyses.shoe_risk import CALLED
from pipelines.analyses.splits import in_order, named, split
from schemas.results import LossDating

DIMENSIONS = named("discipline", "end")
WIDE_DAYS = 7

# A reported loss ends on the day it was found and is exact, whatever lay before; any other ends at a midpoint.
COUNTS = {
    "dating": split(
        DIMENSIONS,
        "count(*) as losses, count(*) filter (wide) as wide, count(*) filter (wide and called) as wide_at_call_outs",
        f"""(select *, coalesce(ended_on <> lost_by and lost_by - lost_after > {WIDE_DAYS}, false) as wide,
                {CALLED} as called from derived.shoe_spells spells where end_reason = 'lost')""",
    )
}


def loss_dating(counts: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Losses, and those known only to lie between two days over a week apart → `loss_dating`.

    wide_at_call_outs: those of the second that were found at a call-out and given no day by anyone. They came off
    shortly before it, which a curve made of the two days alone cannot know: it puts them too early.
    Where the second are over a tenth, the product-limit curve of `retention` leans on guessed days, and the curve of
    `retention_interval` is the one to draw.
    """
    return {"loss_dating": LossDating.check(in_order(counts["dating"], DIMENSIONS))}
