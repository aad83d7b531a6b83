"""An executor of a Dask cluster that runs already; nothing is started and nothing configured here.

Workers there read the plates and write the reports themselves, so they must see the same folders
under the same paths; work.py says by name what one cannot see.
"""

import asyncio
import logging
import time
import warnings
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from inkmix.base.errors import Fault, UsageError
from inkmix.batch.program import program_digest
from inkmix.batch.worker_pool import Opened

PATIENCE_S = 10.0
_TALKATIVE = ("distributed", "distributed.client", "distributed.gc", "tornado.application")
_PROGRAM = "__import__('inkmix.batch.work', fromlist=['*']).program_digest()"
"""Asked in words, because a worker that lacks inkmix dies of what it cannot unpack."""
_AGAIN = "start them again and run again: what is done is kept"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClusterCrew:
    """Workers of a cluster, `most` of them at once.

    Parameters
    ----------
    address : str
        Of its scheduler, such as tcp://host:8786.
    patience_s : float
        How long scheduler and workers may be away.
    """

    address: str
    most: int | None = None
    patience_s: float = PATIENCE_S

    @contextmanager
    def opened(self, most: int | None = None) -> Iterator[Opened]:
        """An executor with a worker for each thread of the cluster.

        Raises
        ------
        UsageError
            Where the library is missing, nobody answers, no worker is there, or one runs another
            inkmix.
        """
        try:
            from distributed import Client, KilledWorker
        except ImportError as error:
            do = "install it with `pip install 'inkmix[cluster]'`"
            raise self._refused(f"the library distributed is missing ({error})", do) from error
        for name in _TALKATIVE:  # what matters is said by an exception
            logging.getLogger(name).setLevel(logging.CRITICAL)
        with self._client(Client) as client:
            workers = self._workers(client)
            _refuse_other_programs(client)
            bounds = [bound for bound in (workers, self.most, most) if bound is not None]
            yield Opened(
                executor=client.get_executor(pure=False),
                workers=min(bounds),
                killed=(KilledWorker,),
                look=self._look(client),
            )

    def _client(self, connect: Callable[..., Any]) -> Any:
        """A client of the scheduler."""
        with warnings.catch_warnings():  # whether versions agree is looked after in work.py
            warnings.simplefilter("ignore")
            try:
                with ThreadPoolExecutor(1) as apart:  # a loop may be running here
                    apart.submit(lambda: asyncio.run(self._ask())).result()
                return connect(self.address, timeout=self.patience_s, set_as_default=False)
            except Exception as error:  # of whatever kind: an address can be wrong in many ways
                late = isinstance(error, TimeoutError)
                reason = f"for {self.patience_s:g} s" if late else f"({error})"
                do = "start a scheduler there, or correct the address"
                raise self._refused(f"no scheduler answers {reason}", do) from error

    async def _ask(self) -> None:
        """Raise where no scheduler answers; a client itself would wait for some for ever."""
        from distributed import Security, rpc

        secrets = Security().get_connection_args("client")
        async with rpc(self.address, timeout=self.patience_s, connection_args=secrets) as there:
            kind = (await asyncio.wait_for(there.identity(), self.patience_s))["type"]
        if kind != "Scheduler":
            raise ValueError(f"but a {kind.lower()} does")

    def _workers(self, client: Any) -> int:
        """How many tasks are worked on at once."""
        try:
            client.wait_for_workers(1, timeout=self.patience_s)
        except TimeoutError as error:
            do = f"start some with `dask worker {self.address}`"
            raise self._refused("the cluster has no workers", do) from error
        return sum(client.nthreads().values())

    def _look(self, client: Any) -> Callable[[], None]:
        """What raises UsageError once all workers have been away for too long."""
        seen = time.monotonic()

        def look() -> None:
            nonlocal seen
            if client.nthreads():
                seen = time.monotonic()
            elif time.monotonic() - seen > self.patience_s:
                raise self._refused("the cluster has no workers any more", _AGAIN)

        return look

    def _refused(self, found: str, do: str) -> UsageError:
        return UsageError(Fault(where=f"engine dask:{self.address}", found=found, do=do))


def _refuse_other_programs(client: Any) -> None:
    """Raise UsageError with whoever in the cluster runs another inkmix, or none."""
    said = client.run(eval, _PROGRAM, {}, on_error="return")
    try:
        said["scheduler"] = client.run_on_scheduler(eval, _PROGRAM, {})
    except Exception as error:  # of whatever kind: it is said
        said["scheduler"] = error
    ours = program_digest()
    others = [(who, theirs) for who, theirs in said.items() if theirs != ours]
    if others:
        raise UsageError(_other(who, theirs) for who, theirs in others)


def _other(who: str, theirs: object) -> Fault:
    found = "runs another version of inkmix or of its libraries"
    if isinstance(theirs, Exception):
        found = f"cannot load inkmix ({type(theirs).__name__}: {theirs})"
    do = "install there what is installed here, and start it again"
    return Fault(where=f"the cluster's {who}", found=found, do=do)
