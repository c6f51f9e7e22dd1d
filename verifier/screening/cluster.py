"""Judging on the machines of a Dask cluster; the extra `cluster` installs what it takes.

Every machine needs this program and nothing else: the registry travels once as a task of its own, so that the
scheduler makes it anew for a worker that comes later, and the rows travel with their chunk.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from concurrent.futures import CancelledError
from contextlib import contextmanager
from typing import TYPE_CHECKING

from verifier.errors import UnreadableInput
from verifier.screening.crews import Crew
from verifier.screening.judging import Setup, judge

if TYPE_CHECKING:
    from distributed import Client

LOCAL = "local"
PATIENCE_SECONDS = 15.0
_MOST_AT_ONCE = 64


@contextmanager
def cluster(setup: Setup, address: str, workers: int) -> Iterator[Crew]:
    """Judge on a cluster.

    Parameters
    ----------
    setup : Setup
        What every worker judges by.
    address : str
        Of the scheduler, such as ``tcp://10.0.0.5:8786``; ``local`` is a cluster of this machine alone.
    workers : int
        Processes of a local cluster.

    Raises
    ------
    UnreadableInput
        When the extra is not installed, or no scheduler answers.
    """
    try:
        import dask
        from distributed import KilledWorker
    except ImportError as error:
        raise UnreadableInput(
            "--cluster", "needs the extra 'cluster'", "install it with: pip install 'packclaim[cluster]'"
        ) from error
    # A chunk is larger than what Dask takes for a mistake, and is sent on purpose.
    with (
        dask.config.set({"distributed.admin.large-graph-warning-threshold": "1GB"}),
        _client(address, workers) as client,
    ):
        known = client.submit(_itself, setup)
        executor = client.get_executor(pure=False)
        at_once = min(_MOST_AT_ONCE, 2 * max(1, sum(client.nthreads().values())))
        losses = (KilledWorker, CancelledError, TimeoutError, OSError)
        yield Crew(lambda chunk: executor.submit(judge, known, chunk), at_once, losses)


def _itself(setup: Setup) -> Setup:
    return setup


@contextmanager
def _client(address: str, workers: int) -> Iterator[Client]:
    from distributed import Client, LocalCluster

    if address == LOCAL:
        with (
            LocalCluster(
                n_workers=workers,
                threads_per_worker=1,
                dashboard_address="127.0.0.1:0",
                silence_logs=logging.CRITICAL,
            ) as machines,
            Client(machines) as client,
        ):
            yield client
        return
    try:
        client = Client(address, timeout=PATIENCE_SECONDS)
    except (OSError, TimeoutError, ValueError) as error:
        raise UnreadableInput("--cluster", f"no scheduler answers at '{address}'") from error
    with client:
        yield client
