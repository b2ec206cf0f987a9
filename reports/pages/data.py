"""Data: what was read and what became of it, how complete the record is, and what that limits."""

from reports.charts.completeness import completeness
from reports.page import Numbers, Page, Section, columns
from reports.pages.lost_shoes import UNPUBLISHED
from reports.picking import Results, Row, rows
from reports.wording import BLANK, day, listed, many, percent, plain, whole
from schemas.records import About

FULL_ENOUGH = 0.95
MOST_COLUMNS = 20
USES = {
    "loss_rates": "loss rates",
    "retention": "how long shoes stay on",
    "loss_causes": "reported causes",
    "horse_losses": "horses",
    "season_review": "the season",
    "interval_lengths": "intervals",
    "bruise_recurrence": "bruising",
    "angle_drift": "angles",
    "workload": "workload",
}
RULES = {
    "required": "a required cell is blank",
    "cannot_read": "the value cannot be read",
    "too_low": "below the lowest value allowed",
    "too_high": "above the highest value allowed",
    "not_in_list": "not a word of the list",
    "wrong_form": "not in the form it must have",
    "too_long": "too long",
    "unknown_horse": "the horse is not on record",
    "unknown_visit": "the visit is not on record",
    "same_key_twice": "two different rows with one key",
    "after_as_of": "after the day the record is read as of",
    "seen_after_found": "last seen on after it was found off",
    "unusual_value": "unusual, worth a second look",
    "taken_as_other": "unknown word, taken as “other”",
    "loss_finds_no_shoe": "a lost shoe is reported where none was on",
    "planned_visits_close_together": "two planned visits 1 to 3 days apart",
    "lost_shoe_on_no_foot": "a visit for a lost shoe, and no row says which foot",
    "test_chip": "a chip code kept for tests",
    "unknown_country": "a life number of no country",
    "horse_set_aside": "the row of its horse is set aside",
    "visit_set_aside": "the row of its visit is set aside",
    "do_not_agree": "two cells of the row do not agree",
    "wrong_cell_count": "more or fewer cells than the header",
    "big_step": "an angle far from that of the visit before",
    "row_not_read": "a row that is no record",
    "column_not_read": "a column that is none of the table",
    "file_not_read": "a file or sheet that is no table of the records",
}
UNREAD = ("row_not_read", "column_not_read", "file_not_read")
NO_TABLE = "none"  # what stands for the table of a row or file that belongs to none
LIMITS = (
    "How the ranges are found: each is drawn so that, of 100 such ranges, about 95 hold the true figure (95% limits). "
    "For rates of lost shoes two ways are used, one that counts losses and one that counts horses, because a horse "
    "that pulled one shoe pulls another; the pages show the wider."
)


def data(results: Results, about: About) -> Page:
    """The page about the record itself."""
    return Page(
        "data.html",
        "Data",
        f"What was read, what was set aside and why, and what is missing. The record is read as of {day(about.as_of)}.",
        (_taken(results), _reasons(results), _complete(results, about), _files(results)),
        ranges=False,
        remarks=(
            LIMITS,
            UNPUBLISHED,
            "Nor is there a published figure for bruises that come back, nor a validated grade: the grade of 0 to 3 is "
            "the project’s own.",
            f"A shoe with no word of it is followed for {about.follow_up_days} days; past that nothing is known of it.",
        ),
    )


def _taken(results: Results) -> Section:
    found = rows(results, "rows_taken")
    counts = ("rows_read", "rows_new", "rows_changed", "rows_unchanged", "rows_set_aside", "rows")
    heads = columns("Table", "Read", "New", "Changed", "Unchanged", "Set aside", "In the record now")
    lines = [(plain(row["table_name"]), *[whole(row[column]) for column in counts]) for row in found]
    return Section(
        "What was read?",
        _taken_answer(found),
        numbers=(Numbers("Rows of the latest load", heads, lines),) if found else (),
        notes=("Read = new + changed + unchanged + set aside.",) if found else (),
    )


def _taken_answer(found: list[Row]) -> str:
    read = sum(row["rows_read"] for row in found)
    if not read:
        return "Nothing has been read yet."
    aside = sum(row["rows_set_aside"] for row in found)
    rest = "all were accepted" if not aside else f"{whole(read - aside)} were accepted and {whole(aside)} set aside"
    return f"{many(read, 'row')} in the latest load: {rest}."


def _reasons(results: Results) -> Section:
    found = rows(results, "rows_set_aside")
    unread = [row for row in found if row["rule"] in UNREAD]
    aside = [row for row in found if row["note"] != "doubt" and row not in unread]
    doubts = [row for row in found if row["note"] == "doubt" and row not in unread]
    if not found:
        return Section("Why were rows set aside?", "No row was set aside and none raised a doubt.")
    return Section(
        "Why were rows set aside?",
        _reasons_answer(aside, doubts, unread),
        numbers=tuple(
            _reason_table(caption, group)
            for caption, group in (
                ("Rows set aside, by reason", aside),
                ("Rows accepted with a doubt, by reason", doubts),
                ("Left unread, by reason", unread),
            )
            if group
        ),
        notes=("A row with several reasons stands under each. The command “shoeing check” names every row.",),
    )


def _reasons_answer(aside: list[Row], doubts: list[Row], unread: list[Row]) -> str:
    text = "No row was set aside." if not aside else f"Most often: {_most(aside)}."
    text += f" Accepted with a doubt, most often: {_most(doubts)}." if doubts else " None raised a doubt."
    return text + (f" Left unread, most often: {_most(unread)}." if unread else "")


def _most(found: list[Row]) -> str:
    row = max(found, key=lambda row: (row["rows"], row["table_name"], row["rule"]))
    if row["rule"] in UNREAD:
        return f"{_rule(row)} ({many(row['rows'], 'time')})"
    where = f", column {row['column_name']}" if row["column_name"] else ""
    return f"{_rule(row)} ({many(row['rows'], 'row')} of {row['table_name']}{where})"


def _rule(row: Row) -> str:
    return RULES.get(row["rule"], plain(row["rule"]).lower())


def _reason_table(caption: str, found: list[Row]) -> Numbers:
    ordered = sorted(found, key=lambda row: (-row["rows"], row["table_name"], row["rule"], row["column_name"] or ""))
    lines = [(_table(row), row["column_name"] or BLANK, _rule(row), whole(row["rows"])) for row in ordered]
    return Numbers(caption, columns("Table", "Column *", "Reason *", "Rows"), lines)


def _table(row: Row) -> str:
    return "No table" if row["table_name"] == NO_TABLE else plain(row["table_name"])


def _complete(results: Results, about: About) -> Section:
    every = [row for row in rows(results, "completeness") if row["column_name"] and row["share"] is not None]
    found = every if about.handedness else [{**row, "used_by": _without(row["used_by"], "handedness")} for row in every]
    needed = [row for row in found if row["used_by"] and row["share"] < FULL_ENOUGH]
    needed.sort(key=lambda row: (row["share"], row["table_name"], row["column_name"]))
    heads = columns("Column", "Table *", "Filled", "Rows", "Share", "Limits *")
    lines = [
        (
            plain(row["column_name"]),
            plain(row["table_name"]),
            whole(row["filled"]),
            whole(row["rows"]),
            percent(row["share"]),
            _limits(row),
        )
        for row in found
    ]
    return Section(
        "How complete is the record?",
        _complete_answer(found, needed),
        (completeness(needed[:MOST_COLUMNS]),) if needed else (),
        (Numbers("How far each column is filled", heads, lines),) if found else (),
    )


def _uses(used_by: str) -> list[str]:
    return [part.strip() for part in used_by.split(",") if part.strip()]


def _without(used_by: str, page: str) -> str:
    """What a column is used by, but for a page that the site has not got."""
    return ", ".join(use for use in _uses(used_by) if use != page)


def _limits(row: Row) -> str:
    uses = _uses(row["used_by"])
    return ", ".join(USES.get(use, plain(use).lower()) for use in uses) or "not used yet"


def _complete_answer(found: list[Row], needed: list[Row]) -> str:
    if not found:
        return "There is no row to look at yet."
    if not needed:
        return "Every column that these pages use is filled in at least 95% of rows."
    emptiest = [
        f"{plain(row['column_name']).lower()} ({percent(row['share'])}; limits {_limits(row)})" for row in needed[:3]
    ]
    return (
        f"{many(len(needed), 'column')} that these pages use are filled in under 95% of rows. Emptiest: "
        f"{listed(emptiest)}."
    )


def _files(results: Results) -> Section:
    found = rows(results, "files_taken")
    lines = [(row["file_name"], whole(row["rows"]), row["sha256"]) for row in found]
    heads = columns("File", "Rows", "SHA-256 (the file’s fingerprint) **")
    return Section(
        "Which files were read?",
        f"{many(len(found), 'file')} in the latest load." if found else "No file has been read yet.",
        numbers=(Numbers("Files of the latest load", heads, lines),) if found else (),
    )
