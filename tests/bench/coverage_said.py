"""What many made-up practices say of the limits, in words and figures; see coverage.py."""

from collections import defaultdict

import numpy as np


def say(all_found, truth):
    """Print all of it. all_found: one dict a practice, its parts being lists of rows."""
    for place, found in enumerate(all_found):
        for row in found["effects"] + found["rates"]:
            row["practice"] = place
    parts = {part for found in all_found for part in found}
    rows = {part: [row for found in all_found for row in found.get(part, [])] for part in parts}
    say_rates(rows["rates"])
    say_ratios(rows["effects"])
    for name in ("alike", "frail"):
        say_nothing(name, rows[name])
    say_horses(rows["horses"])
    say_angles(rows, truth)
    say_bruises(rows["bruises"])
    say_burden(rows["burden"])


def share(flags):
    flags = np.asarray(flags, dtype=float)
    return f"{100 * flags.mean():5.1f} % of {flags.size}" if flags.size else "none"


def covers(rows, low="low", high="high", truth="truth"):
    return [row[low] <= row[truth] <= row[high] for row in rows if row[low] is not None]


def by(rows, *names):
    parts = defaultdict(list)
    for row in rows:
        parts[tuple(row[name] for name in names)].append(row)
    return parts


def bias(rows, name):
    """Bias of the median, in per cent, and its standard error; a rate of 0 is below the truth like any other."""
    away = {
        place: [row[name] / row["truth"] - 1 for row in own]
        for (place,), own in by(known(rows, name), "practice").items()
    }
    if not away:
        return "none"
    rng, parts = np.random.default_rng(0), list(away.values())
    drawn = [
        np.median(np.concatenate([parts[i] for i in rng.integers(len(parts), size=len(parts))])) for _ in range(99)
    ]
    return f"{100 * np.median(np.concatenate(parts)):+.1f} ± {100 * np.std(drawn):.1f} %"


def known(rows, name):
    return [row for row in rows if row[name] is not None]


def with_pooled(rows, hits, trials, name, times=1.0):
    """Rows with the share of all practices together, level by level, as their truth."""
    for own in by(rows, "dimension", "level").values():
        truth = times * sum(row[hits] for row in own) / max(sum(row[trials] for row in own), 1e-9)
        for row in own:
            row[name] = truth
    return rows


def say_rates(rows):
    print("\nRates (truth: all practices pooled); limits by horse; naive: exact Poisson; bias of the median")
    with_pooled(rows, "losses", "shoe_days", "truth", 1000)
    whole = [row for row in rows if row["dimension"] == "all"]
    losses, horses, shoes = (np.mean([row[name] for row in whole]) for name in ("losses", "horses", "shoes"))
    print(f"  a practice has {losses:.0f} losses, {horses:.0f} horses shod, {shoes:.0f} shoes")
    sizes = {
        "under 15 horses": [row for row in rows if row["horses"] < 15],
        "15-29 horses": [row for row in rows if 15 <= row["horses"] < 30],
        "30 horses or more": [row for row in rows if row["horses"] >= 30],
    }
    for label, own in [(*name, own) for name, own in by(rows, "dimension").items()] + list(sizes.items()):
        clustered = share(covers(own, "low_clustered", "high_clustered"))
        left_out = share(covers(own, "low_left_out", "high_left_out"))
        naive = share(covers(own))
        # of five horses or more, so that both are of the same; a rate of 0 stands for itself
        told = [row | ({} if row["losses"] else {"per_1000_median_unbiased": 0.0}) for row in own if row["horses"] >= 5]
        print(
            f"  {label:18} clustered {clustered}, each horse left out {left_out}, naive {naive}, "
            f"bias {bias(told, 'per_1000_days')}, median-unbiased {bias(told, 'per_1000_median_unbiased')}"
        )


def say_ratios(rows):
    print("\nRate ratios; within: each horse against itself; bias of the median")
    others = [row for row in rows if row["factor"] != "discipline"]
    parts = [(name[0], own) for name, own in by(rows, "factor").items()]
    for label, own in [*parts, ("ALL", rows), ("ALL but discipline", others)]:
        print(
            f"  {label:24} clustered {share(covers(own))}, naive {share(covers(own, 'naive_low', 'naive_high'))}, "
            f"jackknife {share(covers(own, 'jackknife_low', 'jackknife_high'))}, bias {bias(own, 'rate_ratio')}, "
            f"median-unbiased {bias(own, 'ratio_median_unbiased')} of {len(known(own, 'ratio_median_unbiased'))}; "
            f"within {share(covers(own, 'within_low', 'within_high'))}, bias {bias(own, 'within')}"
        )


def say_nothing(name, rows):
    def false(own, kind=""):
        return share(~np.array(covers(own, f"{kind}low", f"{kind}high")))

    kinds = {"clustered": "", "naive": "naive_", "jackknife": "jackknife_", "within": "within_"}
    said = ", ".join(f"{label} {false(rows, kind)}" for label, kind in kinds.items())
    print(f"\nNothing to find, horses {name}: rows whose limits exclude 1: {said}")
    for (factor,), own in by(rows, "factor").items():
        print(f"    {factor:24} clustered {false(own)}, jackknife {false(own, 'jackknife_')}")


def say_horses(rows):
    theta, chance = (np.array([row[name] for row in rows]) for name in ("theta", "chance_above_double"))
    print("\nHorses: chance of more than double as given, and the share that truly are")
    for tenth in range(10):
        some = np.minimum(chance * 10 // 1, 9) == tenth
        if some.any():
            true = (theta[some] > 2).mean()
            error = 1.96 * np.sqrt(true * (1 - true) / some.sum())
            given = chance[some].mean()
            print(
                f"    {tenth / 10:.1f}-{tenth / 10 + 0.1:.1f}: given {given:.3f}, truly {true:.3f} +- {error:.3f} of {some.sum()}"
            )
    for label, low, high in (("shrunk", "shrunk_low", "shrunk_high"), ("raw, exact", "ratio_low", "ratio_high")):
        print(f"  limits of the {label} ratio cover {share(covers(rows, low, high, 'theta'))}")
    for name in ("shrunk_ratio", "ratio"):
        away = np.array([row[name] for row in rows]) - theta
        print(f"  root mean square error of {name} {np.sqrt((away**2).mean()):.3f}")
    marks = {
        "chance over 0.8": chance > 0.8,
        "chance over 0.5": chance > 0.5,
        "first alarm": np.array([row["first_alarm"] for row in rows]),
        "above the funnel": np.array([row["funnel"].startswith("above") for row in rows]),
    }
    for label, marked in marks.items():
        print(f"  {label:18} truly above 2: {share(theta[marked] > 2)}; finds {share(marked[theta > 2])} that are")


def say_angles(rows, truth):
    drifts = {"yes": truth.drift_shod_deg_per_week, "no": truth.drift_bare_deg_per_week}
    told = [row | {"of": row["level"] if row["dimension"] == "shod" else "by work"} for row in rows["drift"]]
    for (of,), own in by(told, "of").items():
        truth_of = drifts.get(of, drifts["yes"])
        known = [row | {"truth": truth_of} for row in own if row["low"] is not None]
        ours = [row for row in known if row["low_by_horse"] is not None]
        middle = np.median([row["deg_per_week"] for row in known])
        by_horse = share(covers(ours, "low_by_horse", "high_by_horse"))
        print(f"\nAngle drift, shod {of}: by horse {by_horse}, by foot {share(covers(known))}")
        print(f"  median {middle:.3f} for {truth_of}")
    for kind in ("", "_by_horse"):
        known = [
            row | {"truth": truth.trend_deg_per_year} for row in rows["trend"] if row.get(f"low{kind}") is not None
        ]
        print(f"Angle trend{kind}: {share(covers(known, f'low{kind}', f'high{kind}'))}")


def say_bruises(rows):
    print("\nBruises that come back (truth: all practices pooled)")
    with_pooled(rows, "bruised_to_bruised", "steps_bruised", "again")
    with_pooled(rows, "clear_to_bruised", "steps_clear", "new")
    for (dimension, level), own in by(rows, "dimension", "level").items():
        known = [row | {"true_ratio": row["again"] / row["new"]} for row in own if row["new"]]
        chance = share(covers(own, "again_low", "again_high", "again"))
        ratio = share(covers(known, "ratio_low", "ratio_high", "true_ratio"))
        print(f"  {dimension} {level}: chance {chance}, ratio {ratio}")


def say_burden(rows):
    print("\nEpisodes of bruising a foot (truth: the mean of all practices)")
    for (day,), own in by(rows, "day").items():
        truth = np.mean([row["mean_episodes"] for row in own])
        known = [row | {"truth": truth} for row in own]
        kinds = {name: share(covers(known, *name)) for name in (("low", "high"), ("low_by_horse", "high_by_horse"))}
        print(f"  by day {day}: feet as units {kinds['low', 'high']}, horses {kinds['low_by_horse', 'high_by_horse']}")
