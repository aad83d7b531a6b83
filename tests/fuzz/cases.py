"""One case: what a generator made of a seed, and what is to be done with it. Nothing runs here.

A generator is a module with NAME, `build(rng)` for a sound document, DAMAGES, each of which spoils
one thing of it, and `write(document, folder, rng)` for files and what is asked about them. A case
is fixed by generator and seed; which of its damages are kept is told besides, to shrink it.
"""

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import ModuleType
from typing import Any

_HOW_MANY = (0, 0, 0, 0, 1, 1, 1, 1, 1, 2, 2, 3, 4)
"""Damages of a case, drawn from these: a third of all inputs stay sound. HOW_MANY of a generator
goes before."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is done with the files of a case.

    Parameters
    ----------
    call : str
        A name of fuzz.calls.CALLS; "command" is the command line.
    words : tuple of str
        Arguments; paths are relative to the folder of the case.
    told : mapping
        What the generator knows of the answer, for fuzz.referees.
    forbidden : str
        The clause by which this input must be refused; empty where it may be read.
    unsaid : str
        What must be refused, or said in a note, if it is accepted; empty where nothing is.
    cpu_s : float
        Computing time that is too much.
    """

    call: str
    words: tuple[str, ...] = ()
    told: Mapping[str, Any] = field(default_factory=dict)
    forbidden: str = ""
    unsaid: str = ""
    cpu_s: float = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A case before it is made: generator, seed and the damages kept, by their place."""

    generator: str
    seed: int
    kept: tuple[int, ...] | None = None
    as_program: bool = False

    @property
    def name(self) -> str:
        """As the command line of run.py takes it."""
        kept = "" if self.kept is None else ":" + ",".join(map(str, self.kept))
        return f"{self.generator}:{self.seed}{kept}"


def plan_of(name: str) -> Plan:
    """The plan of a name."""
    generator, seed, *kept = name.split(":")
    places = tuple(int(place) for place in kept[0].split(",") if place) if kept else None
    return Plan(generator=generator, seed=int(seed), kept=places)


def damages_of(plan: Plan, module: ModuleType) -> list[tuple[int, Callable[..., None], int]]:
    """Place, damage and its own seed, of those that are kept."""
    rng = random.Random(f"{plan.generator} {plan.seed} damages")
    how_many = getattr(module, "HOW_MANY", _HOW_MANY)
    drawn = [
        (place, rng.choice(module.DAMAGES), rng.getrandbits(32))
        for place in range(rng.choice(how_many))
    ]
    return [one for one in drawn if plan.kept is None or one[0] in plan.kept]


def made(plan: Plan, module: ModuleType, folder: Path) -> tuple[Asked, tuple[str, ...]]:
    """The files of a case in an empty folder, what is asked, and the names of the damages."""
    document = module.build(random.Random(f"{plan.generator} {plan.seed} sound"))
    damages = damages_of(plan, module)
    for _, damage, seed in damages:
        damage(document, random.Random(seed))
    rng = random.Random(f"{plan.generator} {plan.seed} asked")
    return module.write(document, folder, rng), tuple(one[1].__name__ for one in damages)


def weighted(rng: random.Random, choices: Mapping[Any, float]) -> Any:
    """One of the keys, by weight."""
    return rng.choices(list(choices), weights=list(choices.values()))[0]


def flipped(data: bytes, rng: random.Random, most: int = 3) -> bytes:
    """A few bits turned over."""
    spoilt = bytearray(data)
    for _ in range(rng.randint(1, most) if spoilt else 0):
        spoilt[rng.randrange(len(spoilt))] ^= 1 << rng.randrange(8)
    return bytes(spoilt)


def cut(data: bytes, rng: random.Random) -> bytes:
    """The beginning, often nearly all of it."""
    keep = rng.choice((rng.randint(0, len(data)), max(0, len(data) - rng.randint(1, 16))))
    return data[:keep]


def moved(items: list[Any], rng: random.Random) -> None:
    """One of them removed, doubled, swapped with another, or put elsewhere; in place."""
    if not items:
        return
    at, other = rng.randrange(len(items)), rng.randrange(len(items))
    match rng.randrange(4):
        case 0:
            del items[at]
        case 1:
            items.insert(other, items[at])
        case 2:
            items[at], items[other] = items[other], items[at]
        case 3:
            items.insert(other, items.pop(at))


NUMBERS: Sequence[int] = (
    *(0, 1, 2, 3, 4, 5, 7, 8, 9, 15, 16, 17, 32, 63, 64, 65, 127, 128, 255, 256, 257),
    *(1000, 4096, 32767, 32768, 65535, 65536, 250_000, 250_001, 2**20, 2**24),
    *(2**31 - 1, 2**31, 2**32 - 1, 2**32, 2**63 - 1, 2**63, 2**64 - 1),
)
"""Where counting goes wrong."""

NEGATIVES: Sequence[int] = (-1, -2, -128, -129, -32768, -(2**31), -(2**63))
