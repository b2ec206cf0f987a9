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
PHASES = ("age", "early", "middle", "late", "after_planned")
FIT_MEASURES = (
    "branch_past_heel_mm", "expansion_mm", "nails", "heel_nails", "clips", "edges_dressed", "sole_relief",
    "wall_unsound", "hind_toe_leaving_mm", "hind_angle_leaving_deg", "hind_shod",
)  # fmt: skip
STAGES = ("arrival", "leaving")
SHOE_CHANGES = ("shod", "shoe_style", "shoe_material", "branch_past_heel_mm", "clips", "pad", "sole_relief")
PEER_MEASURES = ("lost_shoes", "bruised_looks")

YES = ("yes", "y", "true", "1", "x", "√", "✓", "✔", "☑", "✅")
NO = ("no", "n", "false", "0", "-", "✗", "✘")

# ISO 3166-1 numeric codes with the withdrawn ones of ISO 3166-3, from Debian's iso-codes 4.15: an old horse may
# carry the number of a country that is no more.
COUNTRY_NUMBERS = frozenset(
    """
    004 008 010 012 016 020 024 028 031 032 036 040 044 048 050 051 052 056 060 064 068 070 072 074 076 084 086 090
    092 096 100 104 108 112 116 120 124 128 132 136 140 144 148 152 156 158 162 166 170 174 175 178 180 184 188 191
    192 196 200 203 204 208 212 214 216 218 222 226 231 232 233 234 238 239 242 246 248 249 250 254 258 260 262 266
    268 270 275 276 278 288 292 296 300 304 308 312 316 320 324 328 332 334 336 340 344 348 352 356 360 364 368 372
    376 380 384 388 392 396 398 400 404 408 410 414 417 418 422 426 428 430 434 438 440 442 446 450 454 458 462 466
    470 474 478 480 484 488 492 496 498 499 500 504 508 512 516 520 524 528 530 531 533 534 535 536 540 548 554 558
    562 566 570 574 578 580 581 582 583 584 585 586 591 598 600 604 608 612 616 620 624 626 630 634 638 642 643 646
    652 654 659 660 662 663 666 670 674 678 682 686 688 690 694 702 703 704 705 706 710 716 720 724 728 729 732 740
    744 748 752 756 760 762 764 768 772 776 780 784 788 792 795 796 798 800 804 807 810 818 826 831 832 833 834 840
    849 850 854 858 860 862 872 876 882 887 891 894
    """.split()  # noqa: SIM905
)
