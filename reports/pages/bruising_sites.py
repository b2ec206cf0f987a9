"""The sections on where bruises lie, over all horses and by kind of work, and on the feet not looked at."""

from reports.charts.sole_map import PLACES, Found, small_sole_map, sole_map
from reports.drawing import Chart
from reports.page import Numbers, Section, columns, table
from reports.picking import NOT_RECORDED, Results, Row, by_name, everything, rows
from reports.wording import END_NAMES, level_name, many, percent, whole
from schemas.words import ENDS

EPISODE = (
    "An episode begins where a foot that was clear is bruised at the next look, or bruised at its first one. It is one "
    "episode until a look finds the foot clear."
)
CORN = (
    "What others say: a corn, the bruise at the inner heel of a front foot, goes with a shoe left on too long, too "
    "small or too close (Merck Veterinary Manual)."
)
NOT_RATES = (
    "Works with more feet looked at have more bruises: compare the places of a picture, not picture with picture."
)
OTHERS = (
    "What others measured: a sole bruise in 24.7% of 942 horses at routine trims (likely 22.1 to 27.6%; Holzhauer "
    "2017, Prev Vet Med 140:53). That counts horses; the figures here count feet."
)


def sites(results: Results) -> Section | None:
    """The sole map of all horses."""
    found = _found(rows(results, "bruise_sites", "all"))
    if not found.episodes:
        return None
    drawn = (sole_map(found),) if found.most else ()
    return Section("Where on the sole do bruises lie?", _sites_answer(found), drawn, notes=(EPISODE, CORN))


def _found(found: list[Row]) -> Found:
    return Found({(row["end"], row["site"]): row["episodes"] for row in found if row["episodes"]})


def _sites_answer(found: Found) -> str:
    total = sum(found.episodes.values())
    untold = f" {many(found.untold, 'episode has', 'episodes have')} no site." if found.untold else ""
    if not found.most:
        return f"{many(total, 'episode')} on record, none with its site."
    end, site = max(((end, site) for end in ENDS for site in PLACES), key=lambda place: found.at(*place))
    return (
        f"Most often at the {level_name('site', site).lower()} of {END_NAMES[end].lower()}: {whole(found.most)} of "
        f"{many(total, 'episode')}.{untold}"
    )


def sites_by_work(results: Results) -> Section | None:
    """A small map a kind of work, with the counts in a table."""
    looks = {row["level"]: row for row in rows(results, "bruise_looks", "discipline")}
    levels = by_name(
        [{"level": level} for level in {row["level"] for row in rows(results, "bruise_sites", "discipline")}]
    )
    maps = [(row["level"], _found(rows(results, "bruise_sites", "discipline", level=row["level"]))) for row in levels]
    maps = [(level, found) for level, found in maps if found.episodes]
    if len(maps) < 2:
        return None
    most = max(maps, key=lambda one: (sum(one[1].episodes.values()), one[0]))
    return Section(
        "Where do they lie in each kind of work?",
        f"{many(len(maps), 'kind')} of work have bruises on record, most in {_work(most[0])}, "
        f"{many(sum(most[1].episodes.values()), 'episode')}.",
        tuple(_small(place, *one) for place, one in enumerate(maps)),
        (_by_work(maps, looks),),
        (NOT_RATES,),
    )


def _work(level: str) -> str:
    return level_name("discipline", level).lower()


def _small(place: int, level: str, found: Found) -> Chart:
    return small_sole_map(place, level_name("discipline", level), found)


def _by_work(maps: list[tuple[str, Found]], looks: dict[str, Row]) -> Numbers:
    places = [*PLACES, NOT_RECORDED]
    lines = [
        (
            level_name("discipline", level),
            *[f"{found.at('front', site)} + {found.at('hind', site)}" for site in places],
            whole(looks[level]["feet_looked"]) if level in looks else "–",
        )
        for level, found in maps
    ]
    heads = ("Work", *[level_name("site", site) for site in places], "Looks at a foot")
    return table("Episodes by site and kind of work, front + hind", heads, lines)


def looks(results: Results) -> Section | None:
    """How many feet that were seen were looked at."""
    every = everything(results, "bruise_looks")
    if every is None:
        return None
    found = [every, *by_name(rows(results, "bruise_looks", "discipline"))]
    not_looked = every["feet_at_visits"] - every["feet_looked"]
    answer = (
        f"{whole(every['feet_looked'])} of {many(every['feet_at_visits'], 'foot', 'feet')} at visits were looked "
        f"at ({percent(every['looked_share'])}). The other {whole(not_looked)} count nowhere here: a foot not looked "
        f"at is never taken for clear. Of those looked at, {whole(every['bruised_looks'])} were bruised."
    )
    return Section("Was every foot looked at?", answer, numbers=(_looks_numbers(found),), notes=(OTHERS,))


def _looks_numbers(found: list[Row]) -> Numbers:
    lines = [
        (
            level_name(row["dimension"], row["level"]),
            percent(row["looked_share"]),
            whole(row["feet_looked"]),
            whole(row["feet_at_visits"] - row["feet_looked"]),
            whole(row["bruised_looks"]),
            percent(row["bruised_looks"] / row["feet_looked"], 1) if row["feet_looked"] else "–",
        )
        for row in found
    ]
    heads = columns("Work", "Looked at", "Feet looked at", "Not looked at", "Bruised", "Of those looked at")
    return Numbers("Feet at visits, by kind of work", heads, lines)
