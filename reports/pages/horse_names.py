"""What a horse is called on pages that name several, and where its own page is."""

from reports.pages.horse import horse_files
from reports.picking import Results, labelled, rows

TABLES = ("horse_list", "horse_losses", "angle_gaps", "angle_changes")


class Herd:
    """Names and pages of every horse that a result names; horses that share a name are told apart by their codes."""

    def __init__(self, results: Results):
        known = {row["horse_id"]: row for table in reversed(TABLES) for row in rows(results, table)}
        self._names = {row["horse_id"]: row["label"] for row in labelled([known[key] for key in sorted(known)])}
        self._files = horse_files(results)

    def name(self, horse_id: str) -> str:
        """The horse's name, or its code where no name is on record."""
        return self._names.get(horse_id, horse_id)

    def file(self, horse_id: str) -> str:
        """The file of its page; blank where it has none."""
        return self._files.get(horse_id, "")
