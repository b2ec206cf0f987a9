"""How people write what a column holds: each distinct cell is read once, and what was changed on the way is named."""

from pipelines.intake.spellings.reading import Habits, Reading, read

__all__ = ["Habits", "Reading", "read"]
