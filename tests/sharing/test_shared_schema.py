"""The allow-list: what a summary may hold is declared, and nothing private is."""

import pytest

from schemas.fields import MEANINGS
from schemas.shared import SHARED_TABLES, Asks

KEPT_BACK = {
    "fee", "minutes", "notes", "travel_km", "handling", "owner_ref", "owner_name", "owner_contact", "yard", "farrier",
    "own_note", "share_with_vet", "horse_id", "visit_id", "loss_id", "spell_id", "source_file", "row_json",
}  # fmt: skip
TABLES = [*SHARED_TABLES.items(), ("asks as written", Asks)]


@pytest.mark.parametrize(("name", "table"), SHARED_TABLES.items(), ids=SHARED_TABLES)
def test_no_shared_table_declares_what_stays_in_the_practice(name, table):
    assert not KEPT_BACK & set(table.columns()), name


@pytest.mark.parametrize(("name", "table"), TABLES, ids=[name for name, _ in TABLES])
def test_no_shared_table_declares_a_private_meaning(name, table):
    assert [column for column, meaning in table.columns().items() if meaning.private] == [], name


def test_every_private_meaning_is_among_those_that_are_kept_back_or_in_the_ledger():
    private = {name for name, meaning in MEANINGS.items() if meaning.private}
    assert {"owner_name", "owner_contact", "notes"} <= private <= KEPT_BACK
