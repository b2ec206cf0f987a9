"""The same analyses as a careful analyst would script them with pandas, lifelines, scipy and statsmodels.

Vectorised where pandas makes that natural (shift within groups, merge_asof for reports); one lifelines fit a curve, one
statsmodels mixed model a level. It validates less than the program does and writes no pages.
Usage: python tests/bench/plain_pandas.py EXPORT AS_OF [--no-mixed-models]; prints seconds a step and the figures as JSON.
"""

import json
import sys
import time
import warnings
from pathlib import Path

import numpy as np
import pandas as pd

FOLLOW_UP = 84
PACE = {
    "fast": [
        "barrel_racing",
        "breakaway_roping",
        "team_roping",
        "polo",
        "racing",
        "eventing",
        "show_jumping",
        "endurance",
    ],
    "mixed": ["cutting", "reining", "hunting", "driving", "dressage", "gaited"],
    "slow": ["trail", "draft_work", "schooling", "companion", "young_stock"],
}
PACE_OF = {discipline: pace for pace, disciplines in PACE.items() for discipline in disciplines}
SEASON_OF = {12: "winter", 1: "winter", 2: "winter", 3: "spring", 4: "spring", 5: "spring"}
SEASON_OF |= {6: "summer", 7: "summer", 8: "summer", 9: "autumn", 10: "autumn", 11: "autumn"}


def read(folder):
    horses = pd.read_csv(folder / "horses.csv", dtype={"microchip": str, "height_hands": str, "ueln": str})
    visits = pd.read_csv(folder / "visits.csv", parse_dates=["visit_date"])
    feet = pd.read_csv(folder / "feet.csv")
    losses = pd.read_csv(folder / "losses.csv", parse_dates=["found_off", "last_seen_on"])
    return horses, visits, feet, losses


def keep_valid(horses, visits, feet, losses, as_of):
    visits = visits[visits.horse_id.isin(horses.horse_id) & (visits.visit_date <= as_of)].drop_duplicates("visit_id")
    ok = feet.visit_id.isin(visits.visit_id) & feet.foot.isin(["LF", "RF", "LH", "RH"])
    ok &= feet.arrival.isin(["on", "sprung", "off", "bare"])
    ok &= feet.work.isin(["fit_new", "reset", "trim", "take_off", "none"])
    for column, low, high in [("angle_arrival_deg", 30, 75), ("angle_leaving_deg", 30, 75), ("web_mm", 5, 60),
                              ("toe_arrival_mm", 40, 160), ("toe_leaving_mm", 40, 160), ("thickness_mm", 2, 25),
                              ("branch_past_heel_mm", -20, 40), ("expansion_mm", -5, 15), ("heel_nails", 0, 4),
                              ("nails_medial", 0, 6), ("nails_lateral", 0, 6), ("bruise_grade", 0, 3)]:  # fmt: skip
        ok &= feet[column].isna() | feet[column].between(low, high)
    feet = feet[ok].drop_duplicates(["visit_id", "foot"])
    losses = losses[losses.horse_id.isin(horses.horse_id) & (losses.found_off <= as_of)]
    return horses, visits, feet, losses


def foot_rows(horses, visits, feet):
    rows = feet.merge(visits, on="visit_id").merge(horses[["horse_id", "discipline", "yard"]], on="horse_id")
    rows["end"] = rows.foot.str[1].map({"F": "front", "H": "hind"})
    rows["pace"] = rows.discipline.map(PACE_OF)
    return rows.sort_values(["horse_id", "foot", "visit_date", "visit_id"])


def spells_of(rows, losses, as_of):
    seen = rows[(rows.work != "none") | (rows.arrival == "off")].copy()
    by_foot = seen.groupby(["horse_id", "foot"], sort=False)
    seen["next_date"], seen["next_arrival"], seen["next_work"] = (
        by_foot.visit_date.shift(-1), by_foot.arrival.shift(-1), by_foot.work.shift(-1),
    )  # fmt: skip
    spells = seen[seen.work.isin(["fit_new", "reset"])].copy()
    spells["from_next_day"] = spells.visit_date + pd.Timedelta(days=1)
    reports = losses.sort_values(["found_off", "loss_id"])
    reports = reports.drop_duplicates(["horse_id", "foot", "found_off"])
    spells = pd.merge_asof(
        spells.sort_values("from_next_day"), reports[["horse_id", "foot", "found_off", "last_seen_on", "cause"]],
        left_on="from_next_day", right_on="found_off", by=["horse_id", "foot"], direction="forward",
    )  # fmt: skip
    reported = spells.found_off.notna() & (spells.next_date.isna() | (spells.found_off <= spells.next_date))
    at_visit = ~reported & (spells.next_arrival == "off")
    lost = reported | at_visit
    after = spells.visit_date.where(
        ~reported | spells.last_seen_on.isna(), spells[["last_seen_on", "visit_date"]].max(axis=1)
    )
    by = spells.found_off.where(reported, spells.next_date)
    middle = after + pd.to_timedelta(np.ceil((by - after).dt.days / 2), unit="D")
    exact = reported & spells.last_seen_on.isna()
    running_to = (spells.visit_date + pd.Timedelta(days=FOLLOW_UP)).clip(upper=as_of)
    spells["ended_on"] = np.where(lost, by.where(exact, middle), spells.next_date.fillna(running_to))
    spells["ended_on"] = pd.to_datetime(spells.ended_on)
    spells["lost"] = lost
    spells["days_on"] = (spells.ended_on - spells.visit_date).dt.days
    spells["at_risk_days"] = spells.days_on.clip(lower=0.5)
    spells["season"] = spells.visit_date.dt.month.map(SEASON_OF)
    return spells


def rates(spells):
    from scipy.stats import chi2

    tables = {}
    spells = spells.assign(all="all")
    for dimension in ["all", "discipline", "pace", "foot", "end", "farrier", "yard", "season", "shoe_style"]:
        by_horse = spells.groupby([dimension, "horse_id"]).agg(d=("lost", "sum"), t=("at_risk_days", "sum"))
        table = by_horse.groupby(level=0).agg(d=("d", "sum"), t=("t", "sum"), n=("d", "size"))
        rate = table.d / table.t
        off = by_horse.d - by_horse.index.get_level_values(0).map(rate) * by_horse.t
        spread = (off**2).groupby(level=0).sum() * table.n / (table.n - 1) / table.d**2
        table["rate"] = 1000 * rate
        table["low"] = 1000 * chi2.ppf(0.025, 2 * table.d) / 2 / table.t
        table["high"] = 1000 * chi2.ppf(0.975, 2 * table.d + 2) / 2 / table.t
        table["low_c"], table["high_c"] = (table.rate * np.exp(s * 1.959964 * np.sqrt(spread)) for s in (-1, 1))
        tables[dimension] = table
    return tables


def curves(spells):
    from lifelines import KaplanMeierFitter

    kept = {}
    for dimension in ["all", "discipline", "end"]:
        for level, part in spells.assign(all="all").groupby(dimension):
            fit = KaplanMeierFitter().fit(part.days_on, part.lost)
            kept[dimension, level] = fit.survival_function_at_times([14, 28, 42, 56]).to_numpy()
    return kept


def horses_beside_peers(spells):
    edges = [0, 7, 14, 28, 42, 56, 84]
    parts = []
    for low, high in zip(edges, [*edges[1:], np.inf], strict=True):
        days = spells.at_risk_days.clip(upper=high) - low
        here = spells[days > 0]
        lost = here.lost & (here.days_on <= high)
        parts.append(here.assign(band=low, t=days[days > 0], d=lost))
    cells = pd.concat(parts).groupby(["discipline", "end", "band", "horse_id"]).agg(d=("d", "sum"), t=("t", "sum"))
    group = cells.groupby(level=[0, 1, 2]).transform("sum")
    expected = (cells.t * group.d / group.t).groupby(level="horse_id").sum()
    return pd.DataFrame({"losses": spells.groupby("horse_id").lost.sum(), "expected": expected})


def intervals(visits, horses):
    kept = visits[visits.visit_kind.isin(["routine", "first", "vet_request"])].merge(
        horses[["horse_id", "discipline", "yard"]]
    )
    kept = kept.sort_values(["horse_id", "visit_date", "visit_id"])
    kept["days"] = kept.groupby("horse_id").visit_date.shift(-1).sub(kept.visit_date).dt.days
    kept = kept.dropna(subset=["days"])
    return kept.groupby("discipline").days.describe(percentiles=[0.1, 0.25, 0.5, 0.75, 0.9])


def bruises(rows):
    looks = rows.dropna(subset=["bruise_grade"]).copy()
    looks["now"] = looks.bruise_grade >= 1
    looks["next"] = looks.groupby(["horse_id", "foot"]).now.shift(-1)
    steps = looks.dropna(subset=["next"])
    return {d: pd.crosstab(steps[d], [steps.now, steps.next]) for d in ["discipline", "foot", "end", "shoe_style"]}


def drift(rows):
    import statsmodels.api as sm

    handled = rows[rows.work != "none"].copy()
    by_foot = handled.groupby(["horse_id", "foot"])
    handled["change"] = by_foot.angle_arrival_deg.shift(-1) - handled.angle_leaving_deg
    handled["weeks"] = (by_foot.visit_date.shift(-1) - handled.visit_date).dt.days / 7
    steps = handled.dropna(subset=["change", "weeks"]).assign(all="all")
    slopes = {}
    for dimension in ["all", "discipline", "end"]:
        for level, part in steps.groupby(dimension):
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                fit = sm.MixedLM(
                    part.change, part[["weeks"]], groups=part.horse_id + part.foot, exog_re=part[["weeks"]]
                ).fit()
            slopes[dimension, level] = float(fit.fe_params.iloc[0])
    return slopes


def workload(visits, feet):
    work = feet.assign(nailed=feet.work.isin(["fit_new", "reset"]), trimmed=feet.work == "trim")
    visits = visits.merge(work.groupby("visit_id")[["nailed", "trimmed"]].sum(), on="visit_id", how="left")
    week = visits.visit_date.dt.to_period("W").dt.start_time
    return visits.groupby([week, "farrier"]).agg(
        {"visit_id": "size", "horse_id": "nunique", "minutes": "sum", "nailed": "sum"}
    )


def main():
    folder, as_of = Path(sys.argv[1]), pd.Timestamp(sys.argv[2])
    seconds, start = {}, time.perf_counter()

    def timed(name, work, *args):
        began = time.perf_counter()
        result = work(*args)
        seconds[name] = round(time.perf_counter() - began, 3)
        return result

    tables = timed("read", read, folder)
    horses, visits, feet, losses = timed("validate", keep_valid, *tables, as_of)
    rows = timed("join", foot_rows, horses, visits, feet)
    spells = timed("spells", spells_of, rows, losses, as_of)
    rate = timed("rates", rates, spells)
    kept = timed("retention (lifelines)", curves, spells)
    timed("horses", horses_beside_peers, spells)
    timed("intervals", intervals, visits, horses)
    timed("bruises", bruises, rows)
    if "--no-mixed-models" not in sys.argv:
        timed("drift (statsmodels)", drift, rows)
    timed("workload", workload, visits, feet)
    seconds["whole"] = round(time.perf_counter() - start, 3)
    every = rate["all"].iloc[0]
    figures = {"shoes": len(spells), "losses": int(every.d), "shoe_days": float(every.t), "low": float(every.low)}
    figures["kept"] = [round(float(k), 9) for k in kept["all", "all"]]
    sys.stdout.write(json.dumps({"seconds": seconds, "figures": figures}) + "\n")


if __name__ == "__main__":
    main()
