"""One made-up practice told again as people keep it: other headers, words, units, days, layouts and encodings."""

import random
from datetime import date
from pathlib import Path

import polars as pl

from pipelines.simulate import simulate

FEET_WORDS = {
    "LF": ("LF", "near fore", "NF", "left front", "L/F"),
    "RF": ("RF", "off fore", "OF", "right front", "r/f"),
    "LH": ("LH", "near hind", "NH", "left hind", "L/H"),
    "RH": ("RH", "off hind", "OH", "right hind", "R/H"),
}
WORK_WORDS = {
    "fit_new": ("fit_new", "new shoes", "Full set"),
    "reset": ("reset", "refit", "Remove and replace"),
    "trim": ("trim", "trimmed"),
    "take_off": ("take_off", "taken off"),
    "none": ("none", "nothing", "-"),
}
ARRIVAL_WORDS = {
    "on": ("on", "ON", "shod"),
    "sprung": ("sprung", "twisted"),
    "off": ("off", "cast", "lost", "Missing"),
    "bare": ("bare", "barefoot", "unshod"),
}
HEADERS = {
    "horse_id": ("Horse ID", "horse_id", "Horse no."),
    "horse_name": ("Horse", "Name", "Animal"),
    "discipline": ("Use", "Discipline", "Job"),
    "visit_id": ("Visit ID", "visit_id"),
    "visit_date": ("Date", "Visit date", "Seen on"),
    "visit_kind": ("Visit kind", "Kind"),
    "minutes": ("Mins", "Minutes", "Time (min)"),
    "planned_weeks": ("Weeks", "Next", "planned_weeks"),
    "foot": ("Foot", "Limb", "Leg"),
    "arrival": ("Arrival", "On arrival"),
    "work": ("Work done", "work"),
    "angle_arrival_deg": ("Angle in", "Angle before", "Arrival angle (deg)"),
    "angle_leaving_deg": ("Angle out", "Angle after", "angle-leaving-deg"),
    "toe_arrival_mm": ("Toe in", "Toe before [mm]"),
    "toe_leaving_mm": ("Toe out", "TOE AFTER"),
    "bruise_grade": ("Bruise", "Bruising"),
    "bruise_site": ("Where", "Bruise site"),
    "found_off": ("Lost", "Found off", "Off"),
    "cause": ("Reason", "Why", "Cause"),
}
YES = {True: ("yes", "Y", "x", "✓"), False: ("no", "N", "-", "False")}


def practice(seed: int, horses: int = 3) -> dict[str, pl.DataFrame]:
    """The tables of a small made-up practice, typed, without free text; one without rows is not kept."""
    tables = {
        name: table for name, table in simulate(horses, 0.7, seed).tables.items() if table.height or name != "changes"
    }
    tables["visits"] = tables["visits"].with_columns(pl.lit(None, pl.String).alias("notes"))
    return tables


class Teller:
    """Writes typed tables as texts in one person's way, drawn from a seed."""

    def __init__(self, seed: int):
        self.draw = random.Random(seed)
        self.day_first = self.draw.random() < 0.5
        self.comma = self.draw.random() < 0.4
        self.headers = {name: self.draw.choice(others) for name, others in HEADERS.items()}

    def header(self, name: str) -> str:
        """This person's header for a column."""
        return self.headers.get(name, name)

    def cell(self, name: str, value) -> str | None:
        """One value as this person writes it."""
        if value is None:
            return None
        if isinstance(value, bool):
            return self.draw.choice(YES[value])
        if isinstance(value, date):
            return self.day(value)
        words = {"foot": FEET_WORDS, "work": WORK_WORDS, "arrival": ARRIVAL_WORDS}.get(name, {})
        if value in words:
            return self.draw.choice(words[value])
        if isinstance(value, float):
            return self.number(name, value)
        return str(value)

    def day(self, value: date) -> str:
        """A day, written in one of the forms a person mixes."""
        parts = (value.day, value.month) if self.day_first else (value.month, value.day)
        forms = [f"{parts[0]}/{parts[1]}/{value.year}", f"{parts[0]:02}/{parts[1]:02}/{value.year % 100:02}"]
        return self.draw.choice([*forms, f"{value.day} {value:%b} {value.year}", value.isoformat()])

    def number(self, name: str, value: float) -> str:
        """A number with or without its unit, and this person's decimal mark."""
        text = f"{value:g}"
        text = text.replace(".", ",") if self.comma else text
        units = {"deg": ("", "°", " deg"), "mm": ("", " mm", "mm")}
        return text + self.draw.choice(units.get(name.rsplit("_", 1)[-1], ("",)))

    def told(self, table: pl.DataFrame) -> pl.DataFrame:
        """A whole table in this person's words, under the declared names still."""
        return pl.DataFrame(
            {name: [self.cell(name, value) for value in table[name]] for name in table.columns},
            schema=dict.fromkeys(table.columns, pl.String),
        )

    def named(self, table: pl.DataFrame) -> pl.DataFrame:
        """The table under this person's headers, columns that are blank throughout left out."""
        kept = [name for name in table.columns if table[name].null_count() < table.height or not table.height]
        return table.select(pl.col(name).alias(self.header(name)) for name in kept)


def as_tables(teller: Teller, tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """Four tables, apart."""
    return {name: teller.named(teller.told(table)) for name, table in tables.items()}


def as_flat(teller: Teller, tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """One row a foot with its visit and horse on it, and the losses."""
    told = {name: teller.told(table) for name, table in tables.items()}
    rows = told["feet"].join(told["visits"], on="visit_id", how="left", maintain_order="left")
    flat = rows.join(told["horses"], on="horse_id", how="left", maintain_order="left")
    return {"shoeing": teller.named(flat), "lost shoes": teller.named(told["losses"]), **_tried(teller, told)}


def as_groups(teller: Teller, tables: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """One row a visit with a group of columns for each foot; horses and losses apart."""
    told = {name: teller.told(table) for name, table in tables.items()}
    wide = told["visits"]
    for foot in FEET_WORDS:
        own = told["feet"].filter(pl.Series([value == foot for value in tables["feet"]["foot"]])).drop("foot")
        group = teller.draw.choice(FEET_WORDS[foot])
        own = own.rename({name: f"{group} {teller.header(name)}" for name in own.columns if name != "visit_id"})
        wide = wide.join(own, on="visit_id", how="left", maintain_order="left")
    kept = [name for name in wide.columns if wide[name].null_count() < wide.height]
    visits = wide.select(pl.col(name).alias(teller.header(name)) for name in kept)
    apart = {name: teller.named(told[name]) for name in ("horses", "losses")}
    return {"visits": visits, **apart, **_tried(teller, told)}


def _tried(teller: Teller, told: dict[str, pl.DataFrame]) -> dict[str, pl.DataFrame]:
    """A sheet of the changes that were tried, where there are any."""
    return {"changes tried": teller.named(told["changes"])} if "changes" in told else {}


LAYOUTS = (as_tables, as_flat, as_groups)
ENCODINGS = (("utf-8", ","), ("utf-8-sig", ";"), ("utf-16", "\t"), ("cp1252", ";"))


def write(sheets: dict[str, pl.DataFrame], folder: Path, encoding: str, separator: str, title: bool) -> None:
    """The sheets as text files, with or without a title over the header and totals underneath."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, sheet in sheets.items():
        text = sheet.write_csv(separator=separator)
        if title:
            gap = separator * (sheet.width - 1)
            text = f"Our book{gap}\n{gap}\n{text}{gap}\nTotal{gap}\n"
        (folder / f"{name}.csv").write_text(text.replace("✓", "x"), encoding=encoding, newline="")
