"""An export as people keep it → rows accepted, rows set aside and why."""

from pipelines.intake.export import read_export

__all__ = ["read_export"]
