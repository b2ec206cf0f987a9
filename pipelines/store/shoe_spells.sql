-- One row a shoe nailed on, from nailing to its end.
create or replace temp table shoes as
with told as (
    -- Rows that end what came before: the foot was handled, or its shoe was found to be off.
    select
        horse_id, foot, visit_date, visit_id, work,
        lead(visit_date) over story as next_date,
        lead(work) over story as next_work,
        lead(arrival) over story as next_arrival
    from foot_rows
    where work <> 'none' or arrival = 'off'
    window story as (partition by horse_id, foot order by visit_date, visit_id)
)
select * exclude (work) from told where work in ('fit_new', 'reset');

create or replace temp table first_reports as
-- Each report falls on the last shoe nailed before the day it was found off, if that shoe was then still unaccounted
-- for. A shoe whose next row is of the same day cannot take a report: the days after it belong to what came next.
with fallen as (
    select s.visit_id, s.foot, s.next_date, l.loss_id, l.found_off, l.last_seen_on, l.cause
    from (from accepted.losses where found_off <= getvariable('as_of')) l
    asof join (from shoes where next_date is null or next_date > visit_date) s
        on l.horse_id = s.horse_id and l.foot = s.foot and l.found_off > s.visit_date
)
select * from fallen
where next_date is null or found_off <= next_date
qualify row_number() over (partition by visit_id, foot order by found_off, loss_id) = 1;

delete from derived.shoe_spells;

insert into derived.shoe_spells by name
with ends as (
    select
        s.horse_id, s.foot, s.visit_id, s.visit_date as fitted_on, s.next_date, s.next_work, r.cause,
        r.found_off is not null or coalesce(s.next_arrival = 'off', false) as is_lost,
        r.found_off is not null and r.last_seen_on is null as day_is_known,
        greatest(s.visit_date, coalesce(r.last_seen_on, s.visit_date)) as lost_after,
        coalesce(r.found_off, s.next_date) as lost_by
    from shoes s left join first_reports r on r.visit_id = s.visit_id and r.foot = s.foot
), dated as (
    select
        * exclude (lost_after, lost_by),
        case when is_lost then lost_after end as lost_after,
        case when is_lost then lost_by end as lost_by,
        case
            when is_lost then 'lost'
            when next_work in ('fit_new', 'reset') then 'renewed'
            when next_date is not null then 'taken_off'
            else 'running'
        end as end_reason,
        case
            when is_lost and day_is_known then lost_by
            when is_lost then lost_after + ((lost_by - lost_after + 1) // 2)::integer
            when next_date is not null then next_date
            else least(getvariable('as_of'), fitted_on + getvariable('follow_up_days'))
        end as ended_on
    from ends
)
select
    d.visit_id || ':' || d.foot as spell_id, d.horse_id, d.foot, d.visit_id as fitted_visit_id, d.fitted_on,
    d.ended_on, d.end_reason, d.ended_on - d.fitted_on as days_on, d.lost_after, d.lost_by, d.cause,
    f.shoe_style, f.shoe_material, f.web_mm, f.thickness_mm, f.branch_past_heel_mm, f.expansion_mm,
    f.nails_medial, f.nails_lateral, f.heel_nails, f.nail_line, f.clips, f.pad, f.fitting, f.edges_dressed,
    f.sole_relief, f.wall_state, f.wall_side,
    f.discipline, pace_of(f.discipline) as pace, end_of(d.foot) as "end", f.farrier, f.yard,
    season_of(d.fitted_on) as season
from dated d join foot_rows f on f.visit_id = d.visit_id and f.foot = d.foot
order by d.horse_id, d.foot, d.fitted_on, d.visit_id;

drop table shoes;
drop table first_reports;
