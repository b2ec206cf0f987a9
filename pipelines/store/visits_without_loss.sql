-- Visits of the latest load made for a lost shoe of which no row says the foot: such a loss would be in no figure, and
-- nobody would miss it. A loss reported since the visit before tells of it as well as a foot that came without its shoe.
insert into ledger.warnings by name
select
    getvariable('load_id') as load_id, 'visits' as table_name, r.source_file, r.source_row,
    'lost_shoe_on_no_foot' as rule, 'visit_kind' as column_name, v.visit_kind as "value",
    h.horse_name || ': visited for a lost shoe on ' || v.visit_date || ', but no accepted row says which foot, so no '
        || 'loss is counted: write arrival off on the row of that foot and visit, or a row of losses' as reason,
    r.row_json
from visit_rows_read r
join accepted.visits v on v.visit_id = r.visit_id
join accepted.horses h on h.horse_id = v.horse_id
asof left join accepted.visits b on b.horse_id = v.horse_id and v.visit_date > b.visit_date
where v.visit_kind = 'lost_shoe' and v.visit_date <= getvariable('as_of')
    and not exists (from accepted.feet f where f.visit_id = v.visit_id and f.arrival = 'off')
    and not exists (
        from accepted.losses l
        where l.horse_id = v.horse_id and l.found_off <= v.visit_date
            and (b.visit_date is null or l.found_off > b.visit_date)
    )
order by r.source_file, r.source_row, r.visit_id;
