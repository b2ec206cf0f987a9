"""Cells that mean two things, say nothing, or have a way of writing of their own. Common practice, no source.

Each table stands as column | cell | what comes of it. Heights: a hand is 10.16 cm, so 152 cm is 59.8 inches, 15.0.
"""

TWO_MEANINGS = """
    foot                | HF            | LH or RH
    foot                | fr            | RF
    foot                | FL            | LF
    foot                | F             | LF or RF
    foot                | off           | RF or RH
    foot                | n             | LF or LH
    foot                | offside       | RF or RH
    foot                | left          | LF or LH
    foot                | hinds         | LH and RH
    foot                | L/R           | two rows
    work                | pulled        | take_off
    work                | off           | take_off
    work                | shoe off      | take_off
    work                | pulled shoe   | take_off
    fee                 | 45 € (others in £)            | in £
    discipline          | hunter        | hunting
    discipline          | roping        | team_roping
    sex                 | m             | mare
    sex                 | f             | filly
    bruise_grade        | clear         | 0 or 2
    bruise_grade        | Clear         | 0 or 2
    bruise_grade        | yes           | 1 faint
    bruise_grade        | corn          | 1 faint
    bruise_site         | heel          | heel_medial
    bruise_site         | seat of corn  | heel_lateral
    wall_side           | L             | medial or lateral
    shoe_style          | three-quarter | fullered
    clips               | yes           | toe or quarter
    pad                 | yes           | rim or full
    angle_arrival_deg   | 52-54         | one figure
    angle_arrival_deg   | 50/51         | one figure
    angle_arrival_deg   | 52 or 53      | one figure
    fee                 | 1,050         | 1050 or 1.05
    fee                 | 1.200         | 1200 or 1.2
    fee                 | £1.250        | 1250 or 1.25
    fee                 | 1,234         | 1234 or 1.2340
    travel_km           | 1.000         | 1000 or 1
    mass_kg             | 1150 (no unit, others in lb)  | 1150 lb or 1150 kg
    travel_km           | 12 (no unit, others in miles) | 12 miles or 12 km
    branch_past_heel_mm | 0.5 (no unit, others in in)   | 0.5 in or 0.5 mm
    minutes             | 2 (no unit, others in h)      | 2 h or 2 min
    planned_weeks       | 14 (no unit, others in days)  | 14 days or 14 weeks
    travel_km           | 12m           | km
    planned_weeks       | 2 months      | weeks
    planned_weeks       | 6-8           | one figure
    nails_medial        | 3/4           | one figure
    nails_medial        | about 3       | count again
    branch_past_heel_mm | 1/2           | in
    branch_past_heel_mm | 3/8           | in
    branch_past_heel_mm | ½             | in
    branch_past_heel_mm | 1 1/2         | in
    expansion_mm        | 1/8           | in
    web_mm              | 3/4           | in
    minutes             | 1.15h         | minutes
    minutes             | 1.30 hrs      | minutes
    minutes             | 9:15          | minutes
    minutes             | 9h30          | minutes
    visit_date          | 03/04/2024    | 2026-03-05
    visit_date          | 3.4.24        | 2026-03-05
    visit_date          | 24-03-04      | 2026-03-05
    visit_date          | 3rd May       | year
    visit_date          | Apr-24        | year
"""

BLANK = """
    height_hands        | -
    height_hands        | n/a
    height_hands        | ?
    height_hands        | not known
    microchip           | -
    microchip           | n/a
    microchip           | none
    microchip           | not chipped
    microchip           | unknown
    ueln                | -
    ueln                | none
    ueln                | No passport
    bruise_grade        | -
    bruise_grade        | not looked
    bruise_grade        | not checked
    angle_arrival_deg   | none recorded
    angle_arrival_deg   | #N/A
    angle_arrival_deg   | .
    wall_state          | unknown
    found_off           | unknown
    sole_relief         | ?
"""

READ = """
    arrival             | b/f                   | bare
    arrival             | B.F.                  | bare
    arrival             | threw                 | off
    arrival             | threw it              | off
    arrival             | Threw a shoe          | off
    arrival             | thrown                | off
    work                | re-nail               | reset
    work                | renailed              | reset
    work                | nailed back on        | reset
    work                | Re-nailed             | reset
    height_hands        | 62 in                 | 15.2
    height_hands        | 60"                   | 15.0
    height_hands        | 57 inches             | 14.1
    height_hands        | 15.2 hands            | 15.2
    height_hands        | 158 cm                | 15.2
    sole_relief         | √                     | yes
    mass_kg             | 1,100 lb              | 498.952
    mass_kg             | 1.150 kg              | 1150
    toe_arrival_mm      | 8.4 (no unit, others in cm)   | 84
    toe_arrival_mm      | 84 (no unit, others in cm)    | 84
    planned_weeks       | 42 (no unit, others in days)  | 6
    height_hands        | 152 cm                | 15.0
    height_hands        | 162.56cm              | 16.0
    height_hands        | 147.32 cms            | 14.2
    height_hands        | 1.475 m               | 14.2
    height_hands        | 15½                   | 15.2
    height_hands        | 16 hh 3               | 16.3
    microchip           | 985 000 000 000 001   | 985000000000001
    microchip           | 985000000000001.0     | 985000000000001
    minutes             | 1:15:00               | 75
    minutes             | 0:45:00               | 45
    minutes             | half an hour          | 30
    minutes             | quarter of an hour    | 15
    minutes             | an hour               | 60
    minutes             | 1/2 h                 | 30
    minutes             | 1 1/2 hrs             | 90
    minutes             | 1.25 h                | 75
    bruise_grade        | no bruise             | 0
    bruise_grade        | all clear             | 0
    bruise_grade        | 1 faint               | 1
    bruise_grade        | 2 clear               | 2
    bruise_grade        | 3 deep or painful     | 3
    foot                | n/s fore              | LF
    foot                | N/S/H                 | LH
    foot                | o/s hind              | RH
    foot                | OSF                   | RF
    arrival             | lost shoe             | off
    branch_past_heel_mm | 12 1/2                | 12.5
    branch_past_heel_mm | 1/2 in                | 12.7
    toe_arrival_mm      | 84½                   | 84.5
    visit_date          | 2026-Mar-05           | 2026-03-05
    visit_date          | 2026 Mar 5            | 2026-03-05
    sole_relief         | ✔                     | yes
    sole_relief         | ✗                     | no
"""

NO_NUMBER = """
    height_hands        | 62.5 in
    height_hands        | 62
    height_hands        | 158
    fee                 | 1,050,25
    fee                 | 1.050.25
    angle_arrival_deg   | 52.0.1
    height_hands        | 15.5
    height_hands        | 15.2ish
    height_hands        | 152
    microchip           | 9.85E+14
    microchip           | 98500000000001
"""


def drawn(table: str) -> list[list[str]]:
    """The rows of a table: its cells without the spaces that draw it."""
    return [[cell.strip() for cell in line.split("|")] for line in table.strip().splitlines()]
