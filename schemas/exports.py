"""The tables of a visit export, as rows must be to be accepted."""

import polars as pl

from schemas.base import Table, column


class Horses(Table):
    """One row is one horse."""

    horse_id: pl.String = column("horse_id", required=True)
    horse_name: pl.String = column("horse_name", required=True)
    discipline: pl.String = column("discipline", required=True)
    foaled_year: pl.Int64 = column("foaled_year")
    sex: pl.String = column("sex")
    breed: pl.String = column("breed")
    yard: pl.String = column("yard")
    height_hands: pl.String = column("height_hands")
    mass_kg: pl.Float64 = column("mass_kg")
    turnout: pl.String = column("turnout")
    work_days_per_week: pl.Int64 = column("work_days_per_week")
    microchip: pl.String = column("microchip")
    ueln: pl.String = column("ueln")
    owner_ref: pl.String = column("owner_ref")
    owner_name: pl.String = column("owner_name")
    owner_contact: pl.String = column("owner_contact")
    vet_practice: pl.String = column("vet_practice")
    share_with_vet: pl.Boolean = column("share_with_vet")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id"]


class Visits(Table):
    """One row is one visit to one horse."""

    visit_id: pl.String = column("visit_id", required=True)
    horse_id: pl.String = column("horse_id", required=True)
    visit_date: pl.Date = column("visit_date", required=True)
    farrier: pl.String = column("farrier")
    visit_kind: pl.String = column("visit_kind", required=True)
    minutes: pl.Float64 = column("minutes")
    fee: pl.Float64 = column("fee")
    travel_km: pl.Float64 = column("travel_km")
    planned_weeks: pl.Float64 = column("planned_weeks")
    handling: pl.Int64 = column("handling")
    notes: pl.String = column("notes")

    class Config(Table.Config):
        """Key."""

        unique = ["visit_id"]


class Feet(Table):
    """One row is one foot looked at in one visit."""

    visit_id: pl.String = column("visit_id", required=True)
    foot: pl.String = column("foot", required=True)
    arrival: pl.String = column("arrival", required=True)
    work: pl.String = column("work", required=True)
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
    bruise_grade: pl.Int64 = column("bruise_grade")
    bruise_site: pl.String = column("bruise_site")
    angle_arrival_deg: pl.Float64 = column("angle_arrival_deg")
    angle_leaving_deg: pl.Float64 = column("angle_leaving_deg")
    toe_arrival_mm: pl.Float64 = column("toe_arrival_mm")
    toe_leaving_mm: pl.Float64 = column("toe_leaving_mm")

    class Config(Table.Config):
        """Key."""

        unique = ["visit_id", "foot"]


class Losses(Table):
    """One row is one shoe reported off between visits."""

    loss_id: pl.String = column("loss_id", required=True)
    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot", required=True)
    found_off: pl.Date = column("found_off", required=True)
    last_seen_on: pl.Date = column("last_seen_on")
    cause: pl.String = column("cause")
    activity: pl.String = column("activity")
    ground: pl.String = column("ground")

    class Config(Table.Config):
        """Key."""

        unique = ["loss_id"]


class Changes(Table):
    """One row is one thing that was changed for one horse, to see whether fewer shoes come off."""

    horse_id: pl.String = column("horse_id", required=True)
    foot: pl.String = column("foot_or_all", required=True)
    changed_on: pl.Date = column("changed_on", required=True)
    what: pl.String = column("what", required=True)
    note: pl.String = column("own_note")

    class Config(Table.Config):
        """Key."""

        unique = ["horse_id", "foot", "changed_on", "what"]


EXPORT_TABLES: dict[str, type[Table]] = {
    "horses": Horses,
    "visits": Visits,
    "feet": Feet,
    "losses": Losses,
    "changes": Changes,
}
SELDOM = ("changes",)
"""Tables that few practices keep: nothing is said of one that is not there."""
REQUIRED_TABLES = ("horses", "visits", "feet")
