"""Days in three pairs of digits that each may begin or end with the year: told by all of them together, or by nothing.

12/06/25 and 19/06/25 lie a week apart with the year last, seven years with it first.
"""

from collections.abc import Sequence

from pipelines.intake.spellings.days import years_both_ways

NEAR_YEARS = 10
"""Records are seldom taken in that are older: a reading that puts a day so far back yields to one that does not."""


def may_begin_with_their_year(days: Sequence[str], latest_year: int) -> bool:
    """Whether such days, all of one export, can as well begin with their year as end with it."""
    both = [years for day in days if (years := years_both_ways(day, latest_year))]
    if not both:
        return False
    first, last = zip(*both, strict=True)
    near_first, near_last = (min(years) > latest_year - NEAR_YEARS for years in (first, last))
    if near_first != near_last:
        return near_first
    return max(first) - min(first) <= max(last) - min(last)
