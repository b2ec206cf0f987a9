"""What is taken from the store for one summary: only horses whose owner consents, of one vet practice, up to a day.

`own` numbers the horses asked for and `seen` their visits; every other query starts from one of the two.
"""

from datetime import date

from schemas.words import SHOE_CHANGES

UNEVEN_DEG = 1.5  # a pair is called uneven beyond it: Wiggers 2015, PLoS ONE 10:e0114836
WORTH_TELLING_MM = 5  # a branch shorter or longer by less is within what a reset changes; common practice, no source
CHANGES = SHOE_CHANGES[1:]  # the first, shod or bare, is no column of a shoe

OWN = """
with own as (
    select
        horse_id, horse_name, discipline, foaled_year, microchip, ueln,
        row_number() over (order by horse_name, horse_id) as horse_no
    from accepted.horses
    where share_with_vet and horse_id in ({horses})
), seen as (
    select
        h.horse_no, h.horse_id, v.visit_id, v.visit_date, v.visit_kind,
        row_number() over (partition by h.horse_id order by v.visit_date, v.visit_id) as visit_no
    from own h join accepted.visits v on v.horse_id = h.horse_id
    where v.visit_date between {since} and {as_of}
), shod as (
    select h.horse_no, s.*, s.nails_medial + s.nails_lateral as nails
    from own h join derived.shoe_spells s on s.horse_id = h.horse_id
    where s.fitted_on <= {as_of}
), looks as (
    select
        s.horse_no, s.visit_no, s.visit_date, t.foot, f.visit_id is not null as recorded,
        f.bruise_grade is not null as looked, f.bruise_grade,
        if(f.bruise_grade >= 1, f.bruise_site, null) as bruise_site,
        f.bruise_grade >= 1 and b.bruise_from >= 1 as again,
        f.bruise_grade >= 1 and b.bruise_from >= 1 and f.bruise_site = b.site_from as same_site_again
    from seen s
    cross join (select unnest(['LF', 'RF', 'LH', 'RH']) as foot) t
    left join accepted.feet f on f.visit_id = s.visit_id and f.foot = t.foot
    left join derived.bruise_steps b on b.to_visit_id = s.visit_id and b.foot = t.foot
), readings as (
    select s.horse_no, s.visit_no, s.visit_date, f.foot, r.stage, r.angle_deg, r.toe_mm
    from seen s join accepted.feet f on f.visit_id = s.visit_id,
    lateral (values
        ('arrival', f.angle_arrival_deg, f.toe_arrival_mm), ('leaving', f.angle_leaving_deg, f.toe_leaving_mm)
    ) as r(stage, angle_deg, toe_mm)
    where r.angle_deg is not null or r.toe_mm is not null
)
"""

HORSES = """
select
    h.horse_no, h.horse_name, h.microchip, h.ueln, h.foaled_year, h.discipline,
    (select count(*) from seen s where s.horse_no = h.horse_no) as visits,
    (select count(*) from looks l where l.horse_no = h.horse_no and l.recorded) as feet_seen,
    (select count(*) from looks l where l.horse_no = h.horse_no and l.looked) as looks,
    (select count(*) from looks l where l.horse_no = h.horse_no and l.bruise_grade >= 1) as bruised,
    (select count(*) from looks l where l.horse_no = h.horse_no and not l.looked) as not_looked,
    (select count(*) from readings r where r.horse_no = h.horse_no) as readings,
    (select count(*) from shod s where s.horse_no = h.horse_no and s.ended_on >= {since}) as shoes,
    (select count(*) from shod s where s.horse_no = h.horse_no and s.end_reason = 'lost' and s.ended_on >= {since})
        as losses,
    (select coalesce(sum(greatest(s.ended_on - greatest(s.fitted_on, {since}), 0.5)), 0)::double
        from shod s where s.horse_no = h.horse_no and s.ended_on >= {since}) as shoe_days
from own h order by h.horse_no
"""

VISITS = """
select s.horse_no, s.visit_no, s.visit_date, s.visit_kind, i.days, i.planned_weeks, i.days_late
from seen s left join derived.visit_intervals i on i.to_visit_id = s.visit_id
order by s.horse_no, s.visit_no
"""

SHOES = """
select
    horse_no, foot, fitted_on, if(end_reason = 'lost', null, ended_on) as off_on, end_reason, shoe_style, shoe_material,
    web_mm, thickness_mm, branch_past_heel_mm, expansion_mm, nails, heel_nails, clips, pad, fitting, edges_dressed,
    sole_relief
from shod where ended_on >= {since}
order by horse_no, fitted_on, foot, fitted_visit_id
"""

ON_THE_FEET = """
select
    horse_no, foot, end_reason, fitted_on, if(end_reason = 'lost', null, ended_on) as off_on,
    if(end_reason = 'lost', lost_by, null) as lost_by, shoe_style, shoe_material
from shod
qualify row_number() over (partition by horse_no, foot order by fitted_on desc, fitted_visit_id desc) = 1
order by horse_no, foot
"""

LOSSES = """
select
    horse_no, foot, fitted_on, lost_after, lost_by,
    lost_after - fitted_on as days_least, lost_by - fitted_on as days_most, cause
from shod where end_reason = 'lost' and ended_on >= {since}
order by horse_no, lost_by, foot, fitted_visit_id
"""

BRUISE_LOOKS = """
select horse_no, visit_no, visit_date, foot, looked, bruise_grade, bruise_site, again, same_site_again
from looks order by horse_no, visit_no, foot
"""

READINGS = "select * from readings order by horse_no, visit_no, foot, stage"

GAPS = f"""
select
    l.horse_no, l.visit_no, l.visit_date, if(l.foot = 'LF', 'front', 'hind') as "end", l.stage,
    l.angle_deg as left_deg, r.angle_deg as right_deg, l.angle_deg - r.angle_deg as gap_deg,
    abs(l.angle_deg - r.angle_deg) > {UNEVEN_DEG} + 1e-9 as uneven
from readings l
join readings r on r.horse_no = l.horse_no and r.visit_no = l.visit_no and r.stage = l.stage
    and r.foot = if(l.foot = 'LF', 'RF', 'RH')
where l.foot in ('LF', 'LH') and l.angle_deg is not null and r.angle_deg is not null
order by l.horse_no, l.visit_no, "end", l.stage
"""


def _told(value: str, column: str) -> str:
    if column == "branch_past_heel_mm":
        return f"printf('%g', {value})"
    return f"if({value}, 'yes', 'no')" if column == "sole_relief" else f"{value}::varchar"


def _change(column: str) -> str:
    was = f"was_{column}"
    least = f"and abs({column} - {was}) >= {WORTH_TELLING_MM}" if column == "branch_past_heel_mm" else ""
    return (
        f"select horse_no, foot, fitted_on as changed_on, '{column}' as change, {_told(was, column)} as before, "
        f"{_told(column, column)} as after from told where {column} <> {was} {least}"
    )


CHANGED = f"""
, told as (
    select *, {", ".join(f"lag({column}) over story as was_{column}" for column in CHANGES)},
        lag(end_reason) over story as was_end, lag(ended_on) over story as was_ended_on
    from shod window story as (partition by horse_id, foot order by fitted_on, fitted_visit_id)
)
select * from (
    select horse_no, foot, ended_on as changed_on, 'shod' as change, 'yes' as before, 'no' as after
    from told where end_reason = 'taken_off'
    union all
    select horse_no, foot, fitted_on, 'shod', 'no', 'yes' from told where was_end = 'taken_off'
    union all
    {" union all ".join(_change(column) for column in CHANGES)}
) where changed_on >= {{since}}
order by horse_no, changed_on, foot, change
"""

QUERIES = {
    "horses": HORSES,
    "visits": VISITS,
    "on_the_feet": ON_THE_FEET,
    "shoes": SHOES,
    "losses": LOSSES,
    "bruise_looks": BRUISE_LOOKS,
    "readings": READINGS,
    "gaps": GAPS,
    "changes": CHANGED,
}

# One figure of all horses; the owners on whom it rests are those of horses that no vet practice has or could have.
ERROR = """
select distinct greatest(0.1, round(error_sd_deg, 1)) as error_sd_deg from results.angle_precision
where error_sd_deg is not null
"""
ERROR_OWNERS = """
select distinct coalesce(h.owner_ref, '') as owner from derived.foot_steps s
join accepted.horses h on h.horse_id = s.horse_id where s.angle_change_deg is not null and not {known}
"""

EARLIER = """
select s.share_id, s.summary, s.vet_practice, s.shared_at::date as shared_on, s.sha256, s.as_of, s.counted_to,
    h.horse_id, a.horse_name
from ledger.shares s
left join ledger.share_horses h on h.share_id = s.share_id
left join accepted.horses a on a.horse_id = h.horse_id
order by s.share_id, h.horse_id
"""


def literal(value: str | date | None) -> str:
    """A value as SQL."""
    if value is None:
        return "null::varchar"
    if isinstance(value, date):
        return f"date '{value.isoformat()}'"
    return "'" + value.replace("'", "''") + "'"
