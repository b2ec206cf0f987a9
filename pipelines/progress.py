"""What a terminal shows while a run is under way: the step at work and its seconds."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from rich.console import Console
from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn


@contextmanager
def steps_on_terminal() -> Iterator[Callable[..., Any]]:
    """A step runner that shows each step on standard error while it runs; the lines go away at the end."""
    columns = SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:

        def step(name: str, work: Callable[..., Any], *args: Any, **options: Any) -> Any:
            line = progress.add_task(name, total=None)
            try:
                return work(*args, **options)
            finally:
                progress.update(line, total=1, completed=1)

        yield step
