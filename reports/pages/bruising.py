"""Bruising: do bruises come back, where do they lie, how many does a foot gather, and does the shoe matter?"""

from reports.page import Page
from reports.pages.bruising_burden import burden, burden_by_relief, burden_by_work
from reports.pages.bruising_patterns import both_fronts, same_site
from reports.pages.bruising_returns import recurrence, recurrence_by
from reports.pages.bruising_sites import looks, sites, sites_by_work
from reports.picking import Results
from schemas.records import About

GRADES = (
    "A foot counts only where it was looked at and a grade written down: 0 looked for and not found, 1 faint, 2 clear, "
    "3 deep or painful. This scale is the project’s own; no published bruise grade has been validated."
)
UNPUBLISHED = (
    "Nothing peer-reviewed says how often sole bruises come back: there is no published figure to hold these against."
)


def bruising(results: Results, about: About) -> Page:
    """The page of bruises, over the whole record."""
    made = [recurrence(results), sites(results), same_site(results), both_fronts(results), burden(results)]
    made += [recurrence_by(results, "sole_relief"), burden_by_relief(results)]
    made += [recurrence_by(results, dimension) for dimension in ("interval_band", "shoe_style", "foot", "site")]
    made += [recurrence_by(results, "discipline"), burden_by_work(results), sites_by_work(results), looks(results)]
    return Page(
        "bruising.html",
        "Bruising",
        "Whether a bruise is there again at the next look, where it lies, and how many a foot gathers. All figures "
        "here are of the whole record. What goes together need not be the cause.",
        tuple(section for section in made if section),
        remarks=(GRADES, UNPUBLISHED),
    )
