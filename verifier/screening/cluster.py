"""Judging on the machines of a Dask cluster; the extra `cluster` installs what it takes.

Every machine needs this program and nothing else: the registry travels once as a task of its own, so that the
scheduler makes it anew for a worker that comes later, and the rows travel with their chunk. Before any work every
worker is asked whether it can load this program, and in which version; only those that can are given work.
"""

from __future__ import annotations

import logging
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from verifier.errors import UnreadableInput
from verifier.extras import require
from verifier.screening.judging import Setup, judge
from verifier.screening.workers import Workers

if TYPE_CHECKING:
    from distributed import Client

LOCAL = "local"
PATIENCE_SECONDS = 15.0
# How long a run waits without a worker before it ends; what is judged is kept.
NO_WORKER_SECONDS = 40.0
_MOST_AT_ONCE = 64
_FILES_OF_TLS = {
    "ca-file": "DASK_DISTRIBUTED__COMM__TLS__CA_FILE",
    "client.cert": "DASK_DISTRIBUTED__COMM__TLS__CLIENT__CERT",
    "client.key": "DASK_DISTRIBUTED__COMM__TLS__CLIENT__KEY",
}
_SAME_AUTHORITY = (
    "every machine needs a certificate of the same authority: samples/README.md shows how to make them"
)


class NoWorkerLeft(OSError):
    """No worker is there any more, or the scheduler is gone."""


@contextmanager
def cluster(setup: Setup, address: str, workers: int) -> Iterator[Workers]:
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
        When the extra is not installed, no scheduler answers, or no worker is there that can judge.
    """
    require("cluster", "--cluster")
    import dask
    from distributed import KilledWorker

    # A chunk is larger than what Dask takes for a mistake, and is sent on purpose.
    with (
        dask.config.set({"distributed.admin.large-graph-warning-threshold": "1GB"}),
        _quiet(),
        _client(address, workers) as client,
    ):
        able = _able(client, address, setup.version)
        known = client.submit(_itself, setup, workers=able)
        executor = client.get_executor(pure=False, workers=able)
        threads = sum(client.nthreads().values())
        at_once = min(_MOST_AT_ONCE, 2 * max(1, threads))
        losses = (KilledWorker, CancelledError, TimeoutError, OSError)
        yield Workers(
            lambda chunk: executor.submit(judge, known, chunk), at_once, losses, _watch(client, able)
        )


def _itself(setup: Setup) -> Setup:
    return setup


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the library's own log lines, a hundred where a scheduler ends, from hiding our one."""
    logger = logging.getLogger("distributed")
    before = logger.level
    logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        logger.setLevel(before)


def _able(client: Client, address: str, version: str) -> list[str] | None:
    """Return the workers that can judge, None where all can; tell of the others.

    Raises
    ------
    UnreadableInput
        When there is no worker, or none that can.
    """
    there = _workers(client)
    begun = time.monotonic()
    while not there and time.monotonic() - begun < PATIENCE_SECONDS:
        time.sleep(0.2)
        there = _workers(client)
    if not there:
        raise UnreadableInput(
            "--cluster",
            f"the scheduler at '{address}' has no workers",
            f"start one with: dask worker {address}" + (f"; {_SAME_AUTHORITY}" if _is_tls(address) else ""),
        )
    answers = _asked(client, there)
    problems = {each: _problem(answers.get(each), version) for each in there}
    able = [each for each, problem in problems.items() if not problem]
    for each, problem in problems.items():
        if problem and able:
            sys.stderr.write(f"packclaim: worker {each} {problem}; it is given no work\n")
    if not able:
        worker, problem = next(iter(problems.items()))
        more = f", nor can {len(there) - 1} more" if len(there) > 1 else ""
        raise UnreadableInput(
            "--cluster",
            f"worker {worker} {problem}{more}",
            "install the same version of packclaim on every worker",
        )
    return able if len(able) < len(there) else None


def _workers(client: Client) -> list[str]:
    # The client's own list is refreshed every few seconds only.
    found = client.sync(client.scheduler.identity) if client.scheduler is not None else {}
    return sorted(found.get("workers", {}))


def _asked(client: Client, workers: Sequence[str]) -> dict[str, str]:
    """Return what each worker says of itself: a version, or ``!`` and why it cannot load this program."""

    # An inner function travels by value: a worker that lacks this program can still run it.
    def asked() -> str:
        try:
            import verifier.screening.judging  # noqa: F401
            from verifier.version import program_version as version

            return str(version())
        except BaseException as error:
            return f"!{type(error).__name__}: {error}"

    from distributed import wait

    futures = {
        each: client.submit(asked, workers=[each], allow_other_workers=False, pure=False) for each in workers
    }
    with suppress(TimeoutError):
        wait(list(futures.values()), timeout=PATIENCE_SECONDS)
    found = {}
    for each, future in futures.items():
        if future.status == "finished":
            found[each] = str(future.result())
        elif future.status == "error":
            found[each] = f"!{future.exception()}"
        else:
            future.cancel()
    return found


def _problem(answer: str | None, version: str) -> str:
    if answer is None:
        return f"does not answer within {PATIENCE_SECONDS:.0f} s"
    if answer.startswith("!"):
        return f"cannot load packclaim ({answer[1:200]})"
    return "" if answer == version else f"has packclaim {answer}, and this is {version}"


def _watch(client: Client, able: Sequence[str] | None) -> Callable[[], None]:
    """Return what raises when nobody that can judge has been there for a while."""
    last_seen = time.monotonic()

    def alive() -> None:
        nonlocal last_seen
        try:
            there: Any = client.status == "running" and _workers(client)
        except (OSError, TimeoutError, RuntimeError):
            there = []
        if there and (able is None or set(there) & set(able)):
            last_seen = time.monotonic()
        elif time.monotonic() - last_seen > NO_WORKER_SECONDS:
            raise NoWorkerLeft(f"no worker has been there for {NO_WORKER_SECONDS:.0f} s")

    return alive


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
    if _is_tls(address):
        _look_at_certificates(address)
    try:
        client = Client(address, timeout=PATIENCE_SECONDS)
    except TypeError as error:
        raise UnreadableInput("--cluster", f"'{address}' cannot be used ({error})") from error
    except (OSError, TimeoutError, ValueError, RuntimeError, ImportError) as error:
        if _is_tls(address):
            raise UnreadableInput(
                "--cluster", f"no scheduler at '{address}' takes this certificate, or none is there",
                _SAME_AUTHORITY,
            ) from error  # fmt: skip
        raise UnreadableInput("--cluster", f"no scheduler answers at '{address}'") from error
    with client:
        yield client


def _is_tls(address: str) -> bool:
    return address.startswith("tls:")


def _look_at_certificates(address: str) -> None:
    """Refuse certificates that are not there or no certificates: the library would say that nobody answers."""
    import dask
    from distributed.security import Security

    for setting, variable in _FILES_OF_TLS.items():
        file = dask.config.get(f"distributed.comm.tls.{setting}")
        if not file:
            raise UnreadableInput(
                "--cluster", f"'{address}' needs certificates, and {variable} is not set",
                "set it to the PEM file: samples/README.md shows how",
            )  # fmt: skip
        try:
            with Path(file).open("rb"):
                pass
        except OSError as error:
            raise UnreadableInput(
                str(file), f"cannot be read ({error.strerror})", f"{variable} names it"
            ) from error
    try:
        Security().get_connection_args("client")
    except OSError as error:
        raise UnreadableInput(
            "--cluster", "the files of the certificates are no certificate, its key and its authority",
            f"make them PEM files without a password: {', '.join(_FILES_OF_TLS.values())}",
        ) from error  # fmt: skip
