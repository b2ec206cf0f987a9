"""What is allowed in a column, in the words of the person who has to mend the row."""

import polars as pl

from schemas.fields import Meaning

UNITS = {"deg": " degrees", "min": " minutes", "mm": " mm", "kg": " kg", "km": " km", "weeks": " weeks"}
KINDS = {
    "text": "a name",
    "integer": "a whole number",
    "number": "a number",
    "date": "a day of the calendar",
    "yes_no": "yes or no",
}
LONGEST_SAID = 60


def allowed(meaning: Meaning, high: float | None = None) -> str:
    """What may stand in a column: "30 to 75 degrees", "one of LF, RF, LH, RH". high: a limit known only now."""
    if meaning.words:
        return "one of " + ", ".join(meaning.words)
    if meaning.kind == "date":
        return "a day written like 2026-03-05"
    if meaning.kind == "yes_no":
        return "yes or no"
    if meaning.longest:
        return f"1 to {meaning.longest} characters"
    return span(meaning.low, meaning.high if high is None else high, meaning.unit)


def span(low: float | None, high: float | None, unit: str = "") -> str:
    """Two limits as a person says them; "" where there are none."""
    if low is None and high is None:
        return ""
    if high is None:
        return f"{low:g} or more" + UNITS.get(unit, "")
    return f"{low:g} to {high:g}" + UNITS.get(unit, "")


def unreadable(name: str, meaning: Meaning) -> str:
    """Why a cell of this kind cannot be read; {} stands for what was found."""
    if meaning.words:
        return f'{name} says "{{}}", which is no word for it: use {allowed(meaning)}'
    what = KINDS[meaning.kind]
    limits = allowed(meaning)
    use = f": use {limits}" if limits and limits != what else ""
    return f'{name} says "{{}}", which is not {what}{use}'


def quoted(column: str) -> pl.Expr:
    """The cell as it was found, shortened where it is long."""
    text = pl.col(column).str.strip_chars().fill_null("")
    long = text.str.len_chars() > LONGEST_SAID
    return pl.when(long).then(text.str.slice(0, LONGEST_SAID) + "…").otherwise(text)


def sentence(template: str, column: str) -> pl.Expr:
    """A reason a row: the template with the cell of this column in place of {}."""
    before, gap, after = template.partition("{}")
    return pl.concat_str(pl.lit(before), quoted(column), pl.lit(after)) if gap else pl.lit(template)
