"""What one run of the local app is allowed to do."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

STATIC = Path(__file__).with_name("static")


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Settings of one run.

    Attributes
    ----------
    folder : Path
        Folder whose project files are the jobs.
    only : Path or None
        One project file to serve instead of all in the folder.
    lan : bool
        Let other devices in; each needs an address with a token that works once.
    hosts : tuple of str
        Host names the app answers to.
    port : int
    token : str
        Token of the address for this computer; "" leaves the door open to this computer, which is
        for tests and for programs that guard it themselves.
    invitation : str
        First token for another device; works once.
    memory : Path or None
        File that remembers the devices that were let in.
    kept : Path or None
        Folder that keeps what was found of each floor; without it a hidden one beside the jobs.
    upload_bytes : int
        Largest upload accepted.
    static : Path
        The built front end.
    own_process : bool
        Compute in processes of their own, so that the app answers meanwhile and outlives them.
    """

    folder: Path
    only: Path | None = None
    lan: bool = False
    hosts: tuple[str, ...] = ("127.0.0.1", "localhost", "[::1]")
    port: int = 8650
    token: str = field(default="", repr=False)
    invitation: str = field(default="", repr=False)
    memory: Path | None = None
    kept: Path | None = None
    upload_bytes: int = 40_000_000
    static: Path = STATIC
    own_process: bool = True

    @property
    def guarded(self) -> bool:
        """Whether a device must have been let in."""
        return self.lan or bool(self.token)
