"""Files that other programs read: CSV with a Data Package, and a FHIR bundle."""

import json
from datetime import date

import polars as pl
import pytest

from pipelines.sharing.csv_files import read_csv_file, write_csv_files
from pipelines.sharing.fhir import bundle, write_fhir
from schemas.shared import SHARED_TABLES
from tests.sharing.test_gather import whole


@pytest.fixture
def tables():
    made = whole()
    named = pl.lit("=HYPERLINK(A1)")
    return made | {"horses": made["horses"].with_columns(horse_name=named)}


def test_every_csv_file_reads_back_to_the_table_it_was_written_from(tables, tmp_path):
    write_csv_files(tables, tmp_path)
    for name, declared in SHARED_TABLES.items():
        assert read_csv_file(tmp_path / f"{name}.csv", declared).equals(tables[name]), name
    assert "'=HYPERLINK" in (tmp_path / "horses.csv").read_text(encoding="utf-8")


def test_the_data_package_is_valid_by_the_frictionless_library(tables, tmp_path):
    from frictionless import Package

    write_csv_files(tables, tmp_path)
    report = Package(tmp_path / "datapackage.json").validate()
    assert report.valid, report.flatten(["resourceName", "rowNumber", "fieldName", "message"])
    assert [task.name for task in report.tasks] == list(SHARED_TABLES)
    assert report.stats["errors"] == 0


def test_the_data_package_check_can_fail(tables, tmp_path):
    from frictionless import Package

    write_csv_files(tables, tmp_path)
    broken = (tmp_path / "visits.csv").read_text(encoding="utf-8").replace("routine", "holiday")
    (tmp_path / "visits.csv").write_text(broken, encoding="utf-8")
    assert not Package(tmp_path / "datapackage.json").validate().valid


def test_the_fhir_bundle_is_valid_r5_by_the_fhir_library(tables, tmp_path):
    from fhir.resources.bundle import Bundle

    text = write_fhir(tables, tmp_path / "fhir.json").read_text(encoding="utf-8")
    parsed = Bundle.model_validate_json(text)
    kinds = [entry.resource.get_resource_type() for entry in parsed.entry]
    looks, losses = tables["bruise_looks"].height, tables["losses"].height
    assert kinds.count("Patient") == 1
    # six angles and two toes are on record, and of the horse a loss rate and a share of looks
    assert kinds.count("Observation") == 6 + 2 + looks + losses + 2


def test_a_horses_own_figures_stand_in_the_bundle_with_their_limits(tables):
    figures = {
        one["code"]["text"]: [one["valueQuantity"], *(part["valueQuantity"] for part in one["component"])]
        for one in (entry["resource"] for entry in bundle(tables)["entry"])
        if one["resourceType"] == "Observation" and "effectivePeriod" in one and "bodySite" not in one
    }
    row = tables["horses"].to_dicts()[0]
    rate, share = (
        [round(times * row[name], 4) for name in names]
        for times, names in (
            (1, ("per_1000_days", "per_1000_low", "per_1000_high")),
            (100, ("bruised_share", "bruised_low", "bruised_high")),
        )
    )
    assert {name: [part["value"] for part in parts] for name, parts in figures.items()} == {
        "Shoes lost per 1,000 shoe-days": rate,
        "Share of looks that found a sole bruise": share,
    }
    assert rate[1] < rate[0] < rate[2]


def test_questions_to_the_vet_are_communications_about_their_horse(tables):
    from fhir.resources.bundle import Bundle

    asks = pl.DataFrame(
        [(1, date(2025, 5, 1), "LF", "Worth a look?"), (1, None, None, "Sound?")],
        schema=SHARED_TABLES["asks"].dtypes(),
        orient="row",
    )
    made = bundle(tables | {"asks": asks})
    parsed = Bundle.model_validate_json(json.dumps(made))
    patient, *others = (entry.resource for entry in parsed.entry)
    said = [one for one in others if one.get_resource_type() == "Communication"]
    assert [one.payload[0].contentCodeableConcept.text for one in said] == [
        "Left fore foot: Worth a look?", "Sound?"
    ]  # fmt: skip
    assert [str(one.sent) for one in said] == ["2025-05-01", "None"]
    assert {one.subject.reference for one in said} == {f"urn:uuid:{patient.id}"}


def test_a_bundle_that_breaks_the_standard_is_refused_by_the_library(tables):
    from fhir.resources.bundle import Bundle
    from pydantic import ValidationError

    made = bundle(tables)
    del made["entry"][1]["resource"]["code"]
    with pytest.raises(ValidationError):
        Bundle.model_validate_json(json.dumps(made))


def test_the_patient_is_an_animal_and_units_are_ucum_and_no_licensed_code_is_used(tables):
    made = bundle(tables)
    patient = made["entry"][0]["resource"]
    assert patient["extension"][0]["url"] == "http://hl7.org/fhir/StructureDefinition/patient-animal"
    quantities = [entry["resource"]["valueQuantity"] for entry in made["entry"] if "valueQuantity" in entry["resource"]]
    assert {(q["system"], q["code"]) for q in quantities} == {
        ("http://unitsofmeasure.org", code) for code in ("deg", "mm", "10*-3/d", "%")
    }  # fmt: skip
    systems = set(_values(made, "system"))
    assert systems == {
        "urn:shoeing:finding",
        "http://unitsofmeasure.org",
        "http://terminology.hl7.org/CodeSystem/data-absent-reason",
    }


def test_a_foot_not_looked_at_has_a_reason_and_no_grade(tables):
    grades = [
        entry["resource"] for entry in bundle(tables)["entry"]
        if entry["resource"].get("code", {}).get("text", "").startswith("Sole bruise")
    ]  # fmt: skip
    absent = [one for one in grades if "dataAbsentReason" in one]
    assert len(absent) == 7
    assert not any("valueInteger" in one for one in absent)
    assert all("valueInteger" in one for one in grades if one not in absent)


def test_the_same_summary_gives_the_same_bundle_and_no_two_resources_share_an_id(tables):
    made = bundle(tables)
    assert made == bundle(tables)
    urls = [entry["fullUrl"] for entry in made["entry"]]
    assert len(set(urls)) == len(urls)


def _values(node, key: str):
    if isinstance(node, dict):
        yield from (value for name, value in node.items() if name == key)
        for value in node.values():
            yield from _values(value, key)
    elif isinstance(node, list):
        for value in node:
            yield from _values(value, key)
