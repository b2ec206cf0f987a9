"""Made-up practices of any size whose true effects are known.

**Horses.** Disciplines come in the shares of `discipline_mix`, as evenly as whole numbers allow. Each horse has its
own planned interval (by pace, give or take a week), usual farrier, temper, habit of shoeing, and a multiplier of the
loss rate, theta, drawn from a gamma distribution with mean 1 and shape `frailty_shape`. Some hind feet, and a few
horses, go bare. `joins_share` of the horses come after the record began; the others are on the books from the start.
Horses leave at `leaves_per_year`; `leaves_barefoot` of them have their shoes taken off at the last visit, of the
others nothing more is heard. `rests_share` have their shoes off from November to February.

**Visits.** The next routine visit is planned in whole weeks and happens within days of that, never on a Sunday;
`late_share` of intervals run on by an exponential number of days with mean `late_mean_days`. A reported loss brings a
call-out 1 to 4 days after it was found, at which every foot without its shoe is shod again and the others are left
out or only looked at; a loss within `wait_days` of the next visit waits for it. A few visits are asked for by a vet,
and a few are only a look in between.

**Losses.** A shoe nailed on day 0 comes off on day d with hazard

    base_per_1000_days / 1000 x age_ratios[band of d] x overdue (after the planned day) x theta of the horse
    x loss_ratios[factor][level] for every factor x loss_slopes[factor] ^ ((value - centre) / unit)
    x branch_per_5mm[pace] ^ ((branch_past_heel_mm - 5) / 5)

a day, bands ending at 7, 14, 28, 42, 56 and 84 days and closed on the right: a piecewise-exponential model, so the
ratios are what a Poisson regression with log shoe-days as offset estimates. Factors act through the values as they are
written down (before cells are left blank): season by the month of nailing; handling, wall state and fit at the
nailing; for front shoes the hind foot of the same side, shod or bare and as it was last left. Farriers do not differ
unless `loss_ratios["farrier"]` says so. A lost shoe takes wall with it with chance `wall_worse_after_loss`, so wall
state is tied to the horse's own multiplier; `Truth.plainly_recorded()` cuts that tie.

**What is told.** `unreported_share` of losses are noticed only at the next visit, where the foot arrives off; the
others are reported on the day or, `found_late_share` of them, a day or two later. `last_seen_share` of reports say on
which day the shoe was last seen on. `told_twice_share` are reported again a day later. Nothing that happens after a
horse left, or after the last day, is told. Cells are left blank at random by the shares in `blanks`; in
`unmeasured_visits` no angle or toe is measured.

**Changes that were tried.** At the visit after a horse's third reported loss within a year one thing is changed. It
does nothing: what follows is as it would have been, so that a reader sees what chance alone brings.

**Bruises.** Each foot is clear or bruised, and changes only at a look: a clear foot is found bruised at the next look
with chance `bruise_new` x discipline x end x relief, a bruised one again with chance `bruise_again` x relief, relief
being that of the shoe the foot left the earlier look with. At the first look the chance is the settled share. Feet of
one horse at one look are correlated by a shared normal draw (`bruise_same_visit`). Grade says nothing but how deep.

**Angles.** A foot is left at its own angle, which moves by its own yearly trend, give or take `trim_sd_deg`; between
visits the true angle drifts by its own weekly rate, which differs for shod and bare; every reading has an error of
`angle_error_sd_deg`. Toes grow `toe_mm_per_week` under a shoe, half that bare, and are trimmed back.
"""

from pipelines.simulate.practice import Practice, simulate, write_practice
from pipelines.simulate.truth import Truth

__all__ = ["Practice", "Truth", "simulate", "write_practice"]
