"""What a vet practice may see: the allow-list. A column that is not declared here does not exist in a summary.

Horses and visits carry numbers of the summary's own. The practice's codes stay behind: where an export has none they
are put together from the yard's or the farrier's name.
"""

import polars as pl

from schemas.base import Table, column


class Cover(Table):
    """The one row is what the summary is of and how far its readings can be trusted."""

    summary: pl.String = column("summary", required=True)
    vet_practice: pl.String = column("vet_practice", required=True)
    as_of: pl.Date = column("as_of", required=True)
    since: pl.Date = column("since")
    first_day: pl.Date = column("first_day")
    last_day: pl.Date = column("last_day")
    horses: pl.Int64 = column("horses", required=True)
    visits: pl.Int64 = column("visits", required=True)
    angle_sd_deg: pl.Float64 = column("angle_sd_deg")
    least_change_deg: pl.Float64 = column("least_change_deg")
    contact: pl.String = column("contact")

    class Config(Table.Config):
        """Key."""

        unique = ["summary"]


class Recalls(Table):
    """One row is an earlier summary to be deleted: it holds a horse that may no longer be shared."""

    summary: pl.String = column("summary", required=True)
    shared_on: pl.Date = column("shared_on", required=True)
    sha256: pl.String = column("sha256", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["summary", "sha256"]


class SharedHorses(Table):
    """One row is one horse: who it is, and how much of it is on record."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    microchip: pl.String = column("microchip")
    ueln: pl.String = column("ueln")
    foaled_year: pl.Int64 = column("foaled_year")
    discipline: pl.String = column("discipline", required=True)
    visits: pl.Int64 = column("visits", required=True)
    feet_seen: pl.Int64 = column("feet_seen", required=True)
    looks: pl.Int64 = column("looks", required=True)
    bruised: pl.Int64 = column("bruised", required=True)
    not_looked: pl.Int64 = column("not_looked", required=True)
    readings: pl.Int64 = column("readings", required=True)
    shoes: pl.Int64 = column("shoes", required=True)
    losses: pl.Int64 = column("losses", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    per_1000_days: pl.Float64 = column("per_1000_days")
    per_1000_low: pl.Float64 = column("per_1000_low")
    per_1000_high: pl.Float64 = column("per_1000_high")
    bruised_share: pl.Float64 = column("bruised_share")
    bruised_low: pl.Float64 = column("bruised_low")
    bruised_high: pl.Float64 = column("bruised_high")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_no"]


class SharedVisits(Table):
    """One row is one visit, with the interval that led to it against the plan."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    visit_no: pl.Int64 = column("visit_no", required=True)
    visit_date: pl.Date = column("visit_date", required=True)
    visit_kind: pl.String = column("visit_kind", required=True)
    days: pl.Int64 = column("days")
    planned_weeks: pl.Float64 = column("planned_weeks")
    days_late: pl.Float64 = column("days_late")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_no", "visit_no"]


class SharedShoes(Table):
    """One row is one shoe on one foot, from nailing to its end."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    foot: pl.String = column("foot", required=True)
    fitted_on: pl.Date = column("fitted_on", required=True)
    off_on: pl.Date = column("off_on")
    end_reason: pl.String = column("end_reason", required=True)
    shoe_style: pl.String = column("shoe_style")
    shoe_material: pl.String = column("shoe_material")
    web_mm: pl.Float64 = column("web_mm")
    thickness_mm: pl.Float64 = column("thickness_mm")
    branch_past_heel_mm: pl.Float64 = column("branch_past_heel_mm")
    expansion_mm: pl.Float64 = column("expansion_mm")
    nails: pl.Int64 = column("nails")
    heel_nails: pl.Int64 = column("heel_nails")
    clips: pl.String = column("clips")
    pad: pl.String = column("pad")
    fitting: pl.String = column("fitting")
    edges_dressed: pl.Boolean = column("edges_dressed")
    sole_relief: pl.Boolean = column("sole_relief")

    class Config(Table.Config):
        """No key: a foot may be shod twice in a day."""

        unique = None


class OnTheFeet(Table):
    """One row is the last shoe of one foot and what became of it, whatever day the rest of the summary begins on."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    foot: pl.String = column("foot", required=True)
    end_reason: pl.String = column("end_reason", required=True)
    fitted_on: pl.Date = column("fitted_on", required=True)
    off_on: pl.Date = column("off_on")
    lost_by: pl.Date = column("lost_by")
    shoe_style: pl.String = column("shoe_style")
    shoe_material: pl.String = column("shoe_material")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_no", "foot"]


class SharedLosses(Table):
    """One row is one lost shoe, dated by the range in which it came off."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    foot: pl.String = column("foot", required=True)
    fitted_on: pl.Date = column("fitted_on", required=True)
    lost_after: pl.Date = column("lost_after", required=True)
    lost_by: pl.Date = column("lost_by", required=True)
    days_least: pl.Int64 = column("days_least", required=True)
    days_most: pl.Int64 = column("days_most", required=True)
    cause: pl.String = column("cause")

    class Config(Table.Config):
        """No key: a foot may be shod twice in a day."""

        unique = None


class BruiseLooks(Table):
    """One row is one foot at one visit: what was found, or that it was not looked at."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    visit_no: pl.Int64 = column("visit_no", required=True)
    visit_date: pl.Date = column("visit_date", required=True)
    foot: pl.String = column("foot", required=True)
    looked: pl.Boolean = column("looked", required=True)
    bruise_grade: pl.Int64 = column("bruise_grade")
    bruise_site: pl.String = column("bruise_site")
    again: pl.Boolean = column("again")
    same_site_again: pl.Boolean = column("same_site_again")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_no", "visit_no", "foot"]


class Readings(Table):
    """One row is the angle and the toe of one foot at one stage of one visit."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    visit_no: pl.Int64 = column("visit_no", required=True)
    visit_date: pl.Date = column("visit_date", required=True)
    foot: pl.String = column("foot", required=True)
    stage: pl.String = column("stage", required=True)
    angle_deg: pl.Float64 = column("angle_deg")
    toe_mm: pl.Float64 = column("toe_mm")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_no", "visit_no", "foot", "stage"]


class Gaps(Table):
    """One row is the difference of angle between left and right of one pair of feet at one stage of one visit."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    visit_no: pl.Int64 = column("visit_no", required=True)
    visit_date: pl.Date = column("visit_date", required=True)
    end: pl.String = column("end", required=True)
    stage: pl.String = column("stage", required=True)
    left_deg: pl.Float64 = column("left_deg", required=True)
    right_deg: pl.Float64 = column("right_deg", required=True)
    gap_deg: pl.Float64 = column("gap_deg", required=True)
    uneven: pl.Boolean = column("uneven", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["horse_no", "visit_no", "end", "stage"]


class Changes(Table):
    """One row is one thing that changed from one shoe of a foot to what came next."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    foot: pl.String = column("foot", required=True)
    changed_on: pl.Date = column("changed_on", required=True)
    change: pl.String = column("change", required=True)
    before: pl.String = column("before", required=True)
    after: pl.String = column("after", required=True)

    class Config(Table.Config):
        """No key: a foot may be shod twice in a day."""

        unique = None


class SharedAsks(Table):
    """One row is one question the farrier asks the vet about one horse."""

    horse_no: pl.Int64 = column("horse_no", required=True)
    asked_on: pl.Date = column("asked_on")
    foot: pl.String = column("foot")
    question: pl.String = column("question", required=True)

    class Config(Table.Config):
        """No key: rows may repeat."""

        unique = None


class Peers(Table):
    """One row is one group of horses to compare with; figures that rest on too few are blank."""

    measure: pl.String = column("measure", required=True)
    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    counted_to: pl.Date = column("counted_to", required=True)
    base: pl.Int64 = column("base")
    events: pl.Int64 = column("events")
    figure: pl.Float64 = column("figure")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["measure", "dimension", "level"]


class Asks(Table):
    """One row is one question as the farrier wrote it down, kept beside the export."""

    horse_id: pl.String = column("horse_id", required=True)
    asked_on: pl.Date = column("asked_on")
    foot: pl.String = column("foot")
    question: pl.String = column("question", required=True)

    class Config(Table.Config):
        """No key: rows may repeat."""

        unique = None


SHARED_TABLES: dict[str, type[Table]] = {
    "cover": Cover,
    "recalls": Recalls,
    "horses": SharedHorses,
    "visits": SharedVisits,
    "on_the_feet": OnTheFeet,
    "shoes": SharedShoes,
    "losses": SharedLosses,
    "bruise_looks": BruiseLooks,
    "readings": Readings,
    "gaps": Gaps,
    "changes": Changes,
    "asks": SharedAsks,
    "peers": Peers,
}
