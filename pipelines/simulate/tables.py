"""From codes and day numbers to the tables of an export, typed as the schemas declare them."""

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
import polars as pl

from pipelines.simulate import names
from pipelines.simulate.diary import NEVER, Written
from pipelines.simulate.herd import BREEDS, Herd, choose
from pipelines.simulate.truth import Truth
from schemas import words

_TRIED = (
    "heels fitted closer", "hind toes set back", "toe rolled", "one nail more a side", "boots in the field",
    "interval cut by a week", "branch shortened",
)  # fmt: skip
_FEET_WORDS = {
    "foot": words.FEET,
    "arrival": words.ARRIVALS,
    "work": words.WORKS,
    "shoe_style": words.SHOE_STYLES,
    "shoe_material": words.SHOE_MATERIALS,
    "nail_line": words.NAIL_LINES,
    "clips": words.CLIPS,
    "pad": words.PADS,
    "fitting": words.FITTINGS,
    "wall_state": words.WALL_STATES,
    "wall_side": words.WALL_SIDES,
    "bruise_site": words.BRUISE_SITES,
}
_MEASURES = ("angle_arrival_deg", "angle_leaving_deg", "toe_arrival_mm", "toe_leaving_mm")
_NOTES = (
    "Held by the yard's own help.", "Stood well today.", "Ask about turnout on the wet field.", "Clinches checked.",
    "Owner away, paid later.", "Fidgets on the near hind.", "Boots left on for turnout.", "Wants an early slot.",
)  # fmt: skip
_CAUSES = {
    # chance of each cause in the order of words.CAUSES: common practice, no source
    "front": (0.34, 0.12, 0.13, 0.06, 0.08, 0.06, 0.03, 0.03, 0.15),
    "hind": (0.12, 0.18, 0.18, 0.04, 0.14, 0.08, 0.05, 0.04, 0.17),
    "bad_wall": (0.12, 0.06, 0.08, 0.04, 0.12, 0.45, 0.02, 0.02, 0.09),
}
_ACTIVITIES = (0.5, 0.07, 0.22, 0.1, 0.02, 0.09)
_GROUNDS_WET, _GROUNDS_DRY = (0.05, 0.15, 0.3, 0.3, 0.08, 0.12), (0.35, 0.3, 0.08, 0.08, 0.1, 0.09)


def words_of(codes: np.ndarray, levels: Sequence[str]) -> pl.Series:
    """Words of codes; -1 becomes a blank."""
    return pl.Series(levels, dtype=pl.String).gather(_blank_below_zero(codes))


def days_of(day: np.ndarray, first: date) -> pl.Series:
    """Dates of day numbers; NEVER becomes a blank."""
    moment = np.datetime64(first) + np.where(day >= NEVER, 0, day)
    return pl.select(pl.when(pl.Series(day < NEVER)).then(pl.Series(moment.astype("datetime64[D]")))).to_series()


def ids(letter: str, numbers: np.ndarray, largest: int) -> pl.Series:
    """Codes such as H0001, as wide as the largest needs, counted from 1."""
    width = max(4, len(str(largest)))
    return letter + pl.Series(numbers + 1).cast(pl.String).str.zfill(width)


def horses_table(herd: Herd, truth: Truth, rng: np.random.Generator) -> pl.DataFrame:
    """`Horses`."""
    from schemas.exports import Horses

    w, count = herd.written, herd.theta.size
    owner_names = pl.Series(w["owner_names"])
    contacts = pl.Series([names.contact(name) for name in w["owner_names"]])
    columns = {
        "horse_id": ids("H", np.arange(count), count),
        "horse_name": pl.Series(w["horse_name"]),
        "discipline": words_of(w["discipline"], words.DISCIPLINES),
        "foaled_year": pl.Series(w["foaled_year"]),
        "sex": words_of(w["sex"], words.SEXES),
        "breed": words_of(w["breed"], BREEDS),
        "yard": words_of(w["yard"], w["yard_names"]),
        "height_hands": pl.Series([f"{inches // 4}.{inches % 4}" for inches in w["height_hands"].tolist()]),
        "mass_kg": pl.Series(w["mass_kg"]),
        "turnout": words_of(w["turnout"], words.TURNOUTS),
        "work_days_per_week": pl.Series(w["work_days_per_week"]),
        # 010 is Antarctica in ISO 3166: a country's number, and no country whose horses these could be.
        "microchip": "010" + pl.Series(w["chip"]).cast(pl.String).str.zfill(12),
        "ueln": "010ABC" + pl.Series(w["life_number"]).cast(pl.String).str.zfill(9),
        "owner_ref": ids("O", w["owner"], owner_names.len()),
        "owner_name": owner_names.gather(w["owner"]),
        "owner_contact": contacts.gather(w["owner"]),
        "vet_practice": words_of(w["vet"], [f"VP-{number + 1:02}" for number in range(w["vets"])]),
        "share_with_vet": pl.Series([True, False, None]).gather(w["consent"]),
    }
    return _finish(columns, Horses, truth.blanks, rng)


def visits_table(
    written: Written, first: date, farriers: Sequence[str], horses: int, truth: Truth, rng: np.random.Generator
) -> tuple[pl.DataFrame, np.ndarray]:
    """`Visits`, by date and horse, and the place of each visit as first numbered in that order."""
    from schemas.exports import Visits

    v = written.joined(written.visits)
    order = np.lexsort((v["horse"], v["day"]))
    place = np.empty_like(order)
    place[order] = np.arange(order.size)
    v = {name: values[order] for name, values in v.items()}
    noted = np.where(rng.random(order.size) < 0.03, rng.integers(0, len(_NOTES), order.size), -1)
    columns = {
        "visit_id": ids("V", np.arange(order.size), order.size),
        "horse_id": ids("H", v["horse"], horses),
        "visit_date": days_of(v["day"], first),
        "farrier": words_of(v["farrier"], farriers),
        "visit_kind": words_of(v["visit_kind"], words.VISIT_KINDS),
        "planned_weeks": _whole(v["planned_weeks"]),
        "notes": words_of(noted, _NOTES),
        **{name: pl.Series(v[name]) for name in ("minutes", "fee", "travel_km", "handling")},
    }
    return _finish(columns, Visits, truth.blanks, rng), place


def feet_table(written: Written, place: np.ndarray, truth: Truth, rng: np.random.Generator) -> pl.DataFrame:
    """`Feet`, in the order of the visits."""
    from schemas.exports import Feet

    f = written.joined(written.feet)
    visit = place[f.pop("visit")]
    order = np.argsort(visit * 4 + f["foot"])
    visit, f = visit[order], {name: values[order] for name, values in f.items()}
    unmeasured = (rng.random(place.size) < truth.unmeasured_visits)[visit]
    for name in _MEASURES:
        f[name] = np.where(unmeasured, np.nan, f[name])
    columns = {name: words_of(f.pop(name), levels) for name, levels in _FEET_WORDS.items()}
    columns |= {name: pl.Series([False, True]).gather(_blank_below_zero(f.pop(name))) for name in _YES_NO}
    columns |= {name: _whole(values) if values.dtype.kind == "i" else pl.Series(values, nan_to_null=True)
                for name, values in f.items() if name != "shod"}  # fmt: skip
    columns["visit_id"] = ids("V", visit, place.size)
    return _finish(columns, Feet, truth.blanks, rng)


_YES_NO = ("edges_dressed", "sole_relief")


def losses_table(
    written: Written, first: date, horses: int, truth: Truth, rng: np.random.Generator
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """`Losses`, as reported, and every true loss: horse_id, foot, fitted_on, lost_on, reported."""
    from schemas.exports import Losses

    lost = written.joined(written.losses)
    true = pl.DataFrame(
        {
            "horse_id": ids("H", lost["horse"], horses),
            "foot": words_of(lost["foot"], words.FEET),
            "fitted_on": days_of(lost["fitted"], first),
            "lost_on": days_of(lost["lost"], first),
            "reported": lost["reported"],
        }
    )
    told = _told(lost, truth, rng)
    count = told["horse"].size
    columns = {
        "loss_id": ids("L", np.arange(count), count),
        "horse_id": ids("H", told["horse"], horses),
        "foot": words_of(told["foot"], words.FEET),
        "found_off": days_of(told["found"], first),
        "last_seen_on": days_of(told["last_seen"], first),
        "cause": words_of(_causes(told, rng), words.CAUSES),
        "activity": words_of(choose(_ACTIVITIES, count, rng), words.ACTIVITIES),
        "ground": words_of(_grounds(told, first, rng), words.GROUNDS),
    }
    return _finish(columns, Losses, truth.blanks, rng), true.sort("lost_on", "horse_id", "foot")


def changes_table(visits: pl.DataFrame, losses: pl.DataFrame, rng: np.random.Generator) -> pl.DataFrame:
    """`Changes`: one a horse, at the visit after its third reported loss within a year. None of them does anything."""
    from schemas.exports import Changes

    told = losses.select("horse_id", "foot", "found_off").sort("horse_id", "found_off", "foot")
    first = pl.col("found_off").shift(2).over("horse_id")
    third = told.filter((pl.col("found_off") - first).dt.total_days() <= 365).unique("horse_id", maintain_order=True)
    later = visits.select("horse_id", "visit_date").join(third, on="horse_id")
    later = later.filter(pl.col("visit_date") >= pl.col("found_off"))
    changed = later.group_by("horse_id").agg(pl.col("visit_date").min().alias("changed_on")).sort("horse_id")
    what = [_TRIED[at] for at in rng.integers(len(_TRIED), size=changed.height)]
    rows = changed.with_columns(foot=pl.lit("all"), what=pl.Series(what, dtype=pl.String), note=pl.lit(None, pl.String))
    return Changes.check(rows.select(list(Changes.columns())))


def _told(lost: Mapping[str, np.ndarray], truth: Truth, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """Reports in the order they came in; some losses are reported again a day later, before anybody comes."""
    again = (
        lost["reported"] & (lost["found"] < lost["until"]) & (rng.random(lost["horse"].size) < truth.told_twice_share)
    )
    twice = {name: np.concatenate([values[lost["reported"]], values[again]]) for name, values in lost.items()}
    twice["found"][lost["reported"].sum() :] += 1
    order = np.lexsort((twice["foot"], twice["horse"], twice["found"]))
    return {name: values[order] for name, values in twice.items()}


def _causes(lost: Mapping[str, np.ndarray], rng: np.random.Generator) -> np.ndarray:
    front, hind, bad = (choose(_CAUSES[name], lost["foot"].size, rng) for name in ("front", "hind", "bad_wall"))
    return np.where(lost["wall"] >= 2, bad, np.where(lost["foot"] < 2, front, hind))


def _grounds(lost: Mapping[str, np.ndarray], first: date, rng: np.random.Generator) -> np.ndarray:
    month = days_of(lost["found"], first).dt.month().to_numpy()
    wet, dry = (choose(chances, month.size, rng) for chances in (_GROUNDS_WET, _GROUNDS_DRY))
    return np.where((month >= 10) | (month <= 4), wet, dry)


def _blank_below_zero(codes: np.ndarray) -> pl.Series:
    return pl.select(pl.when(pl.Series(codes >= 0)).then(pl.Series(codes))).to_series()


_whole = _blank_below_zero


def _finish(columns: Mapping[str, pl.Series], table, blanks: Mapping[str, float], rng) -> pl.DataFrame:
    """Columns in the declared order and types, with the share of cells the truth leaves blank."""
    dtypes = table.dtypes()
    done = {name: columns[name].alias(name).cast(dtype) for name, dtype in dtypes.items()}
    frame = pl.DataFrame(done)
    kept = {name: pl.Series(rng.random(frame.height) >= blanks[name]) for name in dtypes if blanks.get(name, 0) > 0}
    return frame.with_columns(pl.when(keep).then(pl.col(name)).alias(name) for name, keep in kept.items())
