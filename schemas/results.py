"""What the reports show: one class a result table, and nothing that is private.

Limits are two-sided 95 %. Too little data gives a row with blanks and a note that says why.
"""

import polars as pl

from schemas.base import Table, column


class LossRates(Table):
    """One row is the loss rate of one level of one dimension."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    horses: pl.Int64 = column("horses", required=True)
    shoes: pl.Int64 = column("shoes", required=True)
    losses: pl.Int64 = column("losses", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    per_1000_days: pl.Float64 = column("per_1000_days")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    low_clustered: pl.Float64 = column("low_clustered")
    high_clustered: pl.Float64 = column("high_clustered")
    per_100_shoes: pl.Float64 = column("per_100_shoes")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class Retention(Table):
    """One row is one day of shoe age on one product-limit curve."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    day: pl.Int64 = column("day", required=True)
    at_risk: pl.Int64 = column("at_risk", required=True)
    lost: pl.Int64 = column("lost", required=True)
    renewed: pl.Int64 = column("renewed", required=True)
    kept: pl.Float64 = column("kept", required=True)
    kept_low: pl.Float64 = column("kept_low")
    kept_high: pl.Float64 = column("kept_high")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "day"]


class ShareLostByWeeks(Table):
    """One row is the share of shoes lost by one possible booking interval."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    weeks: pl.Int64 = column("weeks", required=True)
    at_risk: pl.Int64 = column("at_risk", required=True)
    share_lost: pl.Float64 = column("share_lost")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "weeks"]


class RetentionInterval(Table):
    """One row is one innermost interval of one interval-censored curve."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    day_from: pl.Int64 = column("day_from", required=True)
    day_to: pl.Int64 = column("day_to")
    kept: pl.Float64 = column("kept", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "day_from"]


class RetentionTests(Table):
    """One row is one log-rank test between the levels of a dimension."""

    dimension: pl.String = column("dimension", required=True)
    chi2: pl.Float64 = column("chi2")
    df: pl.Int64 = column("df")
    p_value: pl.Float64 = column("p_value")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension"]


class LossFactors(Table):
    """One row is one level of one factor in the model of loss rates."""

    factor: pl.String = column("factor", required=True)
    level: pl.String = column("level", required=True)
    reference: pl.String = column("reference")
    shoes: pl.Int64 = column("shoes", required=True)
    losses: pl.Int64 = column("losses", required=True)
    rate_ratio: pl.Float64 = column("rate_ratio")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    p_value: pl.Float64 = column("p_value")
    within_horse_ratio: pl.Float64 = column("within_horse_ratio")
    within_low: pl.Float64 = column("within_low")
    within_high: pl.Float64 = column("within_high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["factor", "level"]


class LossCauses(Table):
    """One row is one reported cause of lost shoes."""

    cause: pl.String = column("cause", required=True)
    losses: pl.Int64 = column("losses", required=True)
    cause_share: pl.Float64 = column("cause_share", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["cause"]


class HorseLosses(Table):
    """One row is one horse: losses found beside losses its peers' rate would bring."""

    horse_id: pl.String = column("horse_id", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    discipline: pl.String = column("discipline", required=True)
    shoes: pl.Int64 = column("shoes", required=True)
    losses: pl.Int64 = column("losses", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    expected: pl.Float64 = column("expected")
    ratio: pl.Float64 = column("ratio")
    ratio_low: pl.Float64 = column("ratio_low")
    ratio_high: pl.Float64 = column("ratio_high")
    shrunk_ratio: pl.Float64 = column("shrunk_ratio")
    shrunk_low: pl.Float64 = column("shrunk_low")
    shrunk_high: pl.Float64 = column("shrunk_high")
    chance_above_double: pl.Float64 = column("chance_above_double")
    funnel: pl.String = column("funnel")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id"]


class FunnelBands(Table):
    """One row is the edges of the funnel about ratio 1 at one number of expected losses, for drawing."""

    expected: pl.Float64 = column("expected", required=True)
    low_95: pl.Float64 = column("low_95", required=True)
    high_95: pl.Float64 = column("high_95", required=True)
    low_998: pl.Float64 = column("low_998", required=True)
    high_998: pl.Float64 = column("high_998", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["expected"]


class IntervalLengths(Table):
    """One row is the length of intervals at one level of one dimension."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    intervals: pl.Int64 = column("intervals", required=True)
    horses: pl.Int64 = column("horses", required=True)
    median_days: pl.Float64 = column("median_days")
    p10_days: pl.Float64 = column("p10_days")
    p25_days: pl.Float64 = column("p25_days")
    p75_days: pl.Float64 = column("p75_days")
    p90_days: pl.Float64 = column("p90_days")
    share_over_56: pl.Float64 = column("share_over_56")
    late_share: pl.Float64 = column("late_share")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class BruiseRecurrence(Table):
    """One row is how often bruises come new and come back at one level of one dimension."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    feet: pl.Int64 = column("feet", required=True)
    steps_clear: pl.Int64 = column("steps_clear", required=True)
    clear_to_bruised: pl.Int64 = column("clear_to_bruised", required=True)
    steps_bruised: pl.Int64 = column("steps_bruised", required=True)
    bruised_to_bruised: pl.Int64 = column("bruised_to_bruised", required=True)
    chance_new: pl.Float64 = column("chance_new")
    chance_again: pl.Float64 = column("chance_again")
    again_low: pl.Float64 = column("again_low")
    again_high: pl.Float64 = column("again_high")
    ratio: pl.Float64 = column("ratio")
    ratio_low: pl.Float64 = column("ratio_low")
    ratio_high: pl.Float64 = column("ratio_high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class BruiseBurden(Table):
    """One row is one day of one mean cumulative function of bruising episodes."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    day: pl.Int64 = column("day", required=True)
    feet: pl.Int64 = column("feet", required=True)
    mean_episodes: pl.Float64 = column("mean_episodes")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "day"]


class AngleDrift(Table):
    """One row is the growth drift of the angle within intervals at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    feet: pl.Int64 = column("feet", required=True)
    steps: pl.Int64 = column("steps", required=True)
    deg_per_week: pl.Float64 = column("deg_per_week")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    sd_between_feet: pl.Float64 = column("sd_between_feet")
    residual_sd_deg: pl.Float64 = column("residual_sd_deg")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class HorseAngleDrift(Table):
    """One row is one foot's own growth drift."""

    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot", required=True)
    steps: pl.Int64 = column("steps", required=True)
    deg_per_week: pl.Float64 = column("deg_per_week")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    leaving_trend_deg_per_year: pl.Float64 = column("leaving_trend_deg_per_year")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "foot"]


class AngleTrend(Table):
    """One row is the trend of the angle feet leave with at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    feet: pl.Int64 = column("feet", required=True)
    visits: pl.Int64 = column("visits", required=True)
    deg_per_year: pl.Float64 = column("deg_per_year")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    sd_start: pl.Float64 = column("sd_start")
    sd_slope: pl.Float64 = column("sd_slope")
    residual_sd_deg: pl.Float64 = column("residual_sd_deg")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class Workload(Table):
    """One row is one farrier's work in one week or month."""

    period: pl.String = column("period", required=True)
    starts_on: pl.Date = column("starts_on", required=True)
    farrier: pl.String = column("farrier", required=True)
    visits: pl.Int64 = column("visits", required=True)
    horses: pl.Int64 = column("horses", required=True)
    feet_trimmed: pl.Int64 = column("feet_trimmed", required=True)
    shoes_nailed: pl.Int64 = column("shoes_nailed", required=True)
    minutes: pl.Float64 = column("minutes", total=True)
    fee: pl.Float64 = column("fee", total=True)
    travel_km: pl.Float64 = column("travel_km", total=True)
    lost_shoe_visits: pl.Int64 = column("lost_shoe_visits", required=True)
    lost_shoe_minutes: pl.Float64 = column("lost_shoe_minutes")
    lost_shoe_km: pl.Float64 = column("lost_shoe_km")

    class Config(Table.Config):
        """Key."""

        unique = ["period", "starts_on", "farrier"]


class VisitKinds(Table):
    """One row is the visits of one kind in the season under review."""

    visit_kind: pl.String = column("visit_kind", required=True)
    visits: pl.Int64 = column("visits", required=True)
    minutes: pl.Float64 = column("minutes", total=True)
    travel_km: pl.Float64 = column("travel_km", total=True)

    class Config(Table.Config):
        """Key."""

        unique = ["visit_kind"]


class SeasonReview(Table):
    """The one row is the season under review in figures."""

    start: pl.Date = column("start", required=True)
    stop: pl.Date = column("stop", required=True)
    visits: pl.Int64 = column("visits", required=True)
    horses: pl.Int64 = column("horses", required=True)
    shoes_nailed: pl.Int64 = column("shoes_nailed", required=True)
    losses: pl.Int64 = column("losses", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    per_1000_days: pl.Float64 = column("per_1000_days")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    lost_shoe_visits: pl.Int64 = column("lost_shoe_visits", required=True)
    lost_shoe_minutes: pl.Float64 = column("lost_shoe_minutes")
    lost_shoe_km: pl.Float64 = column("lost_shoe_km")
    intervals: pl.Int64 = column("intervals", required=True)
    median_days: pl.Float64 = column("median_days")

    class Config(Table.Config):
        """No key: rows may repeat."""

        unique = None


class Completeness(Table):
    """One row is how far one column of one table is filled."""

    table_name: pl.String = column("table_name", required=True)
    column_name: pl.String = column("column_name")
    rows: pl.Int64 = column("rows", required=True)
    filled: pl.Int64 = column("filled", required=True)
    share: pl.Float64 = column("share")
    used_by: pl.String = column("used_by", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["table_name", "column_name"]


class RowsTaken(Table):
    """One row is what became of the rows of one table in the latest load."""

    table_name: pl.String = column("table_name", required=True)
    rows_read: pl.Int64 = column("rows_read", required=True)
    rows_new: pl.Int64 = column("rows_new", required=True)
    rows_changed: pl.Int64 = column("rows_changed", required=True)
    rows_unchanged: pl.Int64 = column("rows_unchanged", required=True)
    rows_set_aside: pl.Int64 = column("rows_set_aside", required=True)
    rows: pl.Int64 = column("rows", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["table_name"]


class RowsSetAside(Table):
    """One row is how many rows one rule set aside or doubted in the latest load."""

    table_name: pl.String = column("table_name", required=True)
    column_name: pl.String = column("column_name")
    rule: pl.String = column("rule", required=True)
    rows: pl.Int64 = column("rows", required=True)
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["table_name", "column_name", "rule", "note"]


class FilesTaken(Table):
    """One row is one file of the latest load."""

    file_name: pl.String = column("file_name", required=True)
    sha256: pl.String = column("sha256", required=True)
    rows: pl.Int64 = column("rows", required=True)

    class Config(Table.Config):
        """No key: rows may repeat."""

        unique = None


RESULT_TABLES: dict[str, type[Table]] = {
    "loss_rates": LossRates,
    "retention": Retention,
    "share_lost_by_weeks": ShareLostByWeeks,
    "retention_interval": RetentionInterval,
    "retention_tests": RetentionTests,
    "loss_factors": LossFactors,
    "loss_causes": LossCauses,
    "horse_losses": HorseLosses,
    "funnel_bands": FunnelBands,
    "interval_lengths": IntervalLengths,
    "bruise_recurrence": BruiseRecurrence,
    "bruise_burden": BruiseBurden,
    "angle_drift": AngleDrift,
    "horse_angle_drift": HorseAngleDrift,
    "angle_trend": AngleTrend,
    "workload": Workload,
    "visit_kinds": VisitKinds,
    "season_review": SeasonReview,
    "completeness": Completeness,
    "rows_taken": RowsTaken,
    "rows_set_aside": RowsSetAside,
    "files_taken": FilesTaken,
}
