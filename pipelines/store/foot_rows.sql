-- Every foot looked at up to the as-of date, in the order in which its story is read. Two visits of one day are
-- ordered by visit_id.
create or replace temp table foot_rows as
select
    v.horse_id, f.foot, v.visit_date, f.visit_id, v.farrier, h.discipline, h.yard,
    f.* exclude (visit_id, foot, load_id, source_file, source_row)
from accepted.feet f
join accepted.visits v on v.visit_id = f.visit_id
join accepted.horses h on h.horse_id = v.horse_id
where v.visit_date <= getvariable('as_of')
order by v.horse_id, f.foot, v.visit_date, f.visit_id;
