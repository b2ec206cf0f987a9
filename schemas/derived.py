"""Tables built from the accepted rows: what happened to each shoe, interval and foot."""

import polars as pl

from schemas.base import Table, column


class ShoeSpells(Table):
    """One row is one shoe nailed to one foot, from nailing to its end."""

    spell_id: pl.String = column("spell_id", required=True)
    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot", required=True)
    fitted_visit_id: pl.String = column("fitted_visit_id", required=True)
    fitted_on: pl.Date = column("fitted_on", required=True)
    ended_on: pl.Date = column("ended_on", required=True)
    end_reason: pl.String = column("end_reason", required=True)
    days_on: pl.Int64 = column("days_on", required=True)
    lost_after: pl.Date = column("lost_after")
    lost_by: pl.Date = column("lost_by")
    cause: pl.String = column("cause")
    shoe_style: pl.String = column("shoe_style")
    shoe_material: pl.String = column("shoe_material")
    web_mm: pl.Float64 = column("web_mm")
    thickness_mm: pl.Float64 = column("thickness_mm")
    branch_past_heel_mm: pl.Float64 = column("branch_past_heel_mm")
    expansion_mm: pl.Float64 = column("expansion_mm")
    nails_medial: pl.Int64 = column("nails_medial")
    nails_lateral: pl.Int64 = column("nails_lateral")
    heel_nails: pl.Int64 = column("heel_nails")
    nail_line: pl.String = column("nail_line")
    clips: pl.String = column("clips")
    pad: pl.String = column("pad")
    fitting: pl.String = column("fitting")
    edges_dressed: pl.Boolean = column("edges_dressed")
    sole_relief: pl.Boolean = column("sole_relief")
    wall_state: pl.String = column("wall_state")
    wall_side: pl.String = column("wall_side")
    discipline: pl.String = column("discipline", required=True)
    pace: pl.String = column("pace")
    end: pl.String = column("end", required=True)
    farrier: pl.String = column("farrier")
    yard: pl.String = column("yard")
    season: pl.String = column("season", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["spell_id"]


class VisitIntervals(Table):
    """One row is the interval between two consecutive visits of kind routine, first or vet_request to one horse."""

    horse_id: pl.String = column("horse_id", required=True)
    discipline: pl.String = column("discipline", required=True)
    yard: pl.String = column("yard")
    season: pl.String = column("season", required=True)
    from_visit_id: pl.String = column("from_visit_id", required=True)
    to_visit_id: pl.String = column("to_visit_id", required=True)
    from_date: pl.Date = column("from_date", required=True)
    to_date: pl.Date = column("to_date", required=True)
    days: pl.Int64 = column("days", required=True)
    planned_weeks: pl.Float64 = column("planned_weeks")
    days_late: pl.Float64 = column("days_late")

    class Config(Table.Config):
        """Key."""

        unique = ["from_visit_id"]


class FootSteps(Table):
    """One row is a pair of consecutive visits at which one foot was handled."""

    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot", required=True)
    discipline: pl.String = column("discipline", required=True)
    end: pl.String = column("end", required=True)
    from_visit_id: pl.String = column("from_visit_id", required=True)
    to_visit_id: pl.String = column("to_visit_id", required=True)
    from_date: pl.Date = column("from_date", required=True)
    to_date: pl.Date = column("to_date", required=True)
    days: pl.Int64 = column("days", required=True)
    angle_left_deg: pl.Float64 = column("angle_left_deg")
    angle_back_deg: pl.Float64 = column("angle_back_deg")
    angle_change_deg: pl.Float64 = column("angle_change_deg")
    toe_change_mm: pl.Float64 = column("toe_change_mm")
    bruise_from: pl.Int64 = column("bruise_from")
    bruise_to: pl.Int64 = column("bruise_to")
    sole_relief: pl.Boolean = column("sole_relief")
    shoe_style: pl.String = column("shoe_style")
    shod: pl.Boolean = column("shod", required=True)

    class Config(Table.Config):
        """Key."""

        unique = ["from_visit_id", "foot"]


class BruiseSteps(Table):
    """One row is a pair of consecutive looks for a bruise at one foot; visits without a look are passed over."""

    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot", required=True)
    discipline: pl.String = column("discipline", required=True)
    end: pl.String = column("end", required=True)
    from_visit_id: pl.String = column("from_visit_id", required=True)
    to_visit_id: pl.String = column("to_visit_id", required=True)
    from_date: pl.Date = column("from_date", required=True)
    to_date: pl.Date = column("to_date", required=True)
    days: pl.Int64 = column("days", required=True)
    one_interval: pl.Boolean = column("one_interval", required=True)
    bruise_from: pl.Int64 = column("bruise_from", required=True)
    bruise_to: pl.Int64 = column("bruise_to", required=True)
    site_from: pl.String = column("site_from")
    site_to: pl.String = column("site_to")
    sole_relief: pl.Boolean = column("sole_relief")
    shoe_style: pl.String = column("shoe_style")

    class Config(Table.Config):
        """Key."""

        unique = ["from_visit_id", "foot"]


DERIVED_TABLES: dict[str, type[Table]] = {
    "shoe_spells": ShoeSpells,
    "visit_intervals": VisitIntervals,
    "foot_steps": FootSteps,
    "bruise_steps": BruiseSteps,
}
