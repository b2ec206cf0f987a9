-- Consecutive visits at which one foot was handled. Only leaving with the next arrival is compared: growth, not trim.
delete from derived.foot_steps;

insert into derived.foot_steps by name
with steps as (
    select
        horse_id, foot, discipline, visit_id as from_visit_id, visit_date as from_date,
        angle_leaving_deg as angle_left_deg, toe_leaving_mm, bruise_grade as bruise_from, sole_relief, shoe_style,
        work in ('fit_new', 'reset') as shod,
        lead(visit_id) over story as to_visit_id,
        lead(visit_date) over story as to_date,
        lead(angle_arrival_deg) over story as angle_back_deg,
        lead(toe_arrival_mm) over story as toe_arrival_mm,
        lead(bruise_grade) over story as bruise_to
    from foot_rows
    where work <> 'none'
    window story as (partition by horse_id, foot order by visit_date, visit_id)
)
select
    * exclude (toe_leaving_mm, toe_arrival_mm),
    end_of(foot) as "end",
    to_date - from_date as days,
    angle_back_deg - angle_left_deg as angle_change_deg,
    toe_arrival_mm - toe_leaving_mm as toe_change_mm
from steps
where to_visit_id is not null
order by horse_id, foot, from_date, from_visit_id;
