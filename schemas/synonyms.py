"""Other words people write for the trade's words, British and American, once. Common practice, no source.

Case, spaces, hyphens, slashes, dots and underscores do not matter. A word that could mean two things stands in
`TOO_LITTLE_SAID` with what to write instead: it is never guessed.
"""

import re

from schemas import words

BETWEEN_WORDS = r"[\s_\-/.,;:&+'’()]+"


def plain(text: str) -> str:
    """A text without what people vary: case, and the marks between words."""
    return re.sub(BETWEEN_WORDS, " ", text.casefold()).strip()


_SIDES = {"L": ("near", "nearside", "left", "n", "l"), "R": ("off", "offside", "right", "o", "r")}
_ENDS = {"F": ("fore", "front", "f"), "H": ("hind", "back", "rear", "h")}


def _feet() -> dict[str, tuple[str, ...]]:
    names: dict[str, tuple[str, ...]] = {}
    for foot in words.FEET:
        sides, ends = _SIDES[foot[0]], _ENDS[foot[1]]
        apart = [f"{side} {end}" for side in sides for end in ends]
        turned = [f"{end} {side}" for side in sides[:3] for end in ends[:3]]
        joined = [f"{side}{end}" for side in ("n", "l") if foot[0] == "L" for end in ends[-1:]]
        joined += [f"{side}{end}" for side in ("o", "r") if foot[0] == "R" for end in ends[-1:]]
        near = [f"{side} side {end}" for side in sides[:1] for end in ends[:3]]
        short = sides[0][0]  # n/s fore, o/s hind, NSF
        near += [f"{short} s {end}" for end in ends[:3]] + [f"{short}s{ends[-1]}", f"{short} s {ends[-1]}"]
        names[foot] = (*apart, *turned, *joined, *near, *(f"{name} foot" for name in apart))
    return names


SYNONYMS: dict[str, dict[str, tuple[str, ...]]] = {
    "foot": _feet(),
    "foot_or_all": {"all": ("all feet", "all four", "all round", "every foot", "each foot", "both ends")},
    "discipline": {
        "barrel_racing": ("barrels", "barrel racer", "barrel horse", "barrel"),
        "breakaway_roping": ("breakaway", "breakaway roper"),
        "team_roping": ("team roper", "heading", "heeling", "head horse", "heel horse"),
        "polo": ("polo pony", "polocrosse"),
        "racing": ("race", "racehorse", "race horse", "flat racing", "point to point", "national hunt", "chaser"),
        "eventing": ("event", "eventer", "event horse", "horse trials", "three day event", "xc", "cross country"),
        "show_jumping": ("sj", "jumping", "jumper", "show jumper", "showjumper", "showjumping", "jumpers", "sjing"),
        "endurance": ("endurance riding", "long distance"),
        "cutting": ("cutter", "cutting horse"),
        "reining": ("reiner", "reining horse"),
        "hunting": ("field hunter", "fox hunting", "hunts", "hunting field"),
        "driving": ("carriage", "carriage driving", "harness", "drive"),
        "dressage": ("dressage horse", "dr"),
        "gaited": ("gaited horse", "plantation"),
        "trail": ("hacking", "hack", "happy hacker", "trail riding", "trails", "trekking", "trail horse", "pleasure"),
        "draft_work": ("draft", "draught", "draught work", "heavy", "heavy work", "logging", "ploughing", "plowing"),
        "schooling": ("school", "riding school", "lessons", "school horse", "lesson horse"),
        "companion": ("pet", "field companion", "retired", "pasture", "paddock ornament"),
        "young_stock": ("young", "youngster", "youngstock", "foal", "yearling", "two year old"),
        "other": ("misc", "various"),
    },
    "sex": {
        "mare": ("mares", "female horse"),
        "gelding": ("g", "geld", "gelded"),
        "stallion": ("s", "stud", "entire", "stn"),
        "filly": ("fillies",),
        "colt": ("c",),
    },
    "turnout": {
        "stabled": ("in", "stable", "box", "stall", "stalled", "box rest", "always in"),
        "part_day": ("day", "days", "half day", "in at night", "out by day", "part", "part time", "daytime"),
        "full_time": ("out", "living out", "lives out", "24 7", "always out", "full", "pasture", "field", "grass"),
    },
    "visit_kind": {
        "routine": ("normal", "regular", "usual", "scheduled", "shoeing", "r", "booked"),
        "lost_shoe": ("lost", "cast shoe", "pulled shoe", "shoe off", "thrown shoe", "emergency lost shoe", "sprung shoe"),
        "vet_request": ("vet", "vet call", "for vet", "vet s request", "with vet", "veterinary"),
        "first": ("new horse", "first visit", "first time", "initial", "new client"),
        "other": ("misc", "extra"),
    },
    "arrival": {
        "on": ("shod", "ok", "shoe on", "still on", "fine", "tight", "good", "on tight"),
        "sprung": ("twisted", "loose", "shifted", "slipped", "moved", "risen clench", "risen clenches", "hanging"),
        "off": ("pulled", "cast", "lost", "missing", "thrown", "gone", "shoe off", "shoe lost", "came off", "lost shoe", "cast shoe",
                "thrown shoe", "pulled off", "shoe missing", "threw", "threw it", "threw shoe", "threw a shoe", "lost it",
                "cast it", "pulled it", "pulled shoe", "fell off", "torn off", "ripped off"),
        "bare": ("barefoot", "unshod", "no shoe", "none", "bare foot", "not shod", "b f", "bf", "shoeless"),
    },
    "work": {
        "fit_new": (
            "new", "new shoe", "new shoes", "full set", "new set", "set", "shod", "shoe", "shoes", "fitted new",
            "front set", "new fronts", "new hinds", "nailed new", "fit new shoe",
        ),
        "reset": (
            "refit", "refitted", "remove and replace", "removes", "remove replace", "r r", "refits", "re set",
            "resets", "replaced same shoe", "same shoe back", "put back", "nailed back", "nail back on", "nailed back on",
            "re nail", "renail", "re nailed", "renailed", "nailed on again", "put back on", "tacked back on", "tack back on",
        ),
        "trim": ("trimmed", "barefoot trim", "trim only", "dressed", "rasped", "bare trim", "pasture trim"),
        "take_off": ("took off", "taken off", "shoe removed", "remove", "removed", "pulled shoes",
                     "shoes off", "pull shoes", "remove shoe"),
        "none": ("nothing", "not done", "left", "left alone", "no work", "n a", "nil", "not touched", "skip"),
    },
    "shoe_style": {
        "plain": ("plain stamped", "flat", "stamped"),
        "fullered": ("concave", "fullered concave", "full fullered", "crease", "creased"),
        "rim": ("rim shoe", "rimmed"),
        "wide_web": ("wideweb", "wide", "broad web", "wide webbed"),
        "bar": ("straight bar", "bar shoe"),
        "egg_bar": ("eggbar", "egg bar shoe"),
        "heart_bar": ("heartbar", "heart bar shoe"),
        "rolled_toe": ("rolled", "rocker", "rocker toe", "rolled toes", "rockered"),
        "half_round": ("halfround", "half rounds"),
        "race_plate": ("plate", "plates", "racing plate", "raceplate"),
        "glue_on": ("glued", "glue", "glueon", "glue on shoe"),
        "other": ("special", "handmade special"),
    },
    "shoe_material": {
        "steel": ("iron", "mild steel", "st", "ms"),
        "aluminium": ("aluminum", "alu", "ally", "alloy", "al", "alum"),
        "polymer": ("plastic", "rubber", "composite", "urethane", "pu"),
        "other": ("titanium", "copper"),
    },
    "nail_line": {
        "rising": ("rises", "going up", "up", "upward"),
        "level": ("flat", "straight", "even"),
        "falling": ("falls", "going down", "down", "dropping"),
    },
    "clips": {
        "none": ("no", "0", "no clips", "clipless", "n"),
        "toe": ("toe clip", "one toe", "single", "tc", "1 toe"),
        "quarter": ("quarters", "quarter clips", "side", "side clips", "two", "qc", "2 quarter", "double"),
    },
    "pad": {
        "none": ("no", "0", "no pad", "n"),
        "rim": ("rim pad", "rims"),
        "full": ("full pad", "whole", "leather pad", "full pads"),
    },
    "fitting": {"hot": ("hot shod", "hot fit", "h", "hot fitted"), "cold": ("cold shod", "cold fit", "c", "cold fitted")},
    "wall_state": {
        "sound": ("good", "ok", "fine", "solid", "strong", "healthy"),
        "cracked": ("crack", "cracks", "sand crack", "sandcrack", "quarter crack", "toe crack", "grass crack", "split"),
        "broken": ("broken away", "chipped", "crumbling", "shelly", "brittle", "broke up", "broken up", "chips"),
        "missing": ("gone", "wall missing", "no wall", "torn off", "lost wall"),
    },
    "wall_side": {
        "medial": ("inside", "in", "inner", "med", "inside wall"),
        "lateral": ("outside", "out", "outer", "lat", "outside wall"),
        "toe": ("front", "at toe"),
        "both": ("both sides", "all", "in and out", "inside and outside", "all round"),
    },
    "bruise_site": {
        "toe": ("at toe", "sole at toe"),
        "quarter_medial": ("medial quarter", "inside quarter", "inner quarter", "quarter inside"),
        "quarter_lateral": ("lateral quarter", "outside quarter", "outer quarter", "quarter outside"),
        "heel_medial": ("medial heel", "inside heel", "inner heel", "heel inside", "inside seat of corn"),
        "heel_lateral": ("lateral heel", "outside heel", "outer heel", "heel outside", "outside seat of corn"),
        "body": ("sole", "body of sole", "middle", "centre", "center", "mid sole"),
    },
    "bruise_grade": {
        "0": ("none", "no", "clean", "nil", "n", "none seen", "none found", "no bruise", "no bruising", "all clear", "0 none"),
        "1": ("faint", "slight", "light", "mild", "pink", "trace", "1 faint"),
        "2": ("moderate", "mod", "medium", "definite", "obvious", "2 clear", "clear bruise"),
        "3": ("deep", "severe", "bad", "painful", "dark", "3 deep", "deep or painful",
              "3 deep or painful"),
    },
    "handling": {
        "1": ("easy", "good", "angel", "great", "quiet"),
        "2": ("fine", "ok", "mostly good"),
        "3": ("fidgety", "fidget", "average"),
        "4": ("difficult", "awkward", "hard", "bad"),
        "5": ("dangerous", "unsafe", "not safe", "not finished"),
    },
    "cause": {
        "stepped_on": ("trod on", "trodden off", "stepped on it", "stood on", "overreach", "overreached", "trod it off",
                       "stepped off", "hind on fore", "trod", "trod on it"),
        "caught": ("hung up", "fence", "caught in fence", "caught on fence", "wire", "gate", "snagged", "caught up"),
        "deep_ground": ("mud", "deep going", "bog", "suction", "deep", "boggy", "muddy", "sucked off"),
        "pawing": ("pawed", "digging", "paws", "dug"),
        "loose_clinches": ("loose clenches", "risen clenches", "clenches up", "clinches up", "loose nails", "loose"),
        "wall_gave_way": ("wall broke", "broke wall", "bad feet", "wall broke away", "crumbled", "no wall to nail to"),
        "worn_thin": ("worn", "worn out", "worn through", "wore out", "thin"),
        "other": ("misc",),
        "unknown": ("not known", "dont know", "don t know", "no idea", "n k", "nk", "dk", "not seen", "unsure"),
    },
    "activity": {
        "turnout": ("field", "paddock", "turned out", "pasture", "in field", "out", "grazing"),
        "stable": ("box", "stall", "in stable", "stabled", "in box"),
        "ridden": ("riding", "work", "schooling", "hacking", "exercise", "ridden work", "training"),
        "competing": ("competition", "show", "event", "race", "match", "rodeo", "comp"),
        "travelling": ("traveling", "lorry", "trailer", "box travel", "transport", "horsebox", "in transit"),
        "unknown": ("not known", "n k", "nk", "unsure"),
    },
    "ground": {
        "firm": ("hard", "dry", "road", "firm to hard"),
        "good": ("ok", "perfect", "good to firm", "arena"),
        "soft": ("wet", "good to soft", "yielding"),
        "deep": ("heavy", "mud", "muddy", "boggy", "bog"),
        "stony": ("stones", "rocky", "gravel", "stone", "flints"),
        "unknown": ("not known", "n k", "nk", "unsure"),
    },
}  # fmt: skip

TOO_LITTLE_SAID: dict[str, dict[str, str]] = {
    "foot": {
        "hf": "hind foot or half? write LH or RH",
        "fr": "front right, or only front? write RF",
        "fl": "front left? write LF",
        "hl": "hind left? write LH",
        "hr": "hind right? write RH",
        "l r": "left and right? one row is one foot: write two rows",
        "n": "near fore or near hind? write LF or LH",
        "o": "off fore or off hind? write RF or RH",
        "nearside": "near fore or near hind? write LF or LH",
        "offside": "off fore or off hind? write RF or RH",
        "left": "left fore or left hind? write LF or LH",
        "right": "right fore or right hind? write RF or RH",
        "rf lf": "one row is one foot: write two rows",
        "f": "which fore? write LF or RF",
        "h": "which hind? write LH or RH",
        "l": "left fore or left hind? write LF or LH",
        "r": "right fore or right hind? write RF or RH",
        "off": "the off side, or a shoe that is off? write RF or RH",
        "near": "near fore or near hind? write LF or LH",
        "fore": "which fore? write LF or RF",
        "front": "which fore? write LF or RF",
        "fronts": "one row is one foot: write two rows, LF and RF",
        "hind": "which hind? write LH or RH",
        "hinds": "one row is one foot: write two rows, LH and RH",
        "all": "one row is one foot: write four rows",
        "all round": "one row is one foot: write four rows",
        "all four": "one row is one foot: write four rows",
        "both": "one row is one foot: write two rows",
    },
    "bruise_grade": {
        "clear": "no bruise, or a clear one? write 0 or 2",
        "yes": "how bad? write 1 faint, 2 clear or 3 deep or painful",
        "y": "how bad? write 1 faint, 2 clear or 3 deep or painful",
        "corn": "how bad? write 1 faint, 2 clear or 3 deep or painful",
        "✓": "how bad? write 1 faint, 2 clear or 3 deep or painful",
        "bruised": "how bad? write 1 faint, 2 clear or 3 deep or painful",
        "x": "how bad? write 1 faint, 2 clear or 3 deep or painful",
        "√": "how bad? write 1 faint, 2 clear or 3 deep or painful",
        "✔": "how bad? write 1 faint, 2 clear or 3 deep or painful",
    },
    "discipline": {"hunter": "a show hunter or the hunting field? write hunting, show_jumping or other",
                   "roping": "team roping or breakaway? write team_roping or breakaway_roping"},
    "work": {"pulled": "the horse pulled it, or you took it off? write take_off here, or off as arrival",
             "pulled shoe": "the horse pulled it, or you took it off? write take_off here, or off as arrival",
             "off": "taken off by you, or found off? write take_off here, or off as arrival",
             "shoe off": "taken off by you, or found off? write take_off here, or off as arrival"},
    "shoe_style": dict.fromkeys(
        ("three quarter", "three quarter fullered", "3 4", "3 4 fullered"),
        "there is no word of its own for it: write fullered, or other",
    ),
    "bruise_site": {
        "heel": "which heel? write heel_medial or heel_lateral",
        "heels": "which heel? write heel_medial or heel_lateral, the worse one",
        "quarter": "which quarter? write quarter_medial or quarter_lateral",
        "corn": "which heel? write heel_medial or heel_lateral",
        "seat of corn": "which heel? write heel_medial or heel_lateral",
    },
    "clips": {"yes": "which? write toe or quarter", "y": "which? write toe or quarter"},
    "pad": {"yes": "which? write rim or full", "y": "which? write rim or full"},
    "visit_kind": {"emergency": "a lost shoe, or for the vet? write lost_shoe, vet_request or other"},
    "sex": {"m": "mare or male? write mare, gelding, stallion or colt", "male": "write gelding, stallion or colt",
            "f": "female or filly? write mare or filly", "female": "write mare or filly"},
    "wall_side": {"l": "lateral or left? write medial or lateral", "m": "write medial or lateral",
                  "left": "inside or outside of the foot? write medial or lateral",
                  "right": "inside or outside of the foot? write medial or lateral"},
}  # fmt: skip

NOT_FILLED_IN = frozenset(
    {"n a", "na", "not recorded", "not known", "not looked", "not measured", "not taken", "nr", "n r", "?", "??", "…", "tbc",
     "none recorded", "not checked", "not looked at", "not noted", "unknown", "null", "#n a", "blank"}
)  # fmt: skip
"""What people write into a cell to say that nothing is known, in plain form; a lone dash where the column is no yes/no."""


HAS_NONE = {
    "microchip": frozenset({"none", "no", "nil", "n", "no chip", "not chipped", "unchipped"}),
    "ueln": frozenset({"none", "no", "nil", "n", "no passport", "not issued"}),
}
"""What says that a horse has no such number, in plain form."""


def lookup(column: str, vocabulary: tuple[str, ...]) -> dict[str, str]:
    """Plain text → the declared word, for one column: the declared words and all the others."""
    table = {plain(word): word for word in vocabulary}
    also = SYNONYMS.get(column, {}) | (SYNONYMS["foot_or_all"] if "all" in vocabulary else {})
    for word, others in also.items():
        for other in others:
            table.setdefault(plain(other), word)
    return table
