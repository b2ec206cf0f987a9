"""Intervals and steps between consecutive visits, told again with loops and dicts from the written rules."""

from itertools import pairwise

from tests.oracle.spells import season, stories


def visit_intervals(world, as_of, hemisphere="north"):
    horses = {horse["horse_id"]: horse for horse in world["horses"]}
    intervals = []
    for horse_id, horse in horses.items():
        rounds = [
            visit
            for visit in world["visits"]
            if visit["horse_id"] == horse_id
            and visit["visit_kind"] in ("routine", "first", "vet_request")
            and visit["visit_date"] <= as_of
        ]
        rounds.sort(key=lambda visit: (visit["visit_date"], visit["visit_id"]))
        for before, after in pairwise(rounds):
            days = (after["visit_date"] - before["visit_date"]).days
            planned = before["planned_weeks"]
            intervals.append(
                {
                    "horse_id": horse_id,
                    "discipline": horse["discipline"],
                    "yard": horse["yard"],
                    "season": season(after["visit_date"], hemisphere),
                    "from_visit_id": before["visit_id"],
                    "to_visit_id": after["visit_id"],
                    "from_date": before["visit_date"],
                    "to_date": after["visit_date"],
                    "days": days,
                    "planned_weeks": planned,
                    "days_late": None if planned is None else days - 7 * planned,
                }
            )
    return intervals


def foot_steps(world, as_of):
    steps = []
    for before, after in pairs(world, as_of, lambda row: row["work"] != "none"):
        steps.append(
            span(before, after)
            | {
                "angle_left_deg": before["angle_leaving_deg"],
                "angle_back_deg": after["angle_arrival_deg"],
                "angle_change_deg": difference(after["angle_arrival_deg"], before["angle_leaving_deg"]),
                "toe_change_mm": difference(after["toe_arrival_mm"], before["toe_leaving_mm"]),
                "bruise_from": before["bruise_grade"],
                "bruise_to": after["bruise_grade"],
                "shod": before["work"] in ("fit_new", "reset"),
            }
        )
    return steps


def bruise_steps(world, as_of):
    steps = []
    rounds = {(each["from_visit_id"], each["to_visit_id"]) for each in visit_intervals(world, as_of)}
    for before, after in pairs(world, as_of, lambda row: row["bruise_grade"] is not None):
        steps.append(
            span(before, after)
            | {
                "bruise_from": before["bruise_grade"],
                "bruise_to": after["bruise_grade"],
                "site_from": before["bruise_site"],
                "site_to": after["bruise_site"],
                "one_interval": (before["visit_id"], after["visit_id"]) in rounds,
            }
        )
    return steps


def pairs(world, as_of, counts):
    """Consecutive rows of one foot among those that count."""
    for rows in stories(world, as_of).values():
        kept = [row for row in rows if counts(row)]
        yield from pairwise(kept)


def span(before, after):
    return {
        "horse_id": before["horse_id"],
        "foot": before["foot"],
        "discipline": before["discipline"],
        "end": "front" if before["foot"] in ("LF", "RF") else "hind",
        "from_visit_id": before["visit_id"],
        "to_visit_id": after["visit_id"],
        "from_date": before["visit_date"],
        "to_date": after["visit_date"],
        "days": (after["visit_date"] - before["visit_date"]).days,
        "sole_relief": before["sole_relief"],
        "shoe_style": before["shoe_style"],
    }


def difference(later, earlier):
    return None if later is None or earlier is None else later - earlier
