"""What became of each shoe, told again with loops and dicts from the written rules."""

from datetime import date, timedelta

FIT = (
    "shoe_style", "shoe_material", "web_mm", "thickness_mm", "branch_past_heel_mm", "expansion_mm", "nails_medial",
    "nails_lateral", "heel_nails", "nail_line", "clips", "pad", "fitting", "edges_dressed", "sole_relief",
    "wall_state", "wall_side",
)  # fmt: skip
PACES = {
    "fast": "barrel_racing breakaway_roping team_roping polo racing eventing show_jumping endurance",
    "mixed": "cutting reining hunting driving dressage gaited",
    "slow": "trail draft_work schooling companion young_stock",
}


def pace(discipline):
    return next((name for name, words in PACES.items() if discipline in words.split()), None)


def season(day, hemisphere):
    north = {12: "winter", 1: "winter", 2: "winter", 3: "spring", 4: "spring", 5: "spring"}
    north |= {6: "summer", 7: "summer", 8: "summer", 9: "autumn", 10: "autumn", 11: "autumn"}
    turned = {"winter": "summer", "summer": "winter", "spring": "autumn", "autumn": "spring"}
    return north[day.month] if hemisphere == "north" else turned[north[day.month]]


def stories(world, as_of):
    """(horse_id, foot) → that foot's rows in order, each with its visit and its horse."""
    horses = {horse["horse_id"]: horse for horse in world["horses"]}
    visits = {visit["visit_id"]: visit for visit in world["visits"] if visit["visit_date"] <= as_of}
    told = {}
    for row in world["feet"]:
        if row["visit_id"] in visits:
            visit = visits[row["visit_id"]]
            whole = {**horses[visit["horse_id"]], **visit, **row}
            told.setdefault((visit["horse_id"], row["foot"]), []).append(whole)
    for rows in told.values():
        rows.sort(key=lambda row: (row["visit_date"], row["visit_id"]))
    return told


def reports(world, horse_id, foot, as_of):
    """Loss reports of one foot, the first to be found off first."""
    mine = [
        loss
        for loss in world["losses"]
        if (loss["horse_id"], loss["foot"]) == (horse_id, foot) and loss["found_off"] <= as_of
    ]
    return sorted(mine, key=lambda loss: (loss["found_off"], loss["loss_id"]))


def shoe_spells(world, as_of, follow_up_days=84, hemisphere="north"):
    spells = []
    for (horse_id, foot), rows in stories(world, as_of).items():
        told = reports(world, horse_id, foot, as_of)
        for at, row in enumerate(rows):
            if row["work"] in ("fit_new", "reset"):
                spells.append(one_spell(row, rows[at + 1 :], told, as_of, follow_up_days, hemisphere))
    return sorted(spells, key=lambda spell: (spell["horse_id"], spell["foot"], spell["fitted_on"], spell["spell_id"]))


def one_spell(row, later, told, as_of, follow_up_days, hemisphere):
    fitted_on = row["visit_date"]
    after = next((r for r in later if r["work"] != "none" or r["arrival"] == "off"), None)
    until = after["visit_date"] if after else date.max
    report = next((loss for loss in told if fitted_on < loss["found_off"] <= until), None)
    end = {"lost_after": None, "lost_by": None, "cause": None}
    if report:
        end |= lost_by_report(fitted_on, report)
    elif after and after["arrival"] == "off":
        end |= lost_between(fitted_on, until)
    elif after:
        end |= {"ended_on": until, "end_reason": "renewed" if after["work"] in ("fit_new", "reset") else "taken_off"}
    else:
        end |= {"ended_on": min(as_of, fitted_on + timedelta(follow_up_days)), "end_reason": "running"}
    return {
        "spell_id": f"{row['visit_id']}:{row['foot']}",
        "horse_id": row["horse_id"],
        "foot": row["foot"],
        "fitted_visit_id": row["visit_id"],
        "fitted_on": fitted_on,
        **end,
        "days_on": (end["ended_on"] - fitted_on).days,
        **{name: row[name] for name in FIT},
        "discipline": row["discipline"],
        "pace": pace(row["discipline"]),
        "end": "front" if row["foot"] in ("LF", "RF") else "hind",
        "farrier": row["farrier"],
        "yard": row["yard"],
        "season": season(fitted_on, hemisphere),
    }


def lost_by_report(fitted_on, report):
    if report["last_seen_on"] is None:
        end = {"ended_on": report["found_off"], "end_reason": "lost"}
        return end | {"lost_after": fitted_on, "lost_by": report["found_off"], "cause": report["cause"]}
    seen = max(report["last_seen_on"], fitted_on)
    return lost_between(seen, report["found_off"]) | {"cause": report["cause"]}


def lost_between(after, by):
    half = ((by - after).days + 1) // 2
    end = {"ended_on": after + timedelta(half), "end_reason": "lost"}
    return end | {"lost_after": after, "lost_by": by}


def losses_without_shoe(world, as_of):
    """loss_id of each report that finds no shoe: none is on by the record, and none was lost since one was."""
    spells = shoe_spells(world, as_of)
    found = set()
    for loss in world["losses"]:
        last = None
        for spell in spells:
            if (spell["horse_id"], spell["foot"]) == (loss["horse_id"], loss["foot"]):
                last = spell if spell["fitted_on"] < loss["found_off"] else last
        if loss["found_off"] <= as_of and (last is None or last["end_reason"] != "lost"):
            found.add(loss["loss_id"])
    return found
