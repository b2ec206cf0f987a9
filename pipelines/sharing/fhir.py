"""The summary as an HL7 FHIR R5 Bundle.

A Patient a horse (with the animal extension), an Observation a finding or a figure, a Communication a question.

Codes are plain words of our own, units are UCUM; no licensed code system is used. Dates are days, never moments.
Source: HL7 FHIR R5, hl7.org/fhir/R5 (Patient, Observation, Communication, Bundle; extension
patient-animal), from memory.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid5

import polars as pl

CODES = "urn:shoeing:finding"
UCUM = "http://unitsofmeasure.org"
ANIMAL = "http://hl7.org/fhir/StructureDefinition/patient-animal"
ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
FOOT_WORDS = {"LF": "left fore foot", "RF": "right fore foot", "LH": "left hind foot", "RH": "right hind foot"}

# Code, words, columns of figure and limits, unit, and what a column is to be multiplied by for it. 10*-3/d: UCUM for
# so many in a thousand days.
FIGURES = (
    ("shoe-loss-rate", "Shoes lost per 1,000 shoe-days", ("per_1000_days", "per_1000_low", "per_1000_high"),
     "10*-3/d", 1),
    ("bruised-looks", "Share of looks that found a sole bruise", ("bruised_share", "bruised_low", "bruised_high"),
     "%", 100),
)  # fmt: skip

Resource = dict[str, Any]


def write_fhir(tables: dict[str, pl.DataFrame], path: Path) -> Path:
    """Write the Bundle as JSON. tables: every table of `schemas.shared`, by name."""
    path.write_text(json.dumps(bundle(tables), indent=1, ensure_ascii=False, allow_nan=False) + "\n", encoding="utf-8")
    return path


def bundle(tables: dict[str, pl.DataFrame]) -> Resource:
    """The Bundle: ids follow from the summary's name, so that the same summary gives the same file."""
    cover = tables["cover"].to_dicts()[0]
    key = f"{cover['vet_practice']}/{cover['summary']}"
    resources = [
        *(_patient(key, row) for row in tables["horses"].to_dicts()),
        *(figure for row in tables["horses"].to_dicts() for figure in _figures(key, row, cover)),
        *(
            {"resourceType": "Observation", "id": _id(key, kind, number)} | observation
            for kind, make in OBSERVATIONS.items()
            for number, observation in enumerate(found for row in tables[kind].to_dicts() for found in make(key, row))
        ),
        *(_question(key, number, row) for number, row in enumerate(tables["asks"].to_dicts())),
    ]
    return {
        "resourceType": "Bundle",
        "identifier": {"system": CODES, "value": cover["summary"]},
        "type": "collection",
        "timestamp": f"{cover['as_of'].isoformat()}T00:00:00Z",
        "entry": [{"fullUrl": f"urn:uuid:{resource['id']}", "resource": resource} for resource in resources],
    }


def _id(key: str, kind: str, number: int) -> str:
    return str(uuid5(NAMESPACE_URL, f"{CODES}/{key}/{kind}/{number}"))


def _patient(key: str, row: dict[str, Any]) -> Resource:
    numbers = [
        {"type": {"text": name}, "value": row[column]}
        for column, name in (("microchip", "microchip (ISO 11784)"), ("ueln", "universal equine life number"))
        if row[column]
    ]
    born = {"birthDate": str(row["foaled_year"])} if row["foaled_year"] else {}
    species = {"url": "species", "valueCodeableConcept": _coded("horse", "Horse")}
    return {
        "resourceType": "Patient",
        "id": _id(key, "horses", row["horse_no"]),
        "extension": [{"url": ANIMAL, "extension": [species]}],
        "name": [{"text": row["horse_name"]}],
        **({"identifier": numbers} if numbers else {}),
        **born,
    }


def _figures(key: str, row: dict[str, Any], cover: dict[str, Any]) -> Iterator[Resource]:
    """What was counted of the whole time told of, with its 95 % limits; left out where nothing was counted."""
    first, last = cover["since"] or cover["first_day"] or cover["as_of"], cover["as_of"]
    for code, words, columns, unit, times in FIGURES:
        value, *limits = (row[column] for column in columns)
        if value is not None:
            yield {
                "resourceType": "Observation",
                "id": _id(key, code, row["horse_no"]),
                "status": "final",
                "code": _coded(code, words),
                "subject": {"reference": f"urn:uuid:{_id(key, 'horses', row['horse_no'])}"},
                "effectivePeriod": {"start": first.isoformat(), "end": last.isoformat()},
                "valueQuantity": _quantity(round(times * value, 4), unit),
                "component": [
                    {"code": _coded(f"{end}-95", f"{end.title()} 95 % limit"),
                     "valueQuantity": _quantity(round(times * limit, 4), unit)}
                    for end, limit in zip(("lower", "upper"), limits, strict=True)
                ],
            }  # fmt: skip


def _coded(code: str, words: str) -> Resource:
    return {"coding": [{"system": CODES, "code": code, "display": words}], "text": words}


def _observation(key: str, row: dict[str, Any], code: str, words: str, day: Any) -> Resource:
    return {
        "status": "final",
        "code": _coded(code, words),
        "subject": {"reference": f"urn:uuid:{_id(key, 'horses', row['horse_no'])}"},
        "effectiveDateTime": day.isoformat(),
        "bodySite": _coded(row["foot"], FOOT_WORDS[row["foot"]]),
    }


def _quantity(value: float, unit: str) -> Resource:
    return {"value": value, "unit": unit, "system": UCUM, "code": unit}


def _reading(key: str, row: dict[str, Any]) -> Iterator[Resource]:
    for column, code, words, unit in (
        ("angle_deg", "dorsal-wall-angle", "Angle of the dorsal hoof wall to the ground", "deg"),
        ("toe_mm", "toe-length", "Coronet to ground at the toe", "mm"),
    ):
        if row[column] is not None:
            stage = "before the trim" if row["stage"] == "arrival" else "when the foot was finished"
            yield _observation(key, row, code, words, row["visit_date"]) | {
                "valueQuantity": _quantity(row[column], unit),
                "method": _coded(row["stage"], stage),
            }


def _look(key: str, row: dict[str, Any]) -> Iterator[Resource]:
    found = _observation(key, row, "sole-bruise-grade", "Sole bruise, grade 0 to 3", row["visit_date"])
    if not row["looked"]:
        reason = {"coding": [{"system": ABSENT, "code": "not-performed"}], "text": "not looked at"}
        yield found | {"dataAbsentReason": reason}
        return
    where = row["bruise_site"]
    site = {"component": [{"code": _coded("site", "Site"), "valueString": where.replace("_", " ")}]} if where else {}
    yield found | {"valueInteger": row["bruise_grade"]} | site


def _loss(key: str, row: dict[str, Any]) -> Iterator[Resource]:
    found = _observation(key, row, "shoe-lost", "Shoe lost between the two days", row["lost_by"])
    del found["effectiveDateTime"]
    period = {"start": row["lost_after"].isoformat(), "end": row["lost_by"].isoformat()}
    cause = row["cause"] or "unknown"
    yield found | {
        "effectivePeriod": period,
        "valueCodeableConcept": _coded(cause.replace("_", "-"), f"cause as reported: {cause.replace('_', ' ')}"),
        "component": [
            {"code": _coded(code, words), "valueQuantity": _quantity(row[column], "d")}
            for column, code, words in (
                ("days_least", "days-on-least", "Days on at least"),
                ("days_most", "days-on-most", "Days on at most"),
            )
        ],
    }


def _question(key: str, number: int, row: dict[str, Any]) -> Resource:
    """A Communication: it holds what was said and orders nothing. Its foot is in words: there is no field for one."""
    foot = f"{FOOT_WORDS[row['foot']].capitalize()}: " if row["foot"] else ""
    return {
        "resourceType": "Communication",
        "id": _id(key, "asks", number),
        "status": "completed",
        "topic": _coded("question-to-the-vet", "Question of the farrier to the vet"),
        "subject": {"reference": f"urn:uuid:{_id(key, 'horses', row['horse_no'])}"},
        **({"sent": row["asked_on"].isoformat()} if row["asked_on"] else {}),
        "payload": [{"contentCodeableConcept": {"text": foot + row["question"]}}],
    }


OBSERVATIONS = {"readings": _reading, "bruise_looks": _look, "losses": _loss}
