-- Reports of the latest load that find no shoe on their foot. The last shoe nailed before the day it was found off
-- either was lost (this report is of that event) or was accounted for otherwise, and then there is nothing to lose.
insert into ledger.warnings by name
with before as (
    select l.loss_id, arg_max(s.end_reason, (s.fitted_on, s.fitted_visit_id)) as last_end
    from loss_rows_read l
    left join derived.shoe_spells s on s.horse_id = l.horse_id and s.foot = l.foot and s.fitted_on < l.found_off
    where l.found_off <= getvariable('as_of')
    group by l.loss_id
), known as (
    select
        l.loss_id,
        arg_max(
            (case f.work
                when 'fit_new' then 'shod new' when 'reset' then 'shoe reset' when 'trim' then 'trimmed'
                when 'take_off' then 'shoe taken off' else 'looked at (' || f.arrival || ' on arrival), no work'
            end) || ' on ' || f.visit_date, (f.visit_date, f.visit_id)
        ) as last_word
    from loss_rows_read l
    left join foot_rows f on f.horse_id = l.horse_id and f.foot = l.foot and f.visit_date <= l.found_off
    group by l.loss_id
)
select
    getvariable('load_id') as load_id, 'losses' as table_name, l.source_file, l.source_row,
    'loss_finds_no_shoe' as rule, 'found_off' as column_name, l.found_off::varchar as "value",
    h.horse_name || ', ' || l.foot || ': reported off on ' || l.found_off || ', but no shoe was on that foot by the '
        || 'record; last known: ' || coalesce(k.last_word, 'nothing before that day') as reason,
    l.row_json
from loss_rows_read l
join before b on b.loss_id = l.loss_id
join known k on k.loss_id = l.loss_id
join accepted.horses h on h.horse_id = l.horse_id
where b.last_end is distinct from 'lost'
order by l.source_file, l.source_row, l.loss_id;
