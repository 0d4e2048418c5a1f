"""The exceptions of the package, one tree.

::

    MoistureMapError
    ├── InputError            what was given cannot be used: names source, place, value, allowed
    │   ├── PlanError         the floor plan
    │   ├── SurveyError       survey.toml, readings, tests, equipment
    │   ├── FormatError       a file that is not what its name says, damaged or hostile
    │   └── OptionError       an option of a function or command
    ├── NotEnoughData         the data are sound but too few for what was asked
    ├── MissingExtra          an optional part is not installed; says what to install
    ├── StoreError            the project file cannot be opened, read or written
    ├── OutputError           a result cannot be written; what was there before is as it was
    └── Cancelled             the user stopped long work

The library raises; the command line and the web app translate.
"""

from __future__ import annotations


class MoistureMapError(Exception):
    """Any error this package raises on purpose."""


class InputError(MoistureMapError, ValueError):
    """Input refused, in words a person on site can act on.

    Parameters
    ----------
    message : str
        What is wrong, in one sentence.
    source : str, optional
        File (or setting) the value came from.
    place : str, optional
        Row, cell or ring inside the source, e.g. ``"row 14"`` or ``"cell C7"``.
    value : object, optional
        The refused value as it was read.
    allowed : str, optional
        What would be accepted.
    """

    def __init__(
        self,
        message: str,
        *,
        source: str | None = None,
        place: str | None = None,
        value: object = None,
        allowed: str | None = None,
    ) -> None:
        self.message = message
        self.source = source
        self.place = place
        self.value = value
        self.allowed = allowed
        super().__init__(self._sentence())

    def _sentence(self) -> str:
        where = ", ".join(part for part in (self.source, self.place) if part)
        text = f"{where}: {self.message}" if where else self.message
        if self.value is not None:
            text += f" (found {self.value!r})"
        if self.allowed:
            text += f". Allowed: {self.allowed}"
        return text


class PlanError(InputError):
    """The floor plan cannot be used."""


class SurveyError(InputError):
    """The survey, a reading, a test or a machine cannot be used."""


class FormatError(InputError):
    """A file is not what its name says, or is damaged."""


class OptionError(InputError):
    """An option has a value outside what is allowed."""


class NotEnoughData(MoistureMapError, ValueError):
    """The data are sound, but too few for what was asked."""


class MissingExtra(MoistureMapError, ImportError):
    """An optional part of the package is not installed."""

    def __init__(self, purpose: str, extra: str) -> None:
        self.purpose = purpose
        self.extra = extra
        super().__init__(
            f"{purpose} needs an optional part that is not installed. "
            f'Install it with: pip install "moisturemap[{extra}]"'
        )

    def __reduce__(self) -> tuple[type[MissingExtra], tuple[str, str]]:
        """Let it come back from another process."""
        return type(self), (self.purpose, self.extra)


class StoreError(MoistureMapError):
    """The project file cannot be opened, read or written."""


class OutputError(MoistureMapError):
    """A result cannot be written; what was there before is as it was."""


class Cancelled(MoistureMapError):
    """The user stopped long work."""
