"""The trade's words: every closed vocabulary an export may use, once.

A value list here is what is accepted and stored; the other words people write for the same thing stand beside it as
synonyms. Facts of the trade here are common practice, no source.
"""

FEET = ("LF", "RF", "LH", "RH")

PACE_OF_DISCIPLINE = {
    "barrel_racing": "fast",
    "breakaway_roping": "fast",
    "team_roping": "fast",
    "polo": "fast",
    "racing": "fast",
    "eventing": "fast",
    "show_jumping": "fast",
    "endurance": "fast",
    "cutting": "mixed",
    "reining": "mixed",
    "hunting": "mixed",
    "driving": "mixed",
    "dressage": "mixed",
    "gaited": "mixed",
    "trail": "slow",
    "draft_work": "slow",
    "schooling": "slow",
    "companion": "slow",
    "young_stock": "slow",
    "other": None,
}
DISCIPLINES = tuple(PACE_OF_DISCIPLINE)
PACES = ("fast", "mixed", "slow")
ENDS = ("front", "hind")
END_OF_FOOT = {"LF": "front", "RF": "front", "LH": "hind", "RH": "hind"}

SEXES = ("mare", "gelding", "stallion", "filly", "colt")
TURNOUTS = ("stabled", "part_day", "full_time")
VISIT_KINDS = ("routine", "lost_shoe", "vet_request", "first", "other")
ARRIVALS = ("on", "sprung", "off", "bare")
WORKS = ("fit_new", "reset", "trim", "take_off", "none")
SHOEING_WORKS = ("fit_new", "reset")
SHOE_STYLES = (
    "plain", "fullered", "rim", "wide_web", "bar", "egg_bar", "heart_bar",
    "rolled_toe", "half_round", "race_plate", "glue_on", "other",
)  # fmt: skip
SHOE_MATERIALS = ("steel", "aluminium", "polymer", "other")
NAIL_LINES = ("rising", "level", "falling")
CLIPS = ("none", "toe", "quarter")
PADS = ("none", "rim", "full")
FITTINGS = ("hot", "cold")
WALL_STATES = ("sound", "cracked", "broken", "missing")
WALL_SIDES = ("medial", "lateral", "toe", "both")
BRUISE_SITES = ("toe", "quarter_medial", "quarter_lateral", "heel_medial", "heel_lateral", "body")
CAUSES = (
    "stepped_on", "caught", "deep_ground", "pawing", "loose_clinches",
    "wall_gave_way", "worn_thin", "other", "unknown",
)  # fmt: skip
ACTIVITIES = ("turnout", "stable", "ridden", "competing", "travelling", "unknown")
GROUNDS = ("firm", "good", "soft", "deep", "stony", "unknown")
END_REASONS = ("lost", "renewed", "taken_off", "running")
SEASONS = ("winter", "spring", "summer", "autumn")
FUNNEL_PLACES = ("inside", "above_95", "above_998", "below_95", "below_998")
PERIODS = ("week", "month")

YES = ("yes", "y", "true", "1", "x", "✓")
NO = ("no", "n", "false", "0", "-")
