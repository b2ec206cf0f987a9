"""The section on the bruises of one horse: where, how bad, which came back, and feet not looked at."""

from reports.charts.horse_bruises import horse_bruises
from reports.page import Numbers, Section, columns
from reports.picking import Row
from reports.wording import FOOT_NAMES, day, level_name, listed, many, whole

GRADES = {1: "Faint", 2: "Clear", 3: "Deep or painful"}
OWN_SCALE = "The grades are the project’s own. A foot not looked at is never taken for clear."


def bruises_of_horse(looks: list[Row]) -> Section | None:
    """looks: rows of one horse, in order, each a foot at a visit."""
    if not any(look["looked"] for look in looks):
        return None
    found = [look for look in looks if (look["bruise_grade"] or 0) >= 1]
    return Section(
        "Where has it been bruised?",
        _answer(looks, found),
        (horse_bruises(looks),) if found else (),
        (_numbers(found),) if found else (),
        (OWN_SCALE,),
    )


def _answer(looks: list[Row], found: list[Row]) -> str:
    seen = sum(look["looked"] for look in looks)
    missed = len(looks) - seen
    blank = f" {many(missed, 'time')} a foot was not looked at." if missed else " Every foot was looked at each time."
    if not found:
        return f"No bruise was found at {many(seen, 'look')}.{blank}"
    text = f"A bruise was found at {whole(len(found))} of {many(seen, 'look')}.{blank}"
    again = [look for look in found if look["same_site_again"]]
    if again:
        return f"{text} {' '.join(_same_site(looks, again))}"
    twice = any(look["again"] for look in found)
    return f"{text} A foot was bruised twice running, not known to be at the same site." if twice else text


def _same_site(looks: list[Row], again: list[Row]) -> list[str]:
    """Sites bruised twice running: a call to the vet where the foot's latest look found it so, else when that was."""
    latest = {look["foot"]: look["visit_date"] for look in looks if look["looked"]}
    last = {_place(look): look for look in again}
    now = [place for place, look in last.items() if look["visit_date"] == latest[look["foot"]]]
    past = [f"{look['visit_date']:%B %Y} ({place})" for place, look in last.items() if place not in now]
    told = [f"The same site twice running at the latest look, a reason to call the vet: {listed(now)}."] if now else []
    return [*told, f"Twice running at one site in {listed(past)}."] if past else told


def _place(look: Row) -> str:
    return f"{level_name('site', look['bruise_site']).lower()} of the {FOOT_NAMES[look['foot']].lower()}"


def _numbers(found: list[Row]) -> Numbers:
    place = list(FOOT_NAMES).index
    found = sorted(found, key=lambda look: (-look["visit_date"].toordinal(), place(look["foot"])))
    lines = [
        (
            day(look["visit_date"]),
            FOOT_NAMES[look["foot"]],
            level_name("site", look["bruise_site"]) if look["bruise_site"] else "Not told",
            whole(look["bruise_grade"]),
            GRADES[look["bruise_grade"]],
            "Same site" if look["same_site_again"] else "Same foot" if look["again"] else "",
        )
        for look in found
    ]
    heads = columns("Seen on", "Foot *", "Site *", "Grade", "How bad *", "Twice running *")
    return Numbers("Bruises, the latest first", heads, lines)
