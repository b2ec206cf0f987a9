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
    per_1000_median_unbiased: pl.Float64 = column("per_1000_median_unbiased")
    low_left_out: pl.Float64 = column("low_left_out")
    high_left_out: pl.Float64 = column("high_left_out")
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
    kept_low_left_out: pl.Float64 = column("kept_low_left_out")
    kept_high_left_out: pl.Float64 = column("kept_high_left_out")

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
    low_left_out: pl.Float64 = column("low_left_out")
    high_left_out: pl.Float64 = column("high_left_out")
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
    chi2_clustered: pl.Float64 = column("chi2_clustered")
    p_clustered: pl.Float64 = column("p_clustered")

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
    ratio_median_unbiased: pl.Float64 = column("ratio_median_unbiased")
    low_left_out: pl.Float64 = column("low_left_out")
    high_left_out: pl.Float64 = column("high_left_out")
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
    first_alarm: pl.Boolean = column("first_alarm")
    peers: pl.Int64 = column("peers", required=True)
    peer_losses: pl.Int64 = column("peer_losses", required=True)
    few_peers: pl.Boolean = column("few_peers", required=True)
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
    low_95_spread: pl.Float64 = column("low_95_spread")
    high_95_spread: pl.Float64 = column("high_95_spread")

    class Config(Table.Config):
        """Key."""

        unique = ["expected"]


class HorseSpread(Table):
    """The one row is how far horses differ in the shoes they lose, beside what chance alone would bring."""

    horses: pl.Int64 = column("horses", required=True)
    above_95: pl.Int64 = column("above_95", required=True)
    above_998: pl.Int64 = column("above_998", required=True)
    chance_above_95: pl.Float64 = column("chance_above_95", required=True)
    chance_above_998: pl.Float64 = column("chance_above_998", required=True)
    first_alarms: pl.Int64 = column("first_alarms", required=True)
    dispersion: pl.Float64 = column("dispersion", required=True)
    ratio_sd: pl.Float64 = column("ratio_sd")

    class Config(Table.Config):
        """At most one row."""

        unique = None


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
    intervals_planned: pl.Int64 = column("intervals_planned", required=True)
    planned_days: pl.Float64 = column("planned_days")
    done_days: pl.Float64 = column("done_days")
    median_days_late: pl.Float64 = column("median_days_late")
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
    horses_bruised: pl.Int64 = column("horses_bruised", required=True)
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
    low_by_horse: pl.Float64 = column("low_by_horse")
    high_by_horse: pl.Float64 = column("high_by_horse")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "day"]


class BruiseSites(Table):
    """One row is how often bruises were seen at one site of the sole, at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    end: pl.String = column("end", required=True)
    site: pl.String = column("site", required=True)
    episodes: pl.Int64 = column("episodes", required=True)
    bruised_looks: pl.Int64 = column("bruised_looks", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "end", "site"]


class BruiseLooks(Table):
    """One row is how many feet that were seen were looked at for a bruise, at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    feet_at_visits: pl.Int64 = column("feet_at_visits", required=True)
    feet_looked: pl.Int64 = column("feet_looked", required=True)
    bruised_looks: pl.Int64 = column("bruised_looks", required=True)
    looked_share: pl.Float64 = column("looked_share", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class BruiseReturns(Table):
    """One row is how often a bruise that was there again lay where it had lain, at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    horses: pl.Int64 = column("horses", required=True)
    returns: pl.Int64 = column("returns", required=True)
    same_site: pl.Int64 = column("same_site", required=True)
    same_share: pl.Float64 = column("same_share")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    share_by_chance: pl.Float64 = column("share_by_chance")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class BothFronts(Table):
    """One row is how often both front feet were bruised at one look, at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    horses: pl.Int64 = column("horses", required=True)
    pair_looks: pl.Int64 = column("pair_looks", required=True)
    one_bruised: pl.Int64 = column("one_bruised", required=True)
    both_bruised: pl.Int64 = column("both_bruised", required=True)
    both_share: pl.Float64 = column("both_share")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    share_by_chance: pl.Float64 = column("share_by_chance")
    ratio: pl.Float64 = column("ratio")
    ratio_low: pl.Float64 = column("ratio_low")
    ratio_high: pl.Float64 = column("ratio_high")
    own_ratio: pl.Float64 = column("own_ratio")
    own_ratio_low: pl.Float64 = column("own_ratio_low")
    own_ratio_high: pl.Float64 = column("own_ratio_high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class AngleDrift(Table):
    """One row is the growth drift of the angle within intervals at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    horses: pl.Int64 = column("horses", required=True)
    feet: pl.Int64 = column("feet", required=True)
    steps: pl.Int64 = column("steps", required=True)
    deg_per_week: pl.Float64 = column("deg_per_week")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    low_by_horse: pl.Float64 = column("low_by_horse")
    high_by_horse: pl.Float64 = column("high_by_horse")
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
    shod_or_bare: pl.String = column("shod_or_bare", required=True)
    deg_per_week: pl.Float64 = column("deg_per_week")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    peers_deg_per_week: pl.Float64 = column("peers_deg_per_week")
    leaving_trend_deg_per_year: pl.Float64 = column("leaving_trend_deg_per_year")
    leaving_trend_low: pl.Float64 = column("leaving_trend_low")
    leaving_trend_high: pl.Float64 = column("leaving_trend_high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "foot"]


class AngleTrend(Table):
    """One row is the trend of the angle feet leave with at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    horses: pl.Int64 = column("horses", required=True)
    feet: pl.Int64 = column("feet", required=True)
    visits: pl.Int64 = column("visits", required=True)
    deg_per_year: pl.Float64 = column("deg_per_year")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    low_by_horse: pl.Float64 = column("low_by_horse")
    high_by_horse: pl.Float64 = column("high_by_horse")
    sd_start: pl.Float64 = column("sd_start")
    sd_slope: pl.Float64 = column("sd_slope")
    residual_sd_deg: pl.Float64 = column("residual_sd_deg")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class ToeDirections(Table):
    """One row is how many feet go lower in angle and longer in toe, visit after visit, at one level."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    feet: pl.Int64 = column("feet", required=True)
    lower_longer: pl.Int64 = column("lower_longer", required=True)
    lower_longer_share: pl.Float64 = column("lower_longer_share")
    lower_longer_sure: pl.Int64 = column("lower_longer_sure", required=True)
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class AngleGaps(Table):
    """One row is the left-right gap of one pair of feet of one horse."""

    horse_id: pl.String = column("horse_id", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    end: pl.String = column("end", required=True)
    visits: pl.Int64 = column("visits", required=True)
    measured_on: pl.Date = column("measured_on", required=True)
    latest_gap_deg: pl.Float64 = column("latest_gap_deg", required=True)
    mean_gap_deg: pl.Float64 = column("mean_gap_deg", required=True)
    uneven_visits: pl.Int64 = column("uneven_visits", required=True)
    cut_off_deg: pl.Float64 = column("cut_off_deg", required=True)
    latest_uneven: pl.Boolean = column("latest_uneven", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "end"]


class HoofClasses(Table):
    """One row is how many feet at one level stand in one class of angle."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    hoof_class: pl.String = column("hoof_class", required=True)
    feet: pl.Int64 = column("feet", required=True)
    class_share: pl.Float64 = column("class_share", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "hoof_class"]


class AnglePrecision(Table):
    """One row is how far one reading of the angle can be trusted at one stage."""

    angle_at: pl.String = column("angle_at", required=True)
    feet: pl.Int64 = column("feet", required=True)
    angles_read: pl.Int64 = column("angles_read", required=True)
    error_sd_deg: pl.Float64 = column("error_sd_deg")
    smallest_change_deg: pl.Float64 = column("smallest_change_deg")
    residual_sd_deg: pl.Float64 = column("residual_sd_deg")
    changes: pl.Int64 = column("changes", required=True)
    changes_judged: pl.Int64 = column("changes_judged")
    changes_beyond: pl.Int64 = column("changes_beyond")
    other_farrier: pl.Int64 = column("other_farrier", required=True)
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["angle_at"]


class AngleChanges(Table):
    """One row is the latest change of angle of one foot at one stage, where error and growth do not explain it."""

    horse_id: pl.String = column("horse_id", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    foot: pl.String = column("foot", required=True)
    angle_at: pl.String = column("angle_at", required=True)
    from_date: pl.Date = column("from_date", required=True)
    to_date: pl.Date = column("to_date", required=True)
    change_deg: pl.Float64 = column("change_deg", required=True)
    growth_deg: pl.Float64 = column("growth_deg", required=True)
    smallest_change_deg: pl.Float64 = column("smallest_change_deg", required=True)
    hand_changed: pl.Boolean = column("hand_changed")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "foot", "angle_at"]


class Handedness(Table):
    """One row is what one farrier leaves different between left and right, or inside and outside."""

    farrier: pl.String = column("farrier", required=True)
    compared: pl.String = column("compared", required=True)
    pairs: pl.Int64 = column("pairs", required=True)
    horses: pl.Int64 = column("horses", required=True)
    mean_difference: pl.Float64 = column("mean_difference")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["farrier", "compared"]


class Lateness(Table):
    """One row is what happened to shoes and feet in intervals that ran late by one band of days."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    intervals: pl.Int64 = column("intervals")
    horses: pl.Int64 = column("horses", required=True)
    shoes: pl.Int64 = column("shoes", required=True)
    losses: pl.Int64 = column("losses", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    per_1000_days: pl.Float64 = column("per_1000_days")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    low_clustered: pl.Float64 = column("low_clustered")
    high_clustered: pl.Float64 = column("high_clustered")
    steps: pl.Int64 = column("steps")
    mean_change_deg: pl.Float64 = column("mean_change_deg")
    change_low: pl.Float64 = column("change_low")
    change_high: pl.Float64 = column("change_high")
    steps_clear: pl.Int64 = column("steps_clear")
    horses_clear: pl.Int64 = column("horses_clear")
    clear_to_bruised: pl.Int64 = column("clear_to_bruised")
    chance_new: pl.Float64 = column("chance_new")
    new_low: pl.Float64 = column("new_low")
    new_high: pl.Float64 = column("new_high")
    steps_bruised: pl.Int64 = column("steps_bruised")
    horses_bruised: pl.Int64 = column("horses_bruised")
    bruised_to_bruised: pl.Int64 = column("bruised_to_bruised")
    chance_again: pl.Float64 = column("chance_again")
    again_low: pl.Float64 = column("again_low")
    again_high: pl.Float64 = column("again_high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class LatenessTrend(Table):
    """One row is whether one horse is seen later and later against its plan."""

    horse_id: pl.String = column("horse_id", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    intervals: pl.Int64 = column("intervals", required=True)
    mean_days_late: pl.Float64 = column("mean_days_late", required=True)
    days_later_per_year: pl.Float64 = column("days_later_per_year")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    slipping: pl.Boolean = column("slipping")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id"]


class DueList(Table):
    """One row is when one horse is due."""

    horse_id: pl.String = column("horse_id", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    yard: pl.String = column("yard")
    last_visit_on: pl.Date = column("last_visit_on", required=True)
    planned_weeks: pl.Float64 = column("planned_weeks")
    round_visit_id: pl.String = column("round_visit_id")
    due_on: pl.Date = column("due_on")
    days_overdue: pl.Int64 = column("days_overdue")
    shoes_on: pl.Int64 = column("shoes_on")
    chance_lost: pl.Float64 = column("chance_lost")
    chance_note: pl.String = column("chance_note")
    silent: pl.Boolean = column("silent", required=True)
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id"]


class CalendarEntries(Table):
    """One row is one entry of the calendar file: a horse that is due, or one seen since, whose entry is cancelled."""

    horse_id: pl.String = column("horse_id", required=True)
    round_visit_id: pl.String = column("round_visit_id", required=True)
    due_on: pl.Date = column("due_on", required=True)
    planned_weeks: pl.Float64 = column("planned_weeks")
    seen_again_on: pl.Date = column("seen_again_on")
    revised_at: pl.Datetime = column("revised_at", required=True)
    revision: pl.Int64 = column("revision", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "round_visit_id"]


class LoadToCome(Table):
    """One row is how many horses one coming week is likely to bring."""

    starts_on: pl.Date = column("starts_on", required=True)
    horses_due: pl.Int64 = column("horses_due", required=True)
    horses_beyond: pl.Int64 = column("horses_beyond")
    visits_expected: pl.Float64 = column("visits_expected")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["starts_on"]


class SeasonCompare(Table):
    """One row is the season under review, or the season of the same length before it, in figures."""

    which: pl.String = column("which", required=True)
    start: pl.Date = column("start", required=True)
    stop: pl.Date = column("stop", required=True)
    visits: pl.Int64 = column("visits", required=True)
    horses: pl.Int64 = column("horses", required=True)
    days_worked: pl.Int64 = column("days_worked", required=True)
    timed: pl.Int64 = column("timed", required=True)
    minutes: pl.Float64 = column("minutes", total=True)
    driven: pl.Int64 = column("driven", required=True)
    travel_km: pl.Float64 = column("travel_km", total=True)
    shoes_nailed: pl.Int64 = column("shoes_nailed", required=True)
    losses: pl.Int64 = column("losses", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    per_1000_days: pl.Float64 = column("per_1000_days")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    ratio: pl.Float64 = column("ratio")
    ratio_low: pl.Float64 = column("ratio_low")
    ratio_high: pl.Float64 = column("ratio_high")
    lost_shoe_visits: pl.Int64 = column("lost_shoe_visits", required=True)
    lost_shoe_timed: pl.Int64 = column("lost_shoe_timed", required=True)
    lost_shoe_driven: pl.Int64 = column("lost_shoe_driven", required=True)
    lost_shoe_minutes: pl.Float64 = column("lost_shoe_minutes")
    lost_shoe_km: pl.Float64 = column("lost_shoe_km")
    charged: pl.Int64 = column("charged", required=True)
    fee: pl.Float64 = column("fee", total=True)
    lost_shoe_charged: pl.Int64 = column("lost_shoe_charged", required=True)
    lost_shoe_fee: pl.Float64 = column("lost_shoe_fee")
    intervals: pl.Int64 = column("intervals", required=True)
    median_days: pl.Float64 = column("median_days")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["which"]


class BusiestWeeks(Table):
    """One row is one of the busiest weeks of the season under review."""

    starts_on: pl.Date = column("starts_on", required=True)
    visits: pl.Int64 = column("visits", required=True)
    horses: pl.Int64 = column("horses", required=True)
    days_worked: pl.Int64 = column("days_worked", required=True)
    timed: pl.Int64 = column("timed", required=True)
    minutes: pl.Float64 = column("minutes", total=True)

    class Config(Table.Config):
        """Key."""

        unique = ["starts_on"]


class DayLoads(Table):
    """One row is how many days of one farrier held one number of horses, in one of the two seasons compared."""

    which: pl.String = column("which", required=True)
    horses_a_day: pl.Int64 = column("horses_a_day", required=True)
    farrier_days: pl.Int64 = column("farrier_days", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["which", "horses_a_day"]


class HorseTurnover(Table):
    """One row is one horse that was seen in the season under review or the season before it."""

    horse_id: pl.String = column("horse_id", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    first_visit_on: pl.Date = column("first_visit_on", required=True)
    last_visit_on: pl.Date = column("last_visit_on", required=True)
    standing: pl.String = column("standing", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id"]


class VisitMinutes(Table):
    """One row is the time visits of one kind of work, or with one way of standing, take in the season."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    visits: pl.Int64 = column("visits", required=True)
    timed: pl.Int64 = column("timed", required=True)
    median_minutes: pl.Float64 = column("median_minutes")
    p25_minutes: pl.Float64 = column("p25_minutes")
    p75_minutes: pl.Float64 = column("p75_minutes")
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
    timed: pl.Int64 = column("timed", required=True)
    minutes: pl.Float64 = column("minutes", total=True)
    charged: pl.Int64 = column("charged", required=True)
    fee: pl.Float64 = column("fee", total=True)
    driven: pl.Int64 = column("driven", required=True)
    travel_km: pl.Float64 = column("travel_km", total=True)
    lost_shoe_visits: pl.Int64 = column("lost_shoe_visits", required=True)
    lost_shoe_timed: pl.Int64 = column("lost_shoe_timed", required=True)
    lost_shoe_driven: pl.Int64 = column("lost_shoe_driven", required=True)
    lost_shoe_minutes: pl.Float64 = column("lost_shoe_minutes")
    lost_shoe_km: pl.Float64 = column("lost_shoe_km")

    class Config(Table.Config):
        """Key."""

        unique = ["period", "starts_on", "farrier"]


class VisitKinds(Table):
    """One row is the visits of one kind in the season under review."""

    visit_kind: pl.String = column("visit_kind", required=True)
    visits: pl.Int64 = column("visits", required=True)
    timed: pl.Int64 = column("timed", required=True)
    minutes: pl.Float64 = column("minutes", total=True)
    driven: pl.Int64 = column("driven", required=True)
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
    lost_shoe_timed: pl.Int64 = column("lost_shoe_timed", required=True)
    lost_shoe_driven: pl.Int64 = column("lost_shoe_driven", required=True)
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


class LossHazard(Table):
    """One row is how fast shoes come off within one stretch of their life, at one level of one dimension."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    phase: pl.String = column("phase", required=True)
    day_from: pl.Int64 = column("day_from")
    day_to: pl.Int64 = column("day_to")
    horses: pl.Int64 = column("horses", required=True)
    losses_spread: pl.Float64 = column("losses_spread", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    per_1000_days: pl.Float64 = column("per_1000_days")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "phase", "day_from"]


class FitByPace(Table):
    """One row is the shoes of one length of branch on horses of one pace."""

    pace: pl.String = column("pace", required=True)
    branch_band: pl.String = column("branch_band", required=True)
    shoes: pl.Int64 = column("shoes", required=True)
    losses: pl.Int64 = column("losses", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    per_100_shoes: pl.Float64 = column("per_100_shoes")
    per_1000_days: pl.Float64 = column("per_1000_days")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    expected: pl.Float64 = column("expected")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["pace", "branch_band"]


class IntervalGuide(Table):
    """One row is what one booking interval would cost one horse, or a horse of one discipline, in shoes."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    weeks: pl.Int64 = column("weeks", required=True)
    shoes_at_once: pl.Int64 = column("shoes_at_once", required=True)
    expected_losses: pl.Float64 = column("expected_losses")
    losses_per_year: pl.Float64 = column("losses_per_year")
    chance_of_a_loss: pl.Float64 = column("chance_of_a_loss")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level", "weeks"]


class LossWatch(Table):
    """One row is one calendar month: losses beside those expected, and whether a bad run is under way."""

    starts_on: pl.Date = column("starts_on", required=True)
    losses: pl.Int64 = column("losses", required=True)
    shoe_days: pl.Float64 = column("shoe_days", required=True)
    expected: pl.Float64 = column("expected")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    cusum: pl.Float64 = column("cusum")
    threshold: pl.Float64 = column("threshold")
    signal: pl.Boolean = column("signal")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["starts_on"]


class LossDating(Table):
    """One row is how closely the days of losses are known, at one level of one dimension."""

    dimension: pl.String = column("dimension", required=True)
    level: pl.String = column("level", required=True)
    losses: pl.Int64 = column("losses", required=True)
    wide: pl.Int64 = column("wide", required=True)
    wide_at_call_outs: pl.Int64 = column("wide_at_call_outs", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["dimension", "level"]


class HorseList(Table):
    """One row is one horse on record: its page, its visits and how often it was looked at for a bruise."""

    horse_id: pl.String = column("horse_id", required=True)
    page_no: pl.Int64 = column("page_no", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    discipline: pl.String = column("discipline", required=True)
    yard: pl.String = column("yard")
    visits: pl.Int64 = column("visits", required=True)
    first_visit_on: pl.Date = column("first_visit_on")
    last_visit_on: pl.Date = column("last_visit_on")
    feet_at_visits: pl.Int64 = column("feet_at_visits", required=True)
    feet_looked: pl.Int64 = column("feet_looked", required=True)
    bruised_looks: pl.Int64 = column("bruised_looks", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id"]


class HorseShoes(Table):
    """One row is one shoe of one horse, from nailing to its end, with its fit."""

    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot", required=True)
    fitted_on: pl.Date = column("fitted_on", required=True)
    ended_on: pl.Date = column("ended_on", required=True)
    end_reason: pl.String = column("end_reason", required=True)
    days_on: pl.Int64 = column("days_on", required=True)
    lost_after: pl.Date = column("lost_after")
    lost_by: pl.Date = column("lost_by")
    cause: pl.String = column("cause")
    shoe_style: pl.String = column("shoe_style")
    branch_past_heel_mm: pl.Float64 = column("branch_past_heel_mm")
    nails: pl.Int64 = column("nails")
    wall_state: pl.String = column("wall_state")

    class Config(Table.Config):
        """No key: two shoes may be nailed to one foot on one day."""

        unique = None


class HorseVisits(Table):
    """One row is one visit to one horse."""

    horse_id: pl.String = column("horse_id", required=True)
    visit_date: pl.Date = column("visit_date", required=True)
    visit_kind: pl.String = column("visit_kind", required=True)

    class Config(Table.Config):
        """No key: a horse may be visited twice on one day."""

        unique = None


class HorseIntervals(Table):
    """One row is how long the intervals of one horse are, beside what was agreed."""

    horse_id: pl.String = column("horse_id", required=True)
    intervals: pl.Int64 = column("intervals", required=True)
    median_days: pl.Float64 = column("median_days", required=True)
    intervals_planned: pl.Int64 = column("intervals_planned", required=True)
    planned_days: pl.Float64 = column("planned_days")
    done_days: pl.Float64 = column("done_days")
    median_days_late: pl.Float64 = column("median_days_late")
    late_share: pl.Float64 = column("late_share")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id"]


class HorseRounds(Table):
    """One row is one interval of one horse between two visits of its round."""

    horse_id: pl.String = column("horse_id", required=True)
    from_date: pl.Date = column("from_date", required=True)
    to_date: pl.Date = column("to_date", required=True)
    days: pl.Int64 = column("days", required=True)
    planned_weeks: pl.Float64 = column("planned_weeks")
    days_late: pl.Float64 = column("days_late")

    class Config(Table.Config):
        """No key: a horse may be visited twice on one day."""

        unique = None


class HorseFit(Table):
    """One row is one thing in the fit of one horse's front or hind shoes: those lost beside those kept."""

    horse_id: pl.String = column("horse_id", required=True)
    end: pl.String = column("end", required=True)
    fit_measure: pl.String = column("fit_measure", required=True)
    lost_shoes: pl.Int64 = column("lost_shoes", required=True)
    lost_figure: pl.Float64 = column("lost_figure")
    kept_shoes: pl.Int64 = column("kept_shoes", required=True)
    kept_figure: pl.Float64 = column("kept_figure")
    differs: pl.Boolean = column("differs")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "end", "fit_measure"]


class HorseGaps(Table):
    """One row is how far one column is filled in one horse's own rows."""

    horse_id: pl.String = column("horse_id", required=True)
    table_name: pl.String = column("table_name", required=True)
    column_name: pl.String = column("column_name", required=True)
    rows: pl.Int64 = column("rows", required=True)
    filled: pl.Int64 = column("filled", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "table_name", "column_name"]


class ChangesTried(Table):
    """One row is one thing changed for one horse: its losses and those expected in the year before and after."""

    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot_or_all", required=True)
    changed_on: pl.Date = column("changed_on", required=True)
    what: pl.String = column("what", required=True)
    shoe_days_before: pl.Float64 = column("shoe_days_before", required=True)
    losses_before: pl.Int64 = column("losses_before", required=True)
    expected_before: pl.Float64 = column("expected_before")
    ratio_before: pl.Float64 = column("ratio_before")
    shoe_days_after: pl.Float64 = column("shoe_days_after", required=True)
    losses_after: pl.Int64 = column("losses_after", required=True)
    expected_after: pl.Float64 = column("expected_after")
    ratio_after: pl.Float64 = column("ratio_after")
    change_ratio: pl.Float64 = column("change_ratio")
    low: pl.Float64 = column("low")
    high: pl.Float64 = column("high")
    shrunk_before: pl.Float64 = column("shrunk_before")
    losses_by_chance: pl.Float64 = column("losses_by_chance")
    chance_low: pl.Float64 = column("chance_low")
    chance_high: pl.Float64 = column("chance_high")
    note: pl.String = column("note")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "foot", "changed_on", "what"]


class HorseAngles(Table):
    """One row is the angle and the toe of one foot of one horse, as read on arrival or on leaving at one visit."""

    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot", required=True)
    visit_date: pl.Date = column("visit_date", required=True)
    angle_at: pl.String = column("angle_at", required=True)
    angle_deg: pl.Float64 = column("angle_deg")
    toe_mm: pl.Float64 = column("toe_mm")

    class Config(Table.Config):
        """No key: a horse may be visited twice on one day."""

        unique = None


class HorseBruises(Table):
    """One row is one foot of one horse at one visit: what was found, or that it was not looked at for a bruise."""

    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot", required=True)
    visit_date: pl.Date = column("visit_date", required=True)
    looked: pl.Boolean = column("looked", required=True)
    bruise_grade: pl.Int64 = column("bruise_grade")
    bruise_site: pl.String = column("bruise_site")
    again: pl.Boolean = column("again")
    same_site_again: pl.Boolean = column("same_site_again")

    class Config(Table.Config):
        """No key: a horse may be visited twice on one day."""

        unique = None


RESULT_TABLES: dict[str, type[Table]] = {
    "loss_rates": LossRates,
    "retention": Retention,
    "share_lost_by_weeks": ShareLostByWeeks,
    "retention_interval": RetentionInterval,
    "retention_tests": RetentionTests,
    "loss_factors": LossFactors,
    "fit_by_pace": FitByPace,
    "loss_hazard": LossHazard,
    "loss_causes": LossCauses,
    "horse_losses": HorseLosses,
    "funnel_bands": FunnelBands,
    "horse_spread": HorseSpread,
    "interval_guide": IntervalGuide,
    "loss_watch": LossWatch,
    "interval_lengths": IntervalLengths,
    "bruise_recurrence": BruiseRecurrence,
    "bruise_burden": BruiseBurden,
    "bruise_sites": BruiseSites,
    "bruise_looks": BruiseLooks,
    "bruise_returns": BruiseReturns,
    "both_fronts": BothFronts,
    "angle_drift": AngleDrift,
    "horse_angle_drift": HorseAngleDrift,
    "angle_trend": AngleTrend,
    "toe_directions": ToeDirections,
    "angle_gaps": AngleGaps,
    "hoof_classes": HoofClasses,
    "angle_precision": AnglePrecision,
    "angle_changes": AngleChanges,
    "handedness": Handedness,
    "lateness": Lateness,
    "lateness_trend": LatenessTrend,
    "due_list": DueList,
    "calendar_entries": CalendarEntries,
    "load_to_come": LoadToCome,
    "season_compare": SeasonCompare,
    "busiest_weeks": BusiestWeeks,
    "day_loads": DayLoads,
    "horse_turnover": HorseTurnover,
    "visit_minutes": VisitMinutes,
    "workload": Workload,
    "visit_kinds": VisitKinds,
    "season_review": SeasonReview,
    "completeness": Completeness,
    "rows_taken": RowsTaken,
    "rows_set_aside": RowsSetAside,
    "files_taken": FilesTaken,
    "loss_dating": LossDating,
    "horse_list": HorseList,
    "horse_shoes": HorseShoes,
    "horse_visits": HorseVisits,
    "horse_intervals": HorseIntervals,
    "horse_rounds": HorseRounds,
    "horse_fit": HorseFit,
    "horse_gaps": HorseGaps,
    "changes_tried": ChangesTried,
    "horse_angles": HorseAngles,
    "horse_bruises": HorseBruises,
}
