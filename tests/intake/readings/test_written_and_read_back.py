"""A declared value, written in any of the trade's ways, is read back as itself. Units: 1 in = 25.4 mm exactly."""

from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from pipelines.intake.spellings import Habits, read
from schemas.exports import EXPORT_TABLES
from schemas.fields import MEANINGS
from schemas.synonyms import SYNONYMS

OWN_WAY = ("height_hands", "microchip", "ueln")
COLUMNS = {
    name: meaning
    for table in EXPORT_TABLES.values()
    for name, meaning in table.columns().items()
    if (meaning.kind != "text" or name in OWN_WAY) and meaning == MEANINGS[name]
} | {"foot_or_all": MEANINGS["foot_or_all"]}
WORDS = sorted((name, word) for name, meaning in COLUMNS.items() for word in meaning.words)
OTHERS = sorted(
    (name, other, word) for name, words in SYNONYMS.items() for word, others in words.items() for other in others
)
MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
TENTHS = st.integers(400, 1200).map(lambda tenths: tenths / 10)
DAYS = st.dates(date(2010, 1, 1), date(2026, 11, 25))


def value(cell, column, **habits):
    return read(cell, column, MEANINGS[column], Habits(latest_year=2026, **habits)).value


@settings(deadline=None)
@given(
    st.sampled_from(WORDS),
    st.sampled_from(["_", " ", "-", "/", ".", "  "]),
    st.sampled_from([str, str.upper, str.title]),
)
def test_a_declared_word_in_any_case_and_with_any_mark_between(pair, mark, form):
    name, word = pair
    assert value(form(word.replace("_", mark)), name) == word


@settings(deadline=None)
@given(st.sampled_from(OTHERS), st.sampled_from([str, str.upper, str.title]), st.sampled_from(["{}", " {} ", "{}."]))
def test_another_word_in_any_case(trio, form, around):
    name, other, word = trio
    wanted = word if MEANINGS[name].words else int(word)
    assert value(around.format(form(other)), name) == wanted


@settings(deadline=None)
@given(TENTHS, st.sampled_from(["{}", "{} mm", "{}mm", " {} MM"]), st.booleans())
def test_a_length_in_mm(mm, form, comma):
    text = form.format(mm)
    assert value(text.replace(".", ",") if comma else text, "toe_arrival_mm") == mm


@settings(deadline=None)
@given(TENTHS, st.sampled_from(["{} cm", "{}cm", "{} centimetres"]), st.booleans())
def test_a_length_in_cm(mm, form, comma):
    text = form.format(f"{mm / 10:.2f}")
    assert value(text.replace(".", ",") if comma else text, "toe_arrival_mm") == mm


@settings(deadline=None)
@given(st.integers(2, 5), st.integers(1, 7), st.sampled_from(["{} {}/8 in", '{} {}/8"', "{}-{}/8 inches", "{} {}/8''"]))
def test_a_length_in_inches_and_eighths(whole, eighths, form):
    found = value(form.format(whole, eighths), "toe_arrival_mm")
    assert abs(found - (whole + eighths / 8) * 25.4) < 1e-6


@settings(deadline=None)
@given(
    DAYS, st.sampled_from(["/", "-", ".", " "]), st.sampled_from(["", " 00:00:00", " 9:15", "T14:30Z"]), st.booleans()
)
def test_a_numeric_day_in_the_order_of_its_file(day, mark, time, day_first):
    parts = (day.day, day.month) if day_first else (day.month, day.day)
    assert value(mark.join(map(str, (*parts, day.year))) + time, "visit_date", day_first=day_first) == day


@settings(deadline=None)
@given(
    DAYS, st.sampled_from(["{d} {m} {y}", "{m} {d}, {y}", "{d}-{m}-{y}", "{d}-{m}-{s}", "{y}-{m}-{d}", "{m} {d} {s}"])
)
def test_a_day_with_its_month_written_out_needs_no_order(day, form):
    text = form.format(d=day.day, m=MONTHS[day.month - 1], y=day.year, s=f"{day.year % 100:02}")
    assert value(text, "visit_date") == day


@settings(deadline=None)
@given(DAYS)
def test_a_spreadsheets_serial_number(day):
    assert value(str((day - date(1899, 12, 30)).days), "visit_date") == day


@settings(deadline=None)
@given(DAYS, st.booleans())
def test_without_an_order_a_numeric_day_is_read_right_or_not_at_all(day, day_first):
    parts = (day.day, day.month) if day_first else (day.month, day.day)
    assert value("/".join(map(str, (*parts, day.year))), "visit_date") in (day, None)


@settings(deadline=None)
@given(
    st.integers(5, 299), st.sampled_from(["{h}h{m:02}", "{h}:{m:02}", "{h} hr {m}", "{t} mins", "{h}:{m:02}:00", "{t}"])
)
def test_minutes(total, form):
    assert value(form.format(h=total // 60, m=total % 60, t=total), "minutes") == total


@settings(deadline=None)
@given(st.integers(9, 19), st.integers(0, 3), st.sampled_from(["{}.{}", "{}.{}hh", "{} {}", "{},{} hands", "{}h{}"]))
def test_hands(hands, inches, form):
    assert value(form.format(hands, inches), "height_hands") == f"{hands}.{inches}"


@settings(deadline=None)
@given(st.sampled_from(sorted(COLUMNS)), st.text(max_size=30) | st.text("0123456789/.,-:hcminE+ '\"½", max_size=200))
def test_no_cell_whatever_makes_reading_fail_and_a_figure_stays_one(column, cell):
    found = read(cell, column, COLUMNS[column], Habits(True, 2026))
    assert not isinstance(found.value, int | float) or abs(found.value) < 2**53


@settings(deadline=None)
@given(
    st.sampled_from(sorted(name for name, m in COLUMNS.items() if m.kind in ("integer", "number"))),
    st.integers(16, 5000),
)
def test_a_figure_longer_than_any_measure_is_no_number(column, digits):
    assert value("9" * digits, column) is None
    assert value("1e30", column) is None


@settings(deadline=None)
@given(st.data())
def test_what_was_read_once_reads_as_itself_and_is_not_called_changed(data):
    name, other, _ = data.draw(st.sampled_from(OTHERS))
    first = value(other, name)
    if MEANINGS[name].words and first is not None:
        assert read(first, name, MEANINGS[name], Habits())[:2] == (first, None)
    else:
        assert first is None or value(str(first), name) == first


AMONG = [("mass_kg", "lb"), ("mass_kg", "stone"), ("toe_arrival_mm", "cm"), ("toe_arrival_mm", "in"),
         ("web_mm", "in"), ("branch_past_heel_mm", "in"), ("travel_km", "miles"),
         ("planned_weeks", "days"), ("minutes", "h")]  # fmt: skip


@settings(deadline=None)
@given(st.sampled_from(AMONG), st.integers(0, 15_000).map(lambda tenths: f"{tenths / 10:g}"))
def test_a_bare_number_among_another_unit_is_read_where_the_limits_leave_one_reading_and_never_else(among, bare):
    column, unit = among
    found = read(f"{bare} (no unit, others in {unit})", column, MEANINGS[column], Habits(latest_year=2026))
    ways = {"own": value(bare, column), "other": value(f"{bare} {unit}", column)}
    low, high = MEANINGS[column].low, MEANINGS[column].high
    possible = {way: number for way, number in ways.items() if number is not None and low <= number <= high}
    if len(set(possible.values())) == 2:
        assert (found.value, bool(found.why)) == (None, True)
    elif set(possible) == {"other"}:
        assert (found.value, bool(found.doubt)) == (possible["other"], True)
    else:
        assert (found.value, found.doubt) == (ways["own"], None)
