"""Chunks on a Dask cluster: one of this machine's own, or a scheduler somewhere, with TLS."""

from __future__ import annotations

from collections.abc import Generator, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from rootbound_service.errors import Problem, RefusedInput
from rootbound_service.sweep.executors import AHEAD

if TYPE_CHECKING:
    from rootbound_service.sweep.executors import Work

RETRIES = 5
"""A chunk whose worker was lost is begun again so many times."""


@dataclass(frozen=True, slots=True)
class Tls:
    """Certificates in PEM files: the authority's, ours, and our key."""

    authority: Path
    certificate: Path
    key: Path


class Cluster:
    """A Dask cluster.

    Parameters
    ----------
    address
        Of a scheduler, such as ``tls://host:8786``; None: one of our own on this machine.
    workers
        Processes of our own cluster; of a scheduler's, how many chunks wait for each is taken
        from what it has.
    tls
        For a scheduler that wants it.

    Raises
    ------
    RefusedInput
        If Dask is not installed, or an address begins with ``tls://`` without certificates.
    """

    def __init__(
        self, address: str | None = None, workers: int = 2, tls: Tls | None = None
    ) -> None:
        if address is not None and address.startswith("tls://") and tls is None:
            wanted = "name the files of authority, certificate and key"
            raise RefusedInput((Problem(address, "is a scheduler with TLS", wanted),))
        self.address, self.workers, self.tls = address, workers, tls

    def run(self, work: Work, numbers: Iterable[int]) -> Iterator[int]:
        """Run the work; see :class:`rootbound_service.sweep.executors.Executor`."""
        with self._client() as client:
            from distributed import as_completed

            threads = sum(client.nthreads().values()) or self.workers
            waiting = iter(numbers)
            first = [self._submit(client, work, one) for one in islice(waiting, AHEAD * threads)]
            coming: Any = as_completed(first)
            for future in coming:
                future.result()
                yield int(future.key.rsplit("-", 1)[1])
                for number in islice(waiting, 1):
                    coming.add(self._submit(client, work, number))

    @staticmethod
    def _submit(client: Any, work: Work, number: int) -> Any:
        """One chunk under a name that tells its number; never taken from what was done before."""
        from uuid import uuid4

        key = f"sweep-{uuid4().hex[:12]}-{number}"
        return client.submit(work, number, key=key, pure=False, retries=RETRIES)

    @contextmanager
    def _client(self) -> Generator[Any]:
        """Connect; a cluster of our own is closed again."""
        try:
            from distributed import Client, LocalCluster
            from distributed.security import Security
        except ImportError:
            wanted = "install it: pip install 'rootbound[cluster]'"
            raise RefusedInput((Problem("cluster", "needs dask.distributed", wanted),)) from None
        if self.address is not None:
            security = (
                None
                if self.tls is None
                else Security(
                    tls_ca_file=str(self.tls.authority),
                    tls_client_cert=str(self.tls.certificate),
                    tls_client_key=str(self.tls.key),
                    require_encryption=True,
                )
            )
            with Client(self.address, security=security) as client:
                yield client
            return
        local: Any = LocalCluster
        own = local(
            n_workers=self.workers,
            threads_per_worker=1,
            processes=True,
            dashboard_address="127.0.0.1:0",  # any port, and no other host sees it
            host="127.0.0.1",
            silence_logs=40,
        )
        with own, Client(own) as client:
            yield client
