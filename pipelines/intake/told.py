"""How a sheet was understood, in one line."""

from typing import NamedTuple

MOST_NAMED = 12
NOT_READ = "not read yet"
"""What is said of a sheet whose headers alone were looked at."""


class Told(NamedTuple):
    """One sheet: what it was taken for, its records, how many columns were understood and which were not.

    named: headers that are not the declared names, with the column each was taken for. settled: those of them that
    could mean several columns.
    """

    source: str
    says: str
    rows: int
    understood: int
    unknown: tuple[str, ...]
    named: tuple[tuple[str, str], ...]
    settled: tuple[tuple[str, str], ...] = ()

    def line(self) -> str:
        """The line a person reads."""
        columns = self.understood + len(self.unknown)
        rows = f"{self.rows:,} {'row' if self.rows == 1 else 'rows'}"
        text = f"{self.source}: {self.says}, {rows}, {self.understood} of {columns} columns understood"
        if self.settled:
            read_as = ", ".join(f'"{header}" read as {column}' for header, column in self.settled)
            text = f"{text}; {read_as}"
        if not self.unknown:
            return text
        more = f" and {len(self.unknown) - MOST_NAMED} more" if len(self.unknown) > MOST_NAMED else ""
        return f"{text}; not understood: {', '.join(self.unknown[:MOST_NAMED])}{more}"
