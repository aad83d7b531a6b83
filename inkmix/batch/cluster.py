"""An executor of a Dask cluster that runs already; nothing is started and nothing configured here.

Workers there read the plates and write the reports themselves, so they must see the same folders
under the same paths; work.py says by name what one cannot see.
"""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from inkmix.batch.crew import Opened
from inkmix.errors import Fault, UsageError

_PATIENCE = "10s"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClusterCrew:
    """Workers of a cluster, `most` of them at once.

    Parameters
    ----------
    address : str
        Of its scheduler, such as tcp://host:8786.
    """

    address: str
    most: int | None = None

    @contextmanager
    def opened(self, most: int | None = None) -> Iterator[Opened]:
        """An executor with a worker for each thread of the cluster.

        Raises
        ------
        UsageError
            Where the library is missing, nobody answers, or no worker is there.
        """
        try:
            from distributed import Client
        except ImportError as error:
            do = "install it with `pip install 'inkmix[cluster]'`"
            raise self._refused("the library distributed is not installed", do) from error
        logging.getLogger("distributed").setLevel(logging.CRITICAL)
        try:
            client = Client(self.address, timeout=_PATIENCE, set_as_default=False)
        except (OSError, TimeoutError, ValueError) as error:
            do = "start a scheduler there, or correct the address"
            raise self._refused(f"no scheduler answers ({error})", do) from error
        with client:
            workers = sum(client.nthreads().values())
            if not workers:
                do = f"start some with `dask worker {self.address}`"
                raise self._refused("the cluster has no workers", do)
            executor = client.get_executor(pure=False)
            bounds = [bound for bound in (workers, self.most, most) if bound is not None]
            yield Opened(executor=executor, workers=min(bounds))

    def _refused(self, found: str, do: str) -> UsageError:
        return UsageError(Fault(where=f"--engine dask:{self.address}", found=found, do=do))
