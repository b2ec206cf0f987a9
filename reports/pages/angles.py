"""Angles: how they change between visits and over years, how even feet are, how far one reading can be trusted."""

from reports.page import Page
from reports.pages.angles_changes import changes, growth_changes, leaving_trends
from reports.pages.angles_even import classes, gaps
from reports.pages.angles_growth import feet, growth, growth_by_work
from reports.pages.angles_others import others
from reports.pages.angles_trend import lower_and_longer, trend, trend_by_work
from reports.pages.angles_trust import trust
from reports.picking import Results
from schemas.records import About

STAGES = (
    "An angle on leaving is compared only with the angle on the next arrival, or with the next leaving. Other readings "
    "are never mixed: before and after a trim they differ by themselves."
)


def angles(results: Results, about: About) -> Page:
    """The page of angles, over the whole record. It names horses, so it carries the cautions."""
    made = [growth(results), growth_by_work(results), trend(results), trend_by_work(results)]
    made += [leaving_trends(results), lower_and_longer(results), gaps(results), classes(results), trust(results)]
    made += [changes(results), growth_changes(results), feet(results), others(results)]
    return Page(
        "angles.html",
        "Angles",
        "How the angle of the toe to the ground changes while the foot grows from one visit to the next, and over the "
        "years; how even left and right are; how far one reading can be trusted. All figures here are of the whole "
        "record.",
        tuple(section for section in made if section),
        names_horses=True,
        remarks=(STAGES,),
    )
