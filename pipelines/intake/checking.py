"""The verdict on each row by itself: what it breaks, what it leaves in doubt."""

from collections.abc import Iterable

import polars as pl

from pipelines.intake.rows import AT, Rows, found
from pipelines.intake.rules import Rule, doubts_of, rules_of
from pipelines.intake.saying import quoted, sentence, unreadable
from pipelines.intake.sheet import EXPORT, FOLDED, HIDDEN, PLACED, RAGGED, SEVERAL, SOURCE
from pipelines.intake.spellings.days import OLDEST_RECORD_YEARS
from pipelines.intake.spellings.stand_ins import says_no_name, stands_in
from pipelines.intake.untold import given

DATED = {"visits": "visit_date", "losses": "found_off", "changes": "changed_on"}
NAME = f"{HIDDEN}horse_name"
TOLD_WRONG = "told_wrong"
"""The rule that a row breaks whose horse or visit another row tells wrongly, where it leaves the cell blank itself."""
LEAST_WORDS = 2
"""Different words in a column before it is said to hold none of the list; one may be misspelt."""
OF_THE_RECORD = ("visits", "losses")
"""Tables whose last day is the last day on record; something may be changed after the last visit."""


def own_faults(rows: Rows) -> list[pl.DataFrame]:
    """Every reason why a row cannot be accepted as it stands, whatever the other rows say."""
    ragged = rows.ragged()
    lines = [_ragged_lines(rows, ragged)] if ragged is not None and ragged.any() else []
    lines += _which_horse(rows)
    for name, odd in rows.unread.items():
        rule = "not_in_list" if rows.table.columns()[name].words else "cannot_read"
        template = unreadable(name, rows.table.columns()[name])
        says = _with_whys(sentence(template, name), name, rows.whys.get(name, {}))
        lines += _named(rows, _whole(odd, ragged), rule, name, says)
    return [line for line in [*lines, *broken(rows, rules_of(rows.name), ragged)] if line.height]


def _with_whys(otherwise: pl.Expr, name: str, whys: dict[str, str]) -> pl.Expr:
    """The reason with what to write instead, for the cells of which that can be said."""
    if not whys:
        return otherwise
    said = {text: f'{name.removeprefix(HIDDEN)} says "{text.strip()}": {why}' for text, why in whys.items()}
    return pl.coalesce(pl.col(name).replace_strict(said, default=None, return_dtype=pl.String), otherwise)


def _ragged_lines(rows: Rows, ragged: pl.Series) -> pl.DataFrame:
    return found(rows, ragged, "wrong_cell_count", None, pl.lit(None), pl.col(RAGGED))


def _which_horse(rows: Rows) -> list[pl.DataFrame]:
    """Rows whose name and yard could mean several horses."""
    several = rows.several()
    return [] if several is None else [found(rows, several, "which_horse", "yard", pl.lit(None), pl.col(SEVERAL))]


def broken(rows: Rows, rules: Iterable[Rule], ragged: pl.Series | None) -> list[pl.DataFrame]:
    """The lines for each rule that any row breaks; cells that could not be read are not also called blank."""
    rules = [rule for rule in rules if rule.column in rows.texts.columns]
    if not rules:
        return []
    hits = rows.typed.select(rule.bad.any().alias(str(at)) for at, rule in enumerate(rules)).row(0)
    lines = []
    for rule in (rule for rule, hit in zip(rules, hits, strict=True) if hit):
        bad = _whole(rows.typed.select(rule.bad.fill_null(False)).to_series(), ragged)
        made = rows.made(rule.column) if rule.name == "required" else None
        if rule.name == "required" and rule.column in rows.unread:
            bad &= ~rows.unread[rule.column]
        if made is not None and (bad & made).any():
            lines += _names_no_horse(rows, bad & made, rule.column)
            bad &= ~made
        lines += _named(rows, bad, rule.name, rule.column, sentence(rule.says, rule.column))
    return lines


def _named(rows: Rows, bad: pl.Series, rule: str, name: str, says: pl.Expr) -> list[pl.DataFrame]:
    """A line for each bad row: where the cell stands what is wrong with it, where another row tells it which one."""
    if rule == "required" or FOLDED not in rows.texts.columns:
        return [found(rows, bad, rule, name, pl.col(name), says)]
    own = bad & (rows.texts[name].str.strip_chars().fill_null("") != "")
    lines = [found(rows, own, rule, name, pl.col(name), says)]
    if (bad & ~own).any():
        key = [EXPORT, *rows.table.key()]
        placed = rows.typed.select(rows.table.key()).with_columns(
            rows.texts[EXPORT], rows.texts.select(rows.places().alias("place")).to_series()
        )
        first = placed.filter(own).unique(key, keep="first", maintain_order=True)
        there = placed.filter(bad & ~own).drop("place")
        places = there.join(first, on=key, how="left", maintain_order="left")["place"]
        reason = pl.concat_str(pl.lit(f"{name} is told in "), places, pl.lit(", and wrongly: mend that row first"))
        lines.append(found(rows, bad & ~own, TOLD_WRONG, name, pl.col(name), reason))
    return lines


def at_fault(lines: list[pl.DataFrame]) -> list[pl.DataFrame]:
    """The lines of rows that have a fault of their own, not that of another row of their key."""
    return [line.filter(~pl.col("rule").is_in([TOLD_WRONG, "same_key_twice"])) for line in lines]


def _names_no_horse(rows: Rows, bad: pl.Series, key: str) -> list[pl.DataFrame]:
    """A key that could not be made for want of a horse: said once, in the words of a sheet that keeps no codes."""
    if rows.name == "horses":
        says = sentence("horse_name {} has no letter in it: write the horse's name", "horse_name")
        marks = bad & (rows.texts["horse_name"].str.strip_chars().fill_null("") != "")
        marks &= ~rows.unread.get("horse_name", pl.repeat(False, rows.height, eager=True))
        return [found(rows, marks, "required", "horse_name", pl.col("horse_name"), says)] if marks.any() else []
    if key in ("visit_id", "loss_id") and rows.name != "feet":
        return []
    says = pl.lit("the row does not say which horse it is about: fill in its name")
    whys = _marks_for_a_name(rows, bad)
    if not whys:
        return [found(rows, bad, "required", "horse_name", pl.lit(None), says)]
    marks = bad & rows.texts[NAME].is_in(list(whys)).fill_null(False)
    return [
        found(rows, bad & ~marks, "required", "horse_name", pl.lit(None), says),
        found(rows, marks, "required", "horse_name", pl.col(NAME), _with_whys(says, NAME, whys)),
    ]


def _marks_for_a_name(rows: Rows, bad: pl.Series) -> dict[str, str]:
    """What to write for each ditto mark or failed formula in place of a horse's name, as under any other header."""
    if NAME not in rows.texts.columns:
        return {}
    texts = rows.texts[NAME].filter(bad).drop_nulls().unique(maintain_order=True)
    return {text: why for text in texts if (why := stands_in(text.strip(), "horse_name"))}


def _whole(bad: pl.Series, ragged: pl.Series | None) -> pl.Series:
    """Of a line whose cells do not fit the header nothing else is said: they may all stand one column off."""
    return bad if ragged is None else bad & ~ragged


def doubts(rows: Rows) -> list[pl.DataFrame]:
    """Every doubt about a row that may be accepted: of how a cell was read, and of what it says."""
    lines = [
        found(rows, rows.texts[name].is_in(list(said)).fill_null(False), "read_with_doubt", name, pl.col(name),
              pl.col(name).replace_strict(said, default=None, return_dtype=pl.String))
        for name, said in rows.doubts.items()
    ]  # fmt: skip
    if PLACED in rows.texts.columns:
        taken = (rows.texts[PLACED] != "taken").fill_null(False)  # a horse on a visit's row: said of the visit
        lines.append(found(rows, taken, "yard_taken", "yard", pl.lit(None), pl.col(PLACED)))
    return [
        line for line in [*lines, *_long_ago(rows), *broken(rows, doubts_of(rows.name), rows.ragged())] if line.height
    ]


def _long_ago(rows: Rows) -> list[pl.DataFrame]:
    """Days so far back from most of the others that a digit of the year is likelier wrong: 1924 for 2024."""
    column = DATED.get(rows.name)
    if column is None or column not in rows.texts.columns:
        return []
    years = rows.typed[column].dt.year()
    old = (years < (years.median() or 0) - OLDEST_RECORD_YEARS).fill_null(False)
    says = f"{column} {{}} is over {OLDEST_RECORD_YEARS} years before most others: the row is kept, look at the year"
    return [found(rows, old, "long_ago", column, pl.col(column), sentence(says, column))] if old.any() else []


def dated_after(rows: Rows, last_day, because: str) -> list[pl.DataFrame]:
    """The rows dated after the last day that is accepted."""
    column = DATED.get(rows.name)
    if column is None or column not in rows.texts.columns:
        return []
    late = (rows.typed[column] > last_day).fill_null(False)
    if not late.any():
        return []
    reason = pl.concat_str(pl.lit(f"{column} "), quoted(column), pl.lit(f" is after {last_day}, {because}"))
    return [found(rows, late, "after_as_of", column, pl.col(column), reason)]


def one_name_two_yards(rows: Rows, moved: pl.Series) -> list[pl.DataFrame]:
    """The horses that are told apart by their yards alone."""
    if not moved.any():
        return []
    says = sentence(
        "horse_name {} stands in more than one yard: taken as two horses; if it is one that moved, say so in a layout "
        "file under [horses] (shoeing check --write-layout)",
        "horse_name",
    )
    return [found(rows, moved, "one_name_two_yards", "horse_name", pl.col("horse_name"), says)]


def yard_for_one_without(rows: Rows, known: pl.DataFrame) -> list[pl.DataFrame]:
    """Horses kept so far without a yard and now told with one: most likely the same, and nothing says so.

    known: horse_id and yard of the horses in the store.
    """
    made = rows.made("horse_id")
    if made is None or known.is_empty() or "yard" not in rows.texts.columns:
        return []
    yardless = known.filter(pl.col("yard").is_null())["horse_id"]
    now = (rows.texts["yard"].str.strip_chars().fill_null("") != "") & made
    now &= rows.texts["horse_id"].is_in(yardless.implode()).fill_null(False)
    now &= rows.texts["horse_id"].is_first_distinct()
    says = sentence(
        "{} is kept in the store without a yard and stands here with one: taken as the same horse; if it is another of "
        "that name, give it a horse_id of its own",
        "horse_name",
    )
    return [found(rows, now, "yard_for_one_without", "horse_name", pl.col("horse_name"), says)] if now.any() else []


def no_disciplines(rows: Rows) -> list[pl.DataFrame]:
    """The first row of each sheet whose column of disciplines holds other words throughout: what was taken for it is
    likely something else, as the work of the day.
    """
    odd = rows.unread.get("discipline")
    if odd is None:
        return []
    written = rows.texts["discipline"].str.strip_chars().fill_null("")
    cells = pl.DataFrame({"sheet": rows.texts[SOURCE], "said": written, "odd": odd, AT: range(rows.height)})
    sheets = cells.filter(pl.col("said") != "").group_by("sheet", maintain_order=True)
    told = sheets.agg(pl.col("odd").all(), pl.col("said").unique(maintain_order=True), pl.col(AT).first())
    told = told.filter(pl.col("odd") & (pl.col("said").list.len() >= LEAST_WORDS))
    if told.is_empty():
        return []
    first = pl.repeat(False, rows.height, eager=True).scatter(told[AT], True)
    line = found(rows, first, "no_discipline", "discipline", pl.lit(None), pl.lit(""))
    reason = pl.concat_str(
        pl.lit("discipline holds no word for a discipline anywhere, but "), told["said"].list.head(3).list.join(", "),
        pl.lit(': if the column is about something else, say so in a layout file under [headers], with "" to leave '),
        pl.lit("it out"),
    )  # fmt: skip
    return [line.with_columns(reason.alias("reason"))]


def taken_as_other(rows: Rows) -> tuple[Rows, list[pl.DataFrame]]:
    """Horses whose discipline is no word of the list are taken as other, and said so; a ditto mark is no word."""
    unread = dict(rows.unread)
    odd = unread.pop("discipline", None)
    if odd is None:
        return rows, []
    no_word = odd & rows.texts.select(says_no_name("discipline").fill_null(False)).to_series()
    odd &= ~no_word
    unread |= {"discipline": no_word} if no_word.any() else {}
    says = sentence('discipline says "{}", which is not in the list: taken as other', "discipline")
    unwritten = rows.texts["discipline"].str.strip_chars().fill_null("") == ""
    blank = odd & (unwritten | given(rows.texts, "discipline"))
    lines = [found(rows, odd & ~blank, "taken_as_other", "discipline", pl.col("discipline"), says)]
    elsewhere = pl.lit("discipline is told in other rows alone, and in no word of the list: taken as other")
    lines += [found(rows, blank, TOLD_WRONG, "discipline", pl.lit(None), elsewhere)] if blank.any() else []
    other = pl.select(pl.when(odd).then(pl.lit("other")).otherwise(rows.typed["discipline"])).to_series()
    typed = rows.typed.with_columns(other.alias("discipline"))
    return Rows(rows.name, rows.texts, typed, unread, rows.whys, rows.doubts), lines
