-- Consecutive looks for a bruise at one foot, whatever was done to it; visits without a look are passed over.
delete from derived.bruise_steps;

insert into derived.bruise_steps by name
with looks as (
    select
        horse_id, foot, discipline, visit_id as from_visit_id, visit_date as from_date,
        bruise_grade as bruise_from, bruise_site as site_from, sole_relief, shoe_style,
        lead(visit_id) over story as to_visit_id,
        lead(visit_date) over story as to_date,
        lead(bruise_grade) over story as bruise_to,
        lead(bruise_site) over story as site_to
    from foot_rows
    where bruise_grade is not null
    window story as (partition by horse_id, foot order by visit_date, visit_id)
)
select
    *, end_of(foot) as "end", to_date - from_date as days,
    exists (
        from derived.visit_intervals i
        where i.from_visit_id = looks.from_visit_id and i.to_visit_id = looks.to_visit_id
    ) as one_interval
from looks
where to_visit_id is not null
order by horse_id, foot, from_date, from_visit_id;
