"""One spread of a batch, by whatever worker: checked, written, and told in a few words.

Values in, values out, no exception. A worker is told which program asked, and refuses to answer for
another. Who only gives out work does not import this: it takes half a second.
"""

import socket
from collections.abc import Callable, Iterator
from functools import partial

from inkmix.base.atomic_files import aside_of
from inkmix.base.errors import Fault, InkmixError, OutputError, PassingFault, UsageError
from inkmix.batch.digests import FileDigests
from inkmix.batch.key import read_inputs
from inkmix.batch.program import program_digest
from inkmix.batch.spread_record import kept_bytes, record_digest
from inkmix.batch.summary import summary
from inkmix.batch.task import RUN_NAME, Outcome, Task, lost
from inkmix.jobs.check import check_spread
from inkmix.jobs.printing.pictures import jpeg_bytes
from inkmix.jobs.printing.preview import preview_spread
from inkmix.pages.folders import KEPT_NAME, report_folder
from inkmix.pages.report.write import refuse_folder, report_files, write_files
from inkmix.plates.files.scratch.room import ScratchRoom
from inkmix.plates.files.snapshots import tells_change, while_at_rest


def check_one(task: Task) -> Outcome:
    """Check a spread and write its report; whatever goes wrong is told, nothing is raised."""
    return _told(_checked, task)


def preview_one(task: Task) -> Outcome:
    """A small picture of what a spread will print, made quickly; nothing is written or raised."""
    return _told(_previewed, task)


def _told(work: Callable[[Task], Outcome], task: Task) -> Outcome:
    name = task.found.name
    try:
        _refuse_strange_place(task)
        return work(task)
    except InkmixError as error:
        return Outcome(name=name, faults=error.faults, exit_code=error.exit_code)
    except OSError as error:
        where, reason = str(error.filename or name), error.strerror or str(error)
        return lost(name, Fault(where=where, found=f"cannot be read ({reason})"))
    except MemoryError:
        do = "run fewer workers, or close other programs"
        return lost(name, Fault(where=name, found="there is not enough memory", do=do))
    except Exception as error:  # one spread never stops the others
        do = f"see where it arose with `inkmix -v check BOOK --spread {name}`"
        return lost(name, Fault(where=name, found=f"{type(error).__name__}: {error}", do=do))


def _previewed(task: Task) -> Outcome:
    book, found = task.book, task.found
    srgb8 = preview_spread(book, found.name, found=found, room=ScratchRoom(folder=task.to))
    return Outcome(name=found.name, preview=jpeg_bytes(srgb8))


def _checked(task: Task) -> Outcome:
    """Done once more where a file was changed meanwhile."""
    return while_at_rest(partial(_checked_once, task))


def _checked_once(task: Task) -> Outcome:
    book, found = task.book, task.found
    folder = task.to / report_folder(found.name)
    refuse_folder(folder)
    digests = FileDigests()
    inputs = read_inputs(book, found, digests, checks=task.checks)
    key, read = inputs.key(), dict(digests.known)
    try:
        room = ScratchRoom(folder=folder)
        result = check_spread(book, found.name, checks=task.checks, found=found, room=room, tries=1)
    except InkmixError as error:
        if tells_change(error):
            raise
        inputs.seen.check()
        key = "" if _may_pass(error) else key
        faults, code = error.faults, error.exit_code
        return Outcome(name=found.name, key=key, read=read, faults=faults, exit_code=code)
    inputs.seen.check()
    files = report_files(result)
    kept = summary(
        result,
        folder=folder.name,
        key=key,
        rests_on=inputs.rests_on,
        files=files,
    )
    record = kept_bytes(kept)
    write_files({**files, KEPT_NAME: record}, folder)
    return Outcome(name=found.name, key=key, record=record_digest(record), read=read)


def _may_pass(error: InkmixError) -> bool:
    """Whether the same files may be readable another time."""
    passing = any(isinstance(fault, PassingFault) for fault in error.faults)
    return passing or isinstance(error, OutputError)


def _refuse_strange_place(task: Task) -> None:
    """Somewhere else than where the run was asked for, all must be as it is there.

    Raises
    ------
    UsageError
        With what cannot be seen from here, by name.
    """
    faults = tuple(_strange(task))
    if faults:
        raise UsageError(faults)


def _strange(task: Task) -> Iterator[Fault]:
    here = f"the worker on {socket.gethostname()}"
    do = "let every worker see the same folder under the same path"
    if task.program != program_digest():
        found = f"{here} runs another version of inkmix or of its libraries"
        do = "install the same there; where it was changed just now, run again"
        yield Fault(where=task.found.name, found=found, do=do)
        return
    for path in (task.book.path, aside_of(task.to / RUN_NAME)):
        if not path.exists():
            seen = path if path == task.book.path else task.to
            yield Fault(where=str(seen), found=f"{here} cannot see it", do=do)
