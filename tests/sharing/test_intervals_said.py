"""What a summary says of a horse's intervals."""

import pytest

from reports.share.tables_of_horse import visits_said


@pytest.mark.parametrize(
    ("days", "said"),
    [([49], "2 visits; one interval, 49 days;"), ([49, 42], "3 visits; intervals of 42 to 49 days;")],
)
def test_one_interval_is_no_range(days, said):
    visits = [{"days": None, "days_late": None}, *({"days": one, "days_late": 0} for one in days)]
    assert visits_said(visits, "").startswith(said)
