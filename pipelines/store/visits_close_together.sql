-- Planned visits to one horse that lie 1 to 3 days apart, where at least one was read by the latest load. Where no codes
-- are kept, a visit whose day was corrected is a new one, and the old one stays: it would make a shoe of 2 days.
insert into ledger.warnings by name
with planned as (
    select
        v.visit_id, v.horse_id, v.visit_date, r.source_file, r.source_row, r.row_json, r.visit_id is not null as is_read
    from accepted.visits v left join visit_rows_read r on r.visit_id = v.visit_id
    where v.visit_kind in ('routine', 'first') and v.visit_date <= getvariable('as_of')
), pairs as (
    -- Of two that were both read the later is doubted, once; of one read and one kept from before, the one read.
    select
        d.*, o.visit_date as other_date, o.is_read as both_read, o.source_file || ' row ' || o.source_row as other_place
    from planned d
    join planned o on o.horse_id = d.horse_id and abs(o.visit_date - d.visit_date) between 1 and 3
    where d.is_read and (not o.is_read or o.visit_date < d.visit_date)
    qualify row_number() over (
        partition by d.visit_id order by o.is_read, abs(o.visit_date - d.visit_date), o.visit_date, o.visit_id
    ) = 1
)
select
    getvariable('load_id') as load_id, 'visits' as table_name, p.source_file, p.source_row,
    'planned_visits_close_together' as rule, 'visit_date' as column_name, p.visit_date::varchar as "value",
    h.horse_name || ': two planned visits ' || abs(p.visit_date - p.other_date)
        || if(abs(p.visit_date - p.other_date) = 1, ' day', ' days') || ' apart, ' || least(p.visit_date, p.other_date)
        || ' and ' || greatest(p.visit_date, p.other_date) || ': both are kept; if the date was corrected, '
        || if(
            p.both_read,
            'one of them is left from before (see ' || p.other_place || '): keep one of the two',
            'that of ' || p.other_date || ' is left in the store from before: publish your corrected records into '
                || 'a new store'
        ) as reason,
    p.row_json
from pairs p join accepted.horses h on h.horse_id = p.horse_id
order by p.source_file, p.source_row, p.visit_id;
