"""What was asked and what was found, together; what words and document are written from."""

from dataclasses import dataclass

from inkmix.mixes.helping import Help
from inkmix.mixes.values import Found


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """One colour that was asked for.

    Parameters
    ----------
    text, name, where : str
        As it was written, what it was called, and where that stands.
    found : Found
    helps : tuple of Help or None
        Other inks that would bring it nearer; None where nobody looked.
    inks_tried : int
        How many others were tried.
    """

    text: str
    name: str
    where: str
    found: Found
    helps: tuple[Help, ...] | None = None
    inks_tried: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """Under which terms mixes were looked for.

    Parameters
    ----------
    inks : tuple of str
        Of the condition, in lay-down order.
    paper, process : str
    ink_limit_pct : float or None
    whose : str
        Whose word the limit is; empty without one.
    step_pct, least_pct : float
    doubts : tuple of str
        What stands against trusting the prediction, in words.
    """

    inks: tuple[str, ...]
    paper: str
    process: str
    ink_limit_pct: float | None
    whose: str
    step_pct: float
    least_pct: float
    doubts: tuple[str, ...] = ()
