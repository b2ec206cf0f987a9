"""`python -m schemas` rewrites README.md and tables/*.json in this folder from the declarations."""

from pathlib import Path

from schemas.dictionary import dictionary, table_schemas


def write(folder: Path) -> None:
    """Write the data dictionary and the Table Schemas into folder; files of tables that are gone are removed."""
    schemas = table_schemas()
    (folder / "README.md").write_text(dictionary(), encoding="utf-8")
    (folder / "tables").mkdir(exist_ok=True)
    for old in (folder / "tables").glob("*.json"):
        if old.name not in schemas:
            old.unlink()
    for name, text in schemas.items():
        (folder / "tables" / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write(Path(__file__).parent)
