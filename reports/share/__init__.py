"""What a vet reads: one summary drawn from the tables of `schemas.shared` and nothing else."""

from reports.share.pages import write_pages
from reports.share.pdf import write_pdf

__all__ = ["write_pages", "write_pdf"]
