"""One run of a command and the files it leaves: written beside, put in place together, listed.

A run fills a hidden folder first. When all of it is there, a plan of the renames is written, the
files are renamed into the results folder, and the plan is taken away. A run that dies while it
fills leaves the old results whole; one that dies among the renames is finished by the next run.
"""

from __future__ import annotations

import errno
import hashlib
import json
import secrets
import shutil
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import asdict, dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from moisturemap.errors import OutputError, StoreError
from moisturemap.outputs import UNFINISHED, beside, replaced_file, sweep, sync, told
from moisturemap.provenance import files_of_run, versions
from moisturemap.store.lock import WriterLock
from moisturemap.survey import Survey

MANIFEST = "manifest.json"
"""Lists every file of a results folder with its run, size and SHA-256."""

_PLAN = ".renames.json"
_WRITING = ".writing"
_WAIT_S = 60.0
"""How long a second run into the same folder waits for the first [s]; our choice."""

_ABOUT = (
    "Files of one run carry the same id, here and inside. Sizes are in bytes, sha256 is that of "
    "the content. A file whose content has another one was changed after it was written."
)

Writer = Callable[[Path], Sequence[Path]]
"""Writes files into the folder it is given and returns their paths."""


@dataclass(frozen=True, slots=True)
class Run:
    """One run of a command.

    Attributes
    ----------
    id : str
        Told in each file it writes.
    command : str
    survey : str
        Name of the survey.
    made : str
        When, with time zone.
    record_number, record_hash
        End of the record of changes it was made from, where the survey is a project file.
    version : str
        Of this package.
    """

    id: str
    command: str
    survey: str
    made: str
    record_number: int | None
    record_hash: str | None
    version: str


@dataclass(frozen=True, slots=True)
class _Open:
    """The run whose files are being written, and the names its writers may write."""

    run: Run
    owned: set[str] = field(default_factory=set)


_open: ContextVar[_Open | None] = ContextVar("run", default=None)


def write_run(
    command: str,
    survey: Survey | None,
    folder: Path,
    writers: Iterable[Writer],
    owns: Iterable[str] = (),
) -> list[Path]:
    """Write the files of one run into a results folder: all of them, or none.

    Inside another run the writers join that one.

    Parameters
    ----------
    command : str
        Files the same command left earlier, and did not write again, are taken away.
    survey : Survey or None
        What the results are of; its record of changes is told in the manifest.
    folder : Path
        Made when it is not there.
    writers : iterable of callable
    owns : iterable of str
        Names the command may write; taken away when it did not, also without a manifest.

    Returns
    -------
    list of Path
        The files in their place, the manifest last.

    Raises
    ------
    OutputError
        When they cannot be written; the earlier results are as they were.
    """
    outer = _open.get()
    if outer is not None:
        outer.owned.update(owns)
        return [path for write in writers for path in write(folder)]
    opened = _Open(_new_run(command, survey), set(owns))
    target = folder / MANIFEST
    with told(folder):
        folder.mkdir(parents=True, exist_ok=True)
    with _only_run(folder), told(folder):
        _finish_renames(folder)
        sweep(target)
        sweep(folder / _PLAN)
        stage = beside(target)
        stage.mkdir()
        try:
            names = _fill(stage, opened, writers)
            gone = _leftovers(folder, opened, names)
            _write_manifest(folder, stage, opened.run, names, gone)
            _put_in_place(folder, stage, [*names, MANIFEST], gone)
        except BaseException:
            if not (folder / _PLAN).exists():
                shutil.rmtree(stage, ignore_errors=True)
            raise
    return [folder / name for name in (*names, MANIFEST)]


def _fill(stage: Path, opened: _Open, writers: Iterable[Writer]) -> list[str]:
    """Have the writers write, and return the names relative to the folder."""
    token = _open.set(opened)
    try:
        with files_of_run(opened.run.id):
            written = [path for write in writers for path in write(stage)]
    finally:
        _open.reset(token)
    return list(dict.fromkeys(path.relative_to(stage).as_posix() for path in written))


def _new_run(command: str, survey: Survey | None) -> Run:
    options = {} if survey is None else survey.provenance.options
    return Run(
        id=secrets.token_hex(6),
        command=command,
        survey="" if survey is None else survey.name,
        made=datetime.now(UTC).isoformat(timespec="seconds"),
        record_number=options.get("record_number"),
        record_hash=options.get("record_hash"),
        version=versions()["moisturemap"],
    )


@contextmanager
def _only_run(folder: Path) -> Iterator[None]:
    try:
        # a hidden name: a killed run leaves the file, and the next one removes it
        lock = WriterLock(folder / _WRITING, _WAIT_S)
    except StoreError as error:
        message = (
            str(error)
            .replace(str(folder / _WRITING), str(folder))
            .replace("Close it there first, or open it read-only here; ", "")
        )
        raise OutputError(message) from error
    try:
        yield
    finally:
        lock.release()


def read_manifest(folder: Path) -> dict[str, Any]:
    """Return the manifest of a results folder, or one without runs and files."""
    try:
        found = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        return {"runs": dict(found["runs"]), "files": dict(found["files"])}
    except (OSError, ValueError, KeyError, TypeError):
        return {"runs": {}, "files": {}}


def check_files(folder: Path) -> tuple[str, ...]:
    """Hold a results folder against its manifest; return what is wrong, in sentences."""
    faults = []
    if (folder / _PLAN).exists():
        faults.append(
            "A run stopped while its files were put in place, so files of two runs may lie here. "
            "Give the command again; it finishes what was begun."
        )
    for name, known in read_manifest(folder)["files"].items():
        if not _is_inside(folder, name) or not (folder / name).is_file():
            faults.append(f"{name} is missing.")
        elif _seal(folder / name)["sha256"] != known.get("sha256"):
            faults.append(f"{name} was changed after it was written.")
    return tuple(faults)


def _leftovers(folder: Path, opened: _Open, names: Sequence[str]) -> list[str]:
    """Return files of earlier runs of the command that this one did not write."""
    manifest = read_manifest(folder)
    earlier = {
        name
        for name, one in manifest["files"].items()
        if manifest["runs"].get(one.get("run"), {}).get("command") == opened.run.command
    }
    return sorted(
        name
        for name in (earlier | opened.owned).difference(names)
        if _is_inside(folder, name) and (folder / name).is_file()
    )


def _is_inside(folder: Path, name: str) -> bool:
    """Whether a name from a manifest, which anybody may have written, stays in the folder."""
    return (folder / name).resolve().is_relative_to(folder.resolve())


def _write_manifest(
    folder: Path, stage: Path, run: Run, names: Sequence[str], gone: Sequence[str]
) -> None:
    manifest = read_manifest(folder)
    files = {name: one for name, one in manifest["files"].items() if name not in gone}
    files.update({name: {"run": run.id, **_seal(stage / name)} for name in names})
    runs = {**manifest["runs"], run.id: asdict(run)}
    used = {one.get("run") for one in files.values()}
    content = {
        "about": _ABOUT,
        "runs": {key: one for key, one in runs.items() if key in used},
        "files": dict(sorted(files.items())),
    }
    text = json.dumps(content, indent=1, ensure_ascii=False)
    (stage / MANIFEST).write_text(text + "\n", encoding="utf-8")


def _seal(path: Path) -> dict[str, Any]:
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return {"size": path.stat().st_size, "sha256": digest}


def _put_in_place(folder: Path, stage: Path, names: Sequence[str], gone: Sequence[str]) -> None:
    for name in names:
        if (folder / name).is_dir():
            raise IsADirectoryError(errno.EISDIR, "a folder stands there", str(folder / name))
    kept = _filled_in(folder, [*names, *gone])
    plan = {"stage": stage.name, "names": list(names), "gone": list(gone), "kept": kept}
    sync(*(stage / name for name in names), stage)
    with replaced_file(folder / _PLAN) as unfinished:
        unfinished.write_text(json.dumps(plan), encoding="utf-8")
    try:
        _finish_renames(folder)
    except KeyboardInterrupt:
        _finish_renames(folder)
        raise


def _filled_in(folder: Path, names: Sequence[str]) -> dict[str, str]:
    """Return the tables that somebody changed since, and the names they are kept under.

    A sheet to be filled in on site may have been filled in where it lay.
    """
    files = read_manifest(folder)["files"]
    kept: dict[str, str] = {}
    for name in names:
        path = folder / name
        if path.suffix != ".csv" or not path.is_file():
            continue
        if name not in files or _seal(path)["sha256"] != files[name].get("sha256"):
            kept[name] = _free_name(path).name
    return kept


def _free_name(path: Path) -> Path:
    names = (path.with_stem(f"{path.stem}.kept-{number}") for number in range(1, 10_000))
    return next(one for one in names if not one.exists())


def _finish_renames(folder: Path) -> None:
    """Carry out the plan a run left, from wherever it stopped; every step may be done twice."""
    plan = _read_plan(folder)
    stage = folder / plan["stage"]
    try:
        for name, other in plan["kept"].items():
            if (stage / name).exists() or name in plan["gone"]:
                _move(folder / name, folder / other)
        for name in plan["names"]:
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            _move(stage / name, folder / name)
        for name in plan["gone"]:
            (folder / name).unlink(missing_ok=True)
    except OSError as error:  # on some systems a file that is open elsewhere cannot be replaced
        message = (
            f"{error.filename}: it could not be replaced ({error.strerror}). Close the program "
            "that holds it and give the command again; what was begun is finished then"
        )
        raise OutputError(message) from error
    if plan["stage"]:
        sync(folder)
        shutil.rmtree(stage, ignore_errors=True)
        (folder / _PLAN).unlink(missing_ok=True)


def _read_plan(folder: Path) -> dict[str, Any]:
    """Return the plan of a run that died, without what leads out of the folder."""
    nothing: dict[str, Any] = {"stage": "", "names": [], "gone": [], "kept": {}}
    try:
        plan = json.loads((folder / _PLAN).read_text(encoding="utf-8"))
        stage = Path(plan["stage"]).name
        names = [name for name in plan["names"] if _is_inside(folder, name)]
        gone = [name for name in plan["gone"] if _is_inside(folder, name)]
        kept = {name: Path(other).name for name, other in dict(plan["kept"]).items()}
    except FileNotFoundError:
        return nothing
    except (ValueError, KeyError, TypeError):
        (folder / _PLAN).unlink(missing_ok=True)
        return nothing
    if UNFINISHED not in stage:
        return nothing
    kept = {name: other for name, other in kept.items() if _is_inside(folder, name)}
    return {"stage": stage, "names": names, "gone": gone, "kept": kept}


def _move(here: Path, there: Path) -> None:
    if here.exists():
        here.replace(there)
