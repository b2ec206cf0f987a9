"""Draw practice.xlsx and have LibreOffice save it as .ods and again as .xlsx: `python tests/intake/files/make.py`.

The saved files are committed, so that the tests need no spreadsheet program. A blank row stands over each header and
one within the horses; dates, numbers, yes/no and a chip are typed cells, as a spreadsheet program keeps them.
"""

import subprocess
import tempfile
from datetime import date
from pathlib import Path

import xlsxwriter

HERE = Path(__file__).parent
TABLES = {
    "Horses": [
        ["horse_id", "horse_name", "discipline", "height_hands", "microchip", "share_with_vet"],
        ["H1", "Made Up Ash", "eventing", 15.2, 985102001234567, True],
        [],
        ["H2", "Made Up Bay", "dressage", 16, "056098100123456", False],
    ],
    "Visits ": [
        ["visit_id", "horse_id", "visit_date", "visit_kind", "minutes"],
        ["V1", "H1", date(2025, 1, 1), "routine", 60],
        ["V2", "H2", date(2025, 1, 2), "first", 42.5],
    ],
    "Feet": [
        ["visit_id", "foot", "arrival", "work", "sole_relief", "web_mm", "nails_medial"],
        ["V1", "LF", "bare", "fit_new", True, 20.5, 3],
        ["V2", "RH", "bare", "trim"],
        ["V2", "LH", "bare", "drawn", True, 3],
    ],
    "Prices": [["what", "how much"], ["full set", 180]],
    "Sheet5": [],
}


def draw(path: Path) -> None:
    with xlsxwriter.Workbook(path) as book:
        day = book.add_format({"num_format": "dd/mm/yyyy"})
        for name, lines in TABLES.items():
            sheet = book.add_worksheet(name)
            for row, line in enumerate(lines, start=1):
                for column, value in enumerate(line):
                    sheet.write(row, column, value, day if isinstance(value, date) else None)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        drawn = Path(folder) / "practice.xlsx"
        draw(drawn)
        for kind in ("ods", "xlsx:Calc MS Excel 2007 XML"):
            subprocess.run(["soffice", "--headless", "--convert-to", kind, "--outdir", HERE, drawn], check=True)


if __name__ == "__main__":
    main()
