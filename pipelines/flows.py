"""The same build as a Prefect flow: one task a step, so that runs are named, retried and seen.

Nothing else imports Prefect. It runs in a state folder of its own, offline, with its usage reports off.
"""

import logging
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

READING_RETRIES = 2
READING_DELAY_SECONDS = 1
READING_STEPS = ("read and check",)
STARTING_SECONDS = 180  # Prefect waits 20 for its own server: too short for a busy laptop


def settle_prefect(state: Path) -> None:
    """Point Prefect at `state` and switch off all it would send; must run before Prefect is imported.

    What the person has set in the environment is kept, so that a server of theirs is used if they name one. Prefect
    logs no failure: an error goes up to the caller, who says it once.
    """
    quiet = {
        "PREFECT_HOME": str(state),
        "PREFECT_SERVER_ANALYTICS_ENABLED": "false",
        "DO_NOT_TRACK": "1",
        "PREFECT_LOGGING_LEVEL": "CRITICAL",
        "PREFECT_LOGGING_TO_API_ENABLED": "false",
        "PREFECT_SERVER_LOGGING_LEVEL": "CRITICAL",
        "PREFECT_SERVER_EPHEMERAL_STARTUP_TIMEOUT_SECONDS": str(STARTING_SECONDS),
    }
    for name, value in quiet.items():
        os.environ.setdefault(name, value)


def publish_as_flow(exports: Sequence[Path], store_path: Path | None, site: Path, settings: Any, state: Path) -> Any:
    """`build.publish` with each step as a Prefect task; same arguments, same outcome, same errors.

    state: folder for Prefect's own files.
    """
    settle_prefect(state)
    from prefect import flow
    from prefect.settings import PREFECT_FLOWS_HEARTBEAT_FREQUENCY, temporary_settings

    from pipelines.build import publish

    for service in ("EventsWorker", "APILogWorker"):
        logging.getLogger(service).setLevel(logging.CRITICAL)  # on a busy machine they tell how much is left to send
    name = f"publish {', '.join(path.name for path in exports) or 'the store'}"

    @flow(name="shoeing outcomes", flow_run_name=name, validate_parameters=False)
    def shoeing_outcomes() -> Any:
        return publish(exports, store_path, site, settings, step=as_task)

    with temporary_settings({PREFECT_FLOWS_HEARTBEAT_FREQUENCY: None}):
        start_prefect()
        return shoeing_outcomes()


def start_prefect() -> None:
    """Start Prefect's own server, or reach the one the person names.

    Raises Problem if it does not come up; nothing has been read or written then.
    """
    from prefect import get_client

    from schemas.base import Problem

    try:
        with get_client(sync_client=True):
            pass
    except RuntimeError as error:
        raise Problem(
            f"--flow: Prefect did not start ({str(error).rstrip('.')}); try again, or leave --flow out: the pages are"
            " the same"
        ) from error


def as_task(name: str, work: Callable[..., Any], *args: Any, **options: Any) -> Any:
    """Run one step of the build as a Prefect task named `name`; reading files is tried again, nothing is cached."""
    from prefect import task
    from prefect.cache_policies import NO_CACHE

    from schemas.base import Problem

    def worth_another_try(_task: Any, _run: Any, state: Any) -> bool:
        return not isinstance(state.result(raise_on_failure=False), Problem)

    step = task(
        lambda: work(*args, **options),
        name=name,
        task_run_name=name,
        cache_policy=NO_CACHE,
        persist_result=False,
        retries=READING_RETRIES if name in READING_STEPS else 0,
        retry_delay_seconds=READING_DELAY_SECONDS,
        retry_condition_fn=worth_another_try,
    )
    return step()
