"""Every column of every table, once: what it means, its unit, its limits, its words and its other names.

`low` and `high` are hard limits: beyond them a row is set aside. `doubt_below` and `doubt_above` are warning limits:
beyond them a row is accepted and named. `also` holds the trade's other headers for a column, lower case, one space
between words (common practice, no source). A name has one meaning in all tables.
"""

from dataclasses import dataclass, replace

from schemas import words


@dataclass(frozen=True)
class Meaning:
    """What a column means. kind: text, word, integer, number, date, yes_no or moment; unit: "" where it has none."""

    text: str
    kind: str = "text"
    unit: str = ""
    low: float | None = None
    high: float | None = None
    doubt_below: float | None = None
    doubt_above: float | None = None
    words: tuple[str, ...] = ()
    pattern: str | None = None
    longest: int | None = None
    also: tuple[str, ...] = ()
    private: bool = False

    def total(self) -> "Meaning":
        """The same of many rows added up: the limits of one cell do not hold for it."""
        nothing = {"high": None, "doubt_below": None, "doubt_above": None}
        return replace(self, text=f"{self.text} Added up.", low=0, **nothing)


def _id(text: str, *also: str) -> Meaning:
    return Meaning(text, longest=64, also=also)


def _word(text: str, vocabulary: tuple[str, ...], *also: str) -> Meaning:
    return Meaning(text, "word", words=vocabulary, also=also)


def _number(text: str, unit: str = "", low: float | None = None, high: float | None = None, **more) -> Meaning:
    return Meaning(text, "number", unit, low, high, **more)


def _count(text: str, low: float | None = 0, high: float | None = None, **more) -> Meaning:
    return Meaning(text, "integer", "", low, high, **more)


def _date(text: str, *also: str) -> Meaning:
    return Meaning(text, "date", also=also)


def _yes(text: str, *also: str) -> Meaning:
    return Meaning(text, "yes_no", also=also)


def _share(text: str) -> Meaning:
    return Meaning(text, "number", "share", 0, 1)


def _limit(text: str, unit: str = "") -> Meaning:
    return Meaning(text, "number", unit)


HORSES = {
    "horse_id": _id("The practice's own code for the horse.", "horse no", "horse number", "horse ref"),
    "horse_name": Meaning(
        "The name the horse is called by.",
        also=("horse", "name", "animal", "pony", "pony name", "pony's name", "horse's name", "name of horse"),
    ),
    "discipline": _word(
        "The work the horse is mainly shod for.", words.DISCIPLINES, "use", "work", "job", "sport", "used for"
    ),
    "foaled_year": _count("Year the horse was born.", 1980, None, also=("foaled", "born", "year of birth", "yob")),
    "sex": _word("Sex of the horse.", words.SEXES, "gender"),
    "breed": Meaning("Breed or type, as the practice writes it."),
    "yard": Meaning("Yard or stable where the horse stands.", also=("stable", "barn", "stables", "premises")),
    "height_hands": Meaning(
        "Height at the withers in hands and inches: 15.2 is 15 hands 2 inches, a hand being 4 inches.",
        unit="hands.inches",
        pattern=r"^([4-9]|1[0-9]|2[0-2])(\.[0-3])?$",
        also=("height", "hands", "hh"),
    ),
    "mass_kg": _number(
        "Body mass.", "kg", 80, 1300, doubt_below=80, doubt_above=900, also=("mass", "weight", "kg", "lbs")
    ),
    "turnout": _word("How much of the day the horse spends turned out.", words.TURNOUTS, "turned out", "kept"),
    "work_days_per_week": _count(
        "Days a week the horse works.", 0, 7, also=("days worked", "work days", "days a week")
    ),
    "microchip": Meaning(
        "Transponder code of the horse: 15 digits, the last 12 being at most 274,877,906,943 (ISO 11784, 38 bits).",
        pattern=r"^[0-9]{15}$",
        also=("chip", "chip no", "chip number", "microchip no", "microchip number", "transponder"),
    ),
    "ueln": Meaning(
        "Universal equine life number: 15 characters, the first three an ISO 3166 numeric country code.",
        pattern=r"^[0-9]{3}[0-9A-Z]{3}[0-9A-Z]{9}$",
        also=("life number", "passport", "passport no", "passport number"),
    ),
    "owner_ref": Meaning("Code for the owner; says nothing about who that is.", also=("owner code", "client code")),
    "owner_name": Meaning("Name of the owner.", also=("owner", "client", "customer"), private=True),
    "owner_contact": Meaning(
        "How the owner is reached.", also=("contact", "phone", "telephone", "email", "mobile"), private=True
    ),
    "vet_practice": Meaning("Reference of the vet practice that sees the horse.", also=("vet", "vets", "vet surgery")),
    "share_with_vet": _yes(
        "Whether the owner agrees that outcomes go to the vet practice; blank means no.",
        "share",
        "consent",
        "vet ok",
        "vet can see",
        "vet may see",
    ),
}

VISITS = {
    "visit_id": _id("The practice's own code for one visit to one horse.", "visit no", "visit number", "visit ref"),
    "visit_date": _date(
        "Day of the visit.",
        "date",
        "when",
        "visit",
        "seen on",
        "seen",
        "day",
        "date seen",
        "shod on",
        "date shod",
        "shoeing date",
    ),
    "farrier": Meaning("Who shod.", also=("shod by", "by", "smith", "done by", "who", "who shod")),
    "visit_kind": _word(
        "Why the visit took place.",
        words.VISIT_KINDS,
        "visit",
        "kind",
        "type",
        "visit type",
        "call",
        "kind of visit",
        "reason for visit",
        "visit reason",
    ),
    "minutes": _number(
        "Time spent on the horse.",
        "min",
        1,
        600,
        doubt_below=5,
        doubt_above=300,
        also=("mins", "time", "time taken", "duration", "hours"),
    ),
    "fee": _number(
        "What was charged, in the practice's own currency.", "currency", 0, also=("charge", "price", "paid")
    ),
    "travel_km": _number(
        "Distance driven for the visit.", "km", 0, 1000, also=("travel", "km", "distance", "driven", "miles", "mileage")
    ),
    "planned_weeks": _number(
        "Interval agreed for the next visit.",
        "weeks",
        1,
        26,
        also=("weeks", "next", "next visit", "interval", "due in", "come back", "back in", "next in"),
    ),
    "handling": _count(
        "How the horse stood: 1 easy, 2, 3, 4, 5 not safe to finish.", 1, 5, also=("behaviour", "behavior", "manners")
    ),
    "notes": Meaning("Free text.", also=("note", "remarks", "comments", "comment"), private=True),
}

FEET = {
    "foot": _word("Left or right, fore or hind.", words.FEET, "limb", "leg", "hoof", "which foot", "which leg"),
    "arrival": _word(
        "How the shoe was found.", words.ARRIVALS, "came in", "on arrival", "found", "shoe in", "shoe on arrival"
    ),
    "work": _word("What was done to the foot.", words.WORKS, "done", "did", "work done", "what was done", "treatment"),
    "shoe_style": _word("Form of the shoe.", words.SHOE_STYLES, "shoe", "style", "shoe type", "type of shoe"),
    "shoe_material": _word("What the shoe is made of.", words.SHOE_MATERIALS, "material", "metal"),
    "web_mm": _number("Width of the bar the shoe is made of.", "mm", 5, 60, also=("web", "width", "section width")),
    "thickness_mm": _number("Thickness of the shoe.", "mm", 2, 25, also=("thickness", "thick", "section thickness")),
    "branch_past_heel_mm": _number(
        "Steel behind the heel buttress; 0 flush, negative short.",
        "mm", -20, 40, also=("branch", "branch past heel", "branch length", "length behind heel", "heel length"),
    ),
    "expansion_mm": _number(
        "Shoe standing outside the wall at the heels, per side.",
        "mm", -5, 15, also=("expansion", "heel expansion", "width at heels"),
    ),
    "nails_medial": _count("Nails on the inside branch.", 0, 6, also=("nails in", "nails inside", "inside nails")),
    "nails_lateral": _count("Nails on the outside branch.", 0, 6, also=("nails out", "nails outside", "outside nails")),
    "heel_nails": _count("Nails behind the widest part of the foot.", 0, 4, also=("nails back", "nails at heel")),
    "nail_line": _word("How the line of clinches runs from toe to heel.", words.NAIL_LINES, "clinch line", "clinches"),
    "clips": _word("Clips drawn on the shoe.", words.CLIPS, "clip"),
    "pad": _word("Pad under the shoe.", words.PADS, "pads"),
    "fitting": _word("Shoe fitted hot or cold.", words.FITTINGS, "fitted", "fit", "hot or cold"),
    "edges_dressed": _yes("Ground edge rounded so that the horse cannot catch it.", "edges", "edge rounded", "safed"),
    "sole_relief": _yes("Shoe clear of the sole all round.", "relief", "sole relieved", "seated out"),
    "wall_state": _word("State of the hoof wall.", words.WALL_STATES, "wall", "hoof wall"),
    "wall_side": _word("Where the wall is not sound.", words.WALL_SIDES, "side", "wall where"),
    "bruise_grade": _count(
        "Sole bruise: 0 looked for and not found, 1 faint, 2 clear, 3 deep or painful; blank is not looked for. "
        "This grade is the project's own; no published scale has been validated.",
        0, 3, also=("bruise", "bruising", "bruised", "bruises"),
    ),
    "bruise_site": _word("Where the bruise lies.", words.BRUISE_SITES, "where", "bruise where"),
    "angle_arrival_deg": _number(
        "Angle of the dorsal wall to the ground before the trim.",
        "deg", 30, 75, doubt_below=40, doubt_above=65,
        also=("angle in", "angle before", "arrival angle", "angle arrival", "angle on arrival"),
    ),
    "angle_leaving_deg": _number(
        "Angle of the dorsal wall to the ground when the foot was finished.",
        "deg", 30, 75, doubt_below=40, doubt_above=65,
        also=("angle out", "angle after", "leaving angle", "angle leaving", "angle on leaving", "angle"),
    ),
    "toe_arrival_mm": _number(
        "Coronet to ground at the toe, before the trim.",
        "mm", 40, 160, doubt_below=65, doubt_above=115,
        also=("toe in", "toe before", "arrival toe", "toe arrival", "toe length in"),
    ),
    "toe_leaving_mm": _number(
        "Coronet to ground at the toe, when the foot was finished.",
        "mm", 40, 160, doubt_below=65, doubt_above=115,
        also=("toe out", "toe after", "leaving toe", "toe leaving", "toe length out", "toe length"),
    ),
}  # fmt: skip

LOSSES = {
    "loss_id": _id("The practice's own code for one reported loss.", "loss no", "loss number", "loss ref"),
    "found_off": _date(
        "Day the shoe was found to be off.",
        *("lost", "off", "found", "lost on", "date lost", "off on", "lost when", "when lost", "day lost"),
    ),
    "last_seen_on": _date("Last day the shoe was known to be on.", "last seen", "last on", "on until"),
    "cause": _word("What pulled the shoe, as reported.", words.CAUSES, "reason", "why", "how"),
    "activity": _word("What the horse was doing.", words.ACTIVITIES, "doing", "during"),
    "ground": _word("What the horse stood on.", words.GROUNDS, "going", "footing", "surface"),
}

CHANGES = {
    "foot_or_all": _word("The foot it was changed on, or all.", (*words.FEET, "all"), "limb", "leg", "hoof"),
    "changed_on": _date("Day of the visit at which it changed.", "changed", "date"),
    "what": Meaning(
        "What was changed, in the farrier's words.", also=("change", "what changed", "tried", "what we tried")
    ),
    "own_note": Meaning("Free text.", also=("notes", "remarks", "comments", "comment"), private=True),
}

DERIVED = {
    "spell_id": Meaning("One shoe on one foot: visit_id and foot of the row that opened it, joined by a colon."),
    "fitted_visit_id": _id("The visit at which the shoe was nailed on."),
    "fitted_on": _date("Day the shoe was nailed on."),
    "ended_on": _date("Day the spell ends: the best single day for a loss, the visit, or the end of follow-up."),
    "end_reason": _word("How the spell ended.", words.END_REASONS),
    "days_on": _count("Days from nailing to the end of the spell."),
    "lost_after": _date("The shoe was still on this day; blank where it was not lost."),
    "lost_by": _date("The shoe was off by this day; blank where it was not lost."),
    "pace": _word("Pace class of the discipline, used for fit; blank for other.", words.PACES),
    "end": _word("Front or hind.", words.ENDS),
    "season": _word("Season by the month of fitting (or of the visit), turned round in the south.", words.SEASONS),
    "from_visit_id": _id("The earlier of two visits."),
    "to_visit_id": _id("The later of two visits."),
    "from_date": _date("Day of the earlier visit."),
    "to_date": _date("Day of the later visit."),
    "days": _count("Days between the two visits."),
    "one_interval": _yes("Whether the two looks were made at the two ends of one interval of derived.visit_intervals."),
    "days_late": Meaning("Days past the planned interval; negative is early; blank without a plan.", "number", "days"),
    "angle_left_deg": _number("Angle the foot left with at the earlier visit.", "deg"),
    "angle_back_deg": _number("Angle the foot came back with at the later visit.", "deg"),
    "angle_change_deg": _number("angle_back_deg minus angle_left_deg: growth over the interval.", "deg"),
    "toe_change_mm": _number("Toe on arrival minus the toe the foot left with at the visit before.", "mm"),
    "bruise_from": _count("Bruise grade at the earlier look.", 0, 3),
    "bruise_to": _count("Bruise grade at the later look.", 0, 3),
    "site_from": _word("Bruise site at the earlier look.", words.BRUISE_SITES),
    "site_to": _word("Bruise site at the later look.", words.BRUISE_SITES),
    "shod": _yes("Whether the foot left the earlier visit with a shoe nailed on."),
}

RESULTS = {
    "dimension": Meaning("What the rows are split by; `all` is everything together."),
    "level": Meaning("The value of the dimension; `all` where there is one."),
    "note": Meaning("Why a figure is missing or weak; blank where nothing need be said."),
    "horses": _count("Horses counted."),
    "shoes": _count("Shoes nailed on."),
    "losses": _count("Shoes lost."),
    "shoe_days": _number("Days with a shoe on; a spell of 0 days counts half a day.", "days", 0),
    "per_1000_days": _number("Losses per 1,000 shoe-days.", "per 1,000 shoe-days", 0),
    "per_1000_median_unbiased": _number(
        "per_1000_days set to fall above the truth as often as below; blank where that cannot be told.",
        "per 1,000 shoe-days",
        0,
    ),
    "per_100_shoes": _number("Losses per 100 shoes nailed.", "per 100 shoes", 0),
    "low": _limit("Lower 95 % limit of the row's main figure."),
    "high": _limit("Upper 95 % limit of the row's main figure."),
    "low_clustered": _number(
        "Lower 95 % limit of the rate, horses being the sampling units.", "per 1,000 shoe-days", 0
    ),
    "high_clustered": _number(
        "Upper 95 % limit of the rate, horses being the sampling units.", "per 1,000 shoe-days", 0
    ),
    "day": _count("Age in days: of the shoe, or since the first look."),
    "day_from": _count("First day of the innermost interval, excluded."),
    "day_to": _count("Last day of the innermost interval, included; blank where it has no end."),
    "at_risk": _count("Shoes still on and followed at the start of the day."),
    "lost": _count("Shoes lost on the day."),
    "renewed": _count("Shoes that left on the day for another reason: renewed, taken off, or followed no longer."),
    "kept": _share("Estimated share of shoes not lost by the end of the day."),
    "kept_low": _share("Lower 95 % limit of kept (log-log); blank while kept is 1 and once it is 0."),
    "kept_high": _share("Upper 95 % limit of kept (log-log); blank while kept is 1 and once it is 0."),
    "kept_low_left_out": _share("Lower 95 % limit of kept from leaving each horse out in turn, or by shoe if wider."),
    "kept_high_left_out": _share("Upper 95 % limit of kept from leaving each horse out in turn, or by shoe if wider."),
    "weeks": _count("Booking interval in weeks."),
    "share_lost": _share("Estimated share of shoes lost by the end of the interval."),
    "chi2": _number("Log-rank chi-square.", "", 0),
    "df": _count("Degrees of freedom."),
    "p_value": _share("Two-sided p-value."),
    "chi2_clustered": _number("Log-rank chi-square with horses as the units.", "", 0),
    "p_clustered": _share("Two-sided p-value with horses as the units."),
    "factor": Meaning("The thing that differs between shoes."),
    "reference": Meaning("The level the ratio compares with."),
    "rate_ratio": _number("Loss rate over the reference's, the other factors being equal.", "", 0),
    "ratio_median_unbiased": _number(
        "rate_ratio set to fall above the truth as often as below; blank where that cannot be told, as with over 1,000 "
        "horses.",
        "",
        0,
    ),
    "low_left_out": _number(
        "Lower 95 % limit from leaving each horse out in turn, about the median-unbiased ratio where there is one.",
        "",
        0,
    ),
    "high_left_out": _number(
        "Upper 95 % limit from leaving each horse out in turn, about the median-unbiased ratio where there is one.",
        "",
        0,
    ),
    "within_horse_ratio": _number("The same ratio from comparing each horse's shoes with its own only.", "", 0),
    "within_low": _number("Lower 95 % limit of within_horse_ratio.", "", 0),
    "within_high": _number("Upper 95 % limit of within_horse_ratio.", "", 0),
    "shoe_days_before": _number("Days at risk of the shoes in the year before the change.", "days", 0),
    "losses_before": _count("Shoes lost in the year before the change."),
    "expected_before": _number("Losses expected of the horse's peers in the year before the change.", "losses", 0),
    "ratio_before": _number("Losses over losses expected in the year before the change.", "", 0),
    "shoe_days_after": _number("Days at risk of the shoes in the year after the change, so far.", "days", 0),
    "losses_after": _count("Shoes lost in the year after the change, so far."),
    "expected_after": _number(
        "Losses expected of the horse's peers in the year after the change, so far.", "losses", 0
    ),
    "ratio_after": _number("Losses over losses expected in the year after the change, so far.", "", 0),
    "change_ratio": _number("ratio_after over ratio_before.", "", 0),
    "shrunk_before": _number("ratio_before drawn to that of all horses, by how little is known of the horse.", "", 0),
    "losses_by_chance": _number("Losses to be expected after the change if it did nothing: shrunk_before held.", "", 0),
    "chance_low": _number("Losses after the change that 2.5 % of such horses would have at most.", "", 0),
    "chance_high": _number("Losses after the change that 97.5 % of such horses would have at most.", "", 0),
    "expected": _number("Losses the shoe-days would bring at the rate of the peers.", "losses", 0),
    "ratio": _number("Found over expected; in bruise_recurrence, chance again over chance new.", "", 0),
    "ratio_low": _number("Lower 95 % limit of ratio.", "", 0),
    "ratio_high": _number("Upper 95 % limit of ratio.", "", 0),
    "shrunk_ratio": _number("Ratio drawn toward 1 by how little is known of the horse.", "", 0),
    "shrunk_low": _number("2.5 % point of the shrunk ratio.", "", 0),
    "shrunk_high": _number("97.5 % point of the shrunk ratio.", "", 0),
    "chance_above_double": _share("Chance that the horse's true ratio is above 2."),
    "first_alarm": _yes(
        "Whether a national joint registry's first alarm would mark the horse: over twice the losses expected, at "
        "least 10 shoes, and so many losses or more less than 5 % likely in a Poisson count of what is expected."
    ),
    "page_no": _count("Number of the horse's page in the site, by the order of horse_id.", 1),
    "wide": _count("Of the losses, those known only to lie between two days over a week apart."),
    "wide_at_call_outs": _count("Of wide, those found at a visit for a lost shoe and given no day by anyone."),
    "fit_measure": _word(
        "What is compared: a measure, or the share of shoes of which it is true. The hind ones are of the foot on the "
        "same side at the visit a front shoe was nailed on.",
        words.FIT_MEASURES,
    ),
    "lost_shoes": _count("Lost shoes in which it is recorded."),
    "kept_shoes": _count("Shoes renewed or taken off in which it is recorded; one still running is in neither count."),
    "lost_figure": _number("Mean, or share, among lost shoes."),
    "kept_figure": _number("Mean, or share, among shoes renewed or taken off."),
    "differs": _yes(
        "Whether the means of lost and kept shoes lie further apart than chance sets them in 19 of 20 comparisons "
        "(two-sided t, one variance); blank with fewer than 3 lost or 5 kept shoes. Shoes of one visit are alike, so "
        "it is met more often than that by chance."
    ),
    "phase": _word(
        "Stretch of a shoe's life: `age` a band of days; of shoes with a planned interval, early the first 14 days, "
        "late the last 14 before the planned date, middle what lies between, after_planned the days past it.",
        words.PHASES,
    ),
    "branch_band": Meaning("Steel behind the heel buttress, in bands of branch_past_heel_mm."),
    "shoes_at_once": _count("Shoes nailed on at one visit, as is usual there."),
    "expected_losses": _number("Shoes expected to be lost before the next visit.", "losses", 0),
    "losses_spread": _number("Losses, each that lies between two days spread over them.", "losses", 0),
    "losses_per_year": _number("Shoes expected to be lost in a year of such intervals.", "losses", 0),
    "chance_of_a_loss": _share("Chance that at least one shoe is lost before the next visit."),
    "cusum": _number("Evidence that losses have doubled, summed month by month and never below 0.", "", 0),
    "threshold": _number("The sum at which the watch signals.", "", 0),
    "signal": _yes("Whether the watch signalled in the month; the sum starts anew after it."),
    "funnel": _word("Place in the funnel about ratio 1.", words.FUNNEL_PLACES),
    "low_95": _number("Lower 95 % point of the funnel about ratio 1: a ratio below it is outside.", "", 0),
    "high_95": _number("Upper 95 % point of the funnel about ratio 1: a ratio above it is outside.", "", 0),
    "low_998": _number("Lower 99.8 % point of the funnel about ratio 1: a ratio below it is outside.", "", 0),
    "high_998": _number("Upper 99.8 % point of the funnel about ratio 1: a ratio above it is outside.", "", 0),
    "low_95_spread": _number("Lower 95 % point of the ratio where horses differ beyond chance as these do.", "", 0),
    "high_95_spread": _number("Upper 95 % point of the ratio where horses differ beyond chance as these do.", "", 0),
    "peers": _count("Other horses of its discipline with a shoe on record."),
    "peer_losses": _count("Shoes these lost."),
    "few_peers": _yes("Whether these are fewer than 3, or lost fewer than 5: what is expected is a guess then."),
    "above_95": _count("Horses above the inner edge of the funnel."),
    "above_998": _count("Horses above the outer edge of the funnel."),
    "chance_above_95": _number("Horses that chance alone would put above the inner edge.", "horses", 0),
    "chance_above_998": _number("Horses that chance alone would put above the outer edge.", "horses", 0),
    "first_alarms": _count("Horses that a national joint registry's first alarm would mark."),
    "dispersion": _number("Winsorised over-dispersion of losses about those expected; about 1 by chance alone.", "", 0),
    "ratio_sd": _number("Standard deviation of the horses' true ratios, by maximum likelihood.", "", 0),
    "intervals": _count("Intervals between visits."),
    "median_days": _number("Median interval.", "days", 0),
    "p10_days": _number("10 % of intervals are at most this long (type 7).", "days", 0),
    "p25_days": _number("25 % of intervals are at most this long (type 7).", "days", 0),
    "p75_days": _number("75 % of intervals are at most this long (type 7).", "days", 0),
    "p90_days": _number("90 % of intervals are at most this long (type 7).", "days", 0),
    "share_over_56": _share("Share of intervals of more than 56 days."),
    "intervals_planned": _count("Of those, intervals with a plan."),
    "planned_days": _number("Mean of the intervals agreed.", "days", 0),
    "done_days": _number("Mean of what the intervals with a plan became.", "days", 0),
    "median_days_late": _number("Median of the days past the planned interval; negative is early.", "days"),
    "late_share": _share("Share of intervals with a plan that ran more than 7 days past it."),
    "steps": _count("Pairs of consecutive visits."),
    "steps_clear": _count("Steps that start at a clear foot."),
    "clear_to_bruised": _count("Of those, steps that end bruised."),
    "steps_bruised": _count("Steps that start at a bruised foot."),
    "bruised_to_bruised": _count("Of those, steps that end bruised."),
    "chance_new": _share("clear_to_bruised over steps_clear."),
    "chance_again": _share("bruised_to_bruised over steps_bruised."),
    "horses_clear": _count("Horses with a clear foot that was looked at again."),
    "horses_bruised": _count("Horses with a bruised foot that was looked at again."),
    "new_low": _share("Lower 95 % limit of chance_new, horses being the sampling units."),
    "new_high": _share("Upper 95 % limit of chance_new, horses being the sampling units."),
    "again_low": _share("Lower 95 % limit of chance_again, horses being the sampling units."),
    "again_high": _share("Upper 95 % limit of chance_again, horses being the sampling units."),
    "feet": _count("Feet counted."),
    "mean_episodes": _number("Mean number of bruising episodes a foot.", "episodes", 0),
    "deg_per_week": _limit("Mean change of the angle a week.", "deg/week"),
    "deg_per_year": _limit("Mean change a year of the angle feet leave with.", "deg/year"),
    "sd_between_feet": _number("Standard deviation between feet of their own weekly change.", "deg/week", 0),
    "sd_start": _number("Standard deviation between feet of the angle at the start.", "deg", 0),
    "sd_slope": _number("Standard deviation between feet of the yearly change.", "deg/year", 0),
    "residual_sd_deg": _number(
        "Standard deviation about the foot's own line: in angle_drift of one change, which holds the error of two "
        "readings; elsewhere of one reading, which holds trimming too and, on arrival, growth.",
        "deg",
        0,
    ),
    "error_sd_deg": _number(
        "Error of one reading, as a standard deviation: that of changes from leaving to the next arrival about the "
        "foot's own growth, shod and bare apart, over √2.",
        "deg",
        0,
    ),
    "shod_or_bare": _word("How the foot grew over its pairs of visits.", ("shod", "bare", "both")),
    "peers_deg_per_week": _limit(
        "Mean change of the angle a week of its peers, shod or bare as the foot was.", "deg/week"
    ),
    "leaving_trend_deg_per_year": _limit("This foot's yearly change of the angle it leaves with.", "deg/year"),
    "leaving_trend_low": _limit("Lower 95 % limit of leaving_trend_deg_per_year.", "deg/year"),
    "leaving_trend_high": _limit("Upper 95 % limit of leaving_trend_deg_per_year.", "deg/year"),
    "visits": _count("Visits counted."),
    "period": _word("Length of the period.", words.PERIODS),
    "starts_on": _date("First day of the period; weeks start on Monday (ISO 8601)."),
    "feet_trimmed": _count("Feet trimmed and left without a new shoe."),
    "shoes_nailed": _count("Shoes nailed on."),
    "lost_shoe_visits": _count("Visits made because a shoe was lost."),
    "lost_shoe_timed": _count("Visits for a lost shoe with minutes recorded."),
    "lost_shoe_driven": _count("Visits for a lost shoe with kilometres recorded."),
    "lost_shoe_minutes": _number("Minutes of those visits, unpaid.", "min", 0),
    "lost_shoe_km": _number("Distance driven for those visits, unpaid.", "km", 0),
    "table_name": Meaning("A table of the export."),
    "column_name": Meaning("A column of that table."),
    "rows": _count("Rows counted."),
    "filled": _count("Rows in which the column is not blank."),
    "share": _share("filled over rows."),
    "used_by": Meaning("The analyses that lack it where it is blank."),
    "cause_share": _share("Share of losses with this reported cause."),
    "low_by_horse": _limit("Lower 95 % limit of the row's main figure, horses being the sampling units."),
    "high_by_horse": _limit("Upper 95 % limit of the row's main figure, horses being the sampling units."),
    "site": Meaning("Where the bruise lies, as in bruise_site; `not recorded` where that is blank."),
    "episodes": _count("Feet bruised at their first look, and feet clear at one look and bruised at the next."),
    "bruised_looks": _count("Looks that found a bruise."),
    "feet_at_visits": _count("Feet on record, once a visit."),
    "feet_looked": _count("Of those, feet looked at for a bruise; the others are not taken for clear."),
    "looked_share": _share("feet_looked over feet_at_visits."),
    "returns": _count("Looks at a bruise that found one again, the site being recorded both times."),
    "same_site": _count("Of those, bruises at the same site both times."),
    "same_share": _share("same_site over returns."),
    "share_by_chance": _share("What the share would be if the one bruise had nothing to do with the other."),
    "pair_looks": _count("Visits at which both front feet were looked at."),
    "one_bruised": _count("Of those, visits with one of the two bruised."),
    "both_bruised": _count("Of those, visits with both bruised."),
    "both_share": _share("both_bruised over pair_looks."),
    "own_ratio": _number("both_bruised over what chance brings within each horse by how often each foot was.", "", 0),
    "own_ratio_low": _number("Lower 95 % limit of own_ratio.", "", 0),
    "own_ratio_high": _number("Upper 95 % limit of own_ratio.", "", 0),
    "lower_longer": _count("Feet whose own lines have the leaving angle go down and the leaving toe go up."),
    "lower_longer_share": _share("lower_longer over feet."),
    "lower_longer_sure": _count("Of those, feet for which both directions lie outside their 95 % limits."),
    "measured_on": _date("Day of the latest measurement."),
    "latest_gap_deg": _number("Left minus right leaving angle of a pair at its latest measurement.", "deg"),
    "mean_gap_deg": _number("The same, mean of all visits at which both feet were measured.", "deg"),
    "uneven_visits": _count("Visits at which the gap, either way, was over the cut-off."),
    "cut_off_deg": _number("A gap above this is called uneven (Wiggers 2015, PLoS ONE 10:e0114836).", "deg", 0),
    "latest_uneven": _yes("Whether the latest gap, either way, is over the cut-off."),
    "hoof_class": _word(
        "By the latest leaving angle: flat under 50, medium 50 to 55, upright over 55 degrees (Wiggers 2015).",
        ("flat", "medium", "upright"),
    ),
    "class_share": _share("feet over all feet of the level."),
    "angle_at": _word(
        "When the angle was read: on arrival, on leaving, or growth, which is leaving and the next arrival.",
        ("arrival", "leaving", "growth"),
    ),
    "angles_read": _count("Angles read."),
    "smallest_change_deg": _number(
        "Smallest real change of one foot: 1.96·√2·error_sd_deg; between two arrivals more, by what is not known of "
        "the growth before each.",
        "deg",
        0,
    ),
    "growth_deg": _limit(
        "What of the change between two arrivals growth explains: weeks grown before each, by the foot's own change a "
        "week, shod or bare. 0 at other stages.",
        "deg",
    ),
    "changes": _count("Pairs of consecutive readings at this stage."),
    "changes_judged": _count("Of those, changes of which it is known what growth explains."),
    "changes_beyond": _count("Of those judged, changes that are larger, growth taken away, than smallest_change_deg."),
    "hand_changed": _yes("Whether two farriers saw the foot, one at either reading; blank where that is not known."),
    "other_farrier": _count(
        "Of changes, those between readings of two farriers: the hand may have changed, not the foot."
    ),
    "change_deg": _number("Later minus earlier angle.", "deg"),
    "compared": _word(
        "leaving_angle, leaving_toe: left minus right foot of a pair. nails: inside minus outside nails of a shoe. "
        "wall_findings: share of findings at one side that are on the inside.",
        ("leaving_angle", "leaving_toe", "nails", "wall_findings"),
    ),
    "pairs": _count("Pairs of feet, shoes or wall findings counted."),
    "mean_difference": Meaning("Mean of the measure, in its own unit: degrees, mm, nails or share.", "number"),
    "mean_change_deg": _number("Mean change of the angle over such an interval.", "deg"),
    "change_low": _number("Lower 95 % limit of mean_change_deg, horses being the sampling units.", "deg"),
    "change_high": _number("Upper 95 % limit of mean_change_deg, horses being the sampling units.", "deg"),
    "mean_days_late": _number("Mean of days past the planned interval.", "days"),
    "days_later_per_year": _number("How many days later against its plan the horse is seen each year.", "days/year"),
    "slipping": _yes("Whether the lower limit of days_later_per_year is above 0."),
    "first_visit_on": _date("Day of the horse's first visit on record."),
    "last_visit_on": _date("Day of the horse's latest visit."),
    "round_visit_id": Meaning("Visit of the round that the due day is counted from."),
    "due_on": _date("Day the horse is due: its latest round of shoeing and the interval agreed then."),
    "seen_again_on": _date("Day the horse was seen again, which cancels the entry; blank where it is still to come."),
    "revised_at": Meaning(
        "As-of date of the latest load that changed the horse or a visit, a second on a load.", "moment"
    ),
    "revision": _count("A number that grows with each load that changes the entry or the horse’s visits."),
    "days_overdue": Meaning("Days from due_on to the as-of date; negative is still to come.", "integer", "days"),
    "shoes_on": _count("Shoes on the horse on the as-of date; blank where of one there has been no word for long."),
    "chance_lost": _share(
        "Chance that at least one of them is lost before the horse is due, or within 7 days where it is overdue."
    ),
    "chance_note": Meaning("Why there is no chance to tell, where shoes are on or may be."),
    "silent": _yes("Whether the horse has not been seen for over 26 weeks: it may have left."),
    "horses_due": _count("Horses whose due_on falls in the week; in the first week also those overdue."),
    "horses_beyond": _count("Horses overdue by as long as any has ever come late, or longer: expected in no week."),
    "visits_expected": _number("Mean number of them to be seen in the week, by how late horses have run.", "visits", 0),
    "which": _word("The season under review, or the one before it.", ("this", "before")),
    "days_worked": _count("Days with at least one visit."),
    "horses_a_day": _count("Horses one farrier saw on one day."),
    "farrier_days": _count("Days of one farrier on which so many horses were seen."),
    "lost_shoe_charged": _count("Visits for a lost shoe with a fee recorded."),
    "lost_shoe_fee": _number("What was charged for visits for a lost shoe.", "currency", 0),
    "standing": _word(
        "Seen this season for the first time, seen in both, seen this season and earlier but not in the one before, "
        "or seen in the one before only: gone, or not_yet where this season still runs.",
        ("new", "kept", "returned", "gone", "not_yet"),
    ),
    "timed": _count("Visits with minutes recorded."),
    "driven": _count("Visits with kilometres recorded."),
    "charged": _count("Visits with a fee recorded."),
    "median_minutes": _number("Median minutes of a visit.", "min", 0),
    "p25_minutes": _number("25 % of visits take at most this long (type 7).", "min", 0),
    "p75_minutes": _number("75 % of visits take at most this long (type 7).", "min", 0),
    "start": _date("First day of the season under review."),
    "stop": _date("Last day of the season under review."),
}

LEDGER = {
    "load_id": _count("Number of the load, from 1.", 1),
    "started_at": Meaning("When the load began, UTC.", "moment"),
    "finished_at": Meaning("When the load was done, UTC.", "moment"),
    "as_of": _date("The day the record is read as of: nothing later is accepted."),
    "source_file": Meaning("File, and sheet where there are several, that the row came from."),
    "source_row": _count("Row number as a person sees it in the file, the header being a row.", 1),
    "rule": Meaning("Short name of the rule."),
    "value": Meaning("What was found."),
    "reason": Meaning("What is wrong and what is allowed, in one sentence."),
    "row_json": Meaning("The whole row as it was found, JSON.", private=True),
    "rows_read": _count("Rows read."),
    "rows_new": _count("Rows accepted for the first time."),
    "rows_changed": _count("Rows that replaced an earlier version."),
    "rows_unchanged": _count("Rows that were there already, word for word."),
    "rows_set_aside": _count("Rows not accepted."),
    "file_name": Meaning("Name of the file."),
    "superseded_by": _count("Number of the load whose row took this one's place.", 1),
    "format_version": _count("Version of the form in which a store is kept.", 1),
    "sha256": Meaning("SHA-256 of the file's bytes, hexadecimal."),
}

SHARED = {
    "summary": Meaning("Name of the summary; says the day it is read as of and which one it is for this vet practice."),
    "since": _date("The summary holds nothing before this day; blank where it holds the whole record."),
    "contact": Meaning("Who to ask about the summary, in the farrier's own words."),
    "first_day": _date("Day of the first visit in the summary."),
    "last_day": _date("Day of the last visit in the summary."),
    "angle_sd_deg": _number(
        "Error of one angle reading as a standard deviation, over the whole shoeing practice: from leaving and the "
        "next arrival, growth taken away; blank where it rests on too few.",
        "deg",
        0,
    ),
    "least_change_deg": _number(
        "Smallest change between two readings of one foot at one stage that is more than the error of reading: "
        "1.96 times root 2 times angle_sd_deg.",
        "deg",
        0,
    ),
    "horse_no": _count("Number of the horse within this summary, by name; another summary may number otherwise.", 1),
    "visit_no": _count("Number of the visit within this summary and horse, by day.", 1),
    "feet_seen": _count("Times a foot was recorded at a visit."),
    "looks": _count("Times a foot was looked at for a bruise."),
    "bruised": _count("Of those looks, the ones that found a bruise of grade 1 or more."),
    "per_1000_low": _number(
        "Lower exact 95 % limit of per_1000_days (Garwood 1936), shoes counted as independent.",
        "per 1,000 shoe-days",
        0,
    ),
    "per_1000_high": _number(
        "Upper exact 95 % limit of per_1000_days (Garwood 1936), shoes counted as independent.",
        "per 1,000 shoe-days",
        0,
    ),
    "bruised_share": _share("Share of looks that found a bruise; blank without a look."),
    "bruised_low": _share("Lower 95 % limit of bruised_share (Wilson 1927), looks counted as independent."),
    "bruised_high": _share("Upper 95 % limit of bruised_share (Wilson 1927), looks counted as independent."),
    "not_looked": _count("Times a visit left a foot without a look for a bruise, or without any record."),
    "readings": _count("Angle and toe readings, arrival and leaving counted apart."),
    "off_on": _date(
        "Day the shoe came off at a visit, or the end of follow-up where it is running; blank where it was lost."
    ),
    "nails": _count("Nails in the shoe, inside and outside branch together."),
    "days_least": _count("Days the shoe was surely on: from nailing to the last day it is known to have been on."),
    "days_most": _count("Days the shoe was on at most: from nailing to the day it was found off."),
    "looked": _yes("Whether the foot was looked at for a bruise at this visit."),
    "again": _yes("Bruised at this look and at the one before."),
    "same_site_again": _yes("Bruised at this look and at the one before, and at the same site."),
    "stage": _word("When the foot was read: on arrival before the trim, or on leaving.", words.STAGES),
    "angle_deg": _number("Angle of the dorsal wall to the ground.", "deg", 30, 75),
    "toe_mm": _number("Coronet to ground at the toe.", "mm", 40, 160),
    "left_deg": _number("Angle of the left foot of the pair.", "deg", 30, 75),
    "right_deg": _number("Angle of the right foot of the pair.", "deg", 30, 75),
    "gap_deg": _number("left_deg minus right_deg.", "deg"),
    "uneven": _yes("Whether the gap is more than 1.5 degrees either way (Wiggers 2015, PLoS ONE 10:e0114836)."),
    "change": _word("What changed from one shoe of this foot to the next.", words.SHOE_CHANGES),
    "before": Meaning("What it was before."),
    "after": Meaning("What it is after."),
    "asked_on": _date("Day the question was written down.", "asked", "date asked"),
    "question": Meaning("What the farrier asks the vet.", also=("ask", "asks")),
    "measure": _word("What is compared.", words.PEER_MEASURES),
    "base": _count("Shoes nailed on, or looks for a bruise; blank where it may not be shown."),
    "events": _count("Shoes lost, or looks that found a bruise; blank where it may not be shown."),
    "figure": _number(
        "Shoes lost per 1,000 shoe-days, or share of looks that found a bruise; blank where events may not be shown.",
        "",
        0,
    ),
    "counted_to": _date(
        "Last day of the last quarter compared: shoes nailed and looks made up to it, all of them followed to the end."
    ),
    "shared_on": _date("Day an earlier summary was made."),
    "shared_at": Meaning("When the summary was made, UTC.", "moment"),
    "share_id": _count("Number of the summary, over all vet practices, from 1.", 1),
    "carried_over": _yes("Whether the summary was made from another store, and is known to this one by --earlier."),
    "with_data": _yes("Whether the summary also holds a FHIR bundle."),
    "encrypted": _yes("Whether the summary was closed with a passphrase."),
    "unit_id": Meaning("The shoe or the look that was counted: visit and foot, joined by a colon."),
    "cells": Meaning("The shown figures it was counted in, one space between."),
}

MEANINGS: dict[str, Meaning] = {
    **HORSES,
    **VISITS,
    **FEET,
    **LOSSES,
    **CHANGES,
    **DERIVED,
    **RESULTS,
    **LEDGER,
    **SHARED,
}
