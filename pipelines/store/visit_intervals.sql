-- Consecutive visits of one horse that belong to its round of shoeing; calls for a lost shoe do not.
delete from derived.visit_intervals;

insert into derived.visit_intervals by name
with rounds as (
    select
        horse_id, visit_id as from_visit_id, visit_date as from_date, planned_weeks,
        lead(visit_id) over story as to_visit_id,
        lead(visit_date) over story as to_date
    from accepted.visits
    where visit_kind in ('routine', 'first', 'vet_request') and visit_date <= getvariable('as_of')
    window story as (partition by horse_id order by visit_date, visit_id)
)
select
    r.horse_id, h.discipline, h.yard, season_of(r.to_date) as season, r.from_visit_id, r.to_visit_id,
    r.from_date, r.to_date, r.to_date - r.from_date as days, r.planned_weeks,
    r.to_date - r.from_date - 7 * r.planned_weeks as days_late
from rounds r join accepted.horses h on h.horse_id = r.horse_id
where r.to_visit_id is not null
order by r.horse_id, r.from_date, r.from_visit_id;
