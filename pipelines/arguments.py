"""Words of a command line that are read the same way by several commands."""

from datetime import date

from schemas.problem import Problem


def day(text: str, option: str) -> date:
    """The day an option names. Raises Problem where it is no date written as YYYY-MM-DD."""
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise Problem(f"{option} takes a day as YYYY-MM-DD, not {text}") from None
