"""Files that would end the program end the process for reading instead."""

import os
import pickle
import sys
import time
from pathlib import Path

import pytest

from moisturemap.errors import FormatError, InputError, MissingExtra, PlanError
from moisturemap.files import apart

HERE = Path(__file__)


def die(path: Path) -> None:
    os.abort()


def swell(path: Path) -> int:
    return len(bytearray(8 * 2**30))


def dawdle(path: Path) -> None:
    time.sleep(60)


def refuse(path: Path) -> None:
    raise PlanError("no room", source=path.name, place="row 3", value=7, allowed="a room")


def stumble(path: Path) -> None:
    raise ZeroDivisionError("ours")


def chatter(path: Path, word: str) -> str:
    sys.stdout.write(word)
    sys.stdout.flush()
    os.write(1, b"noise of a library")
    return word + path.name


def test_a_reader_answers_from_the_other_process() -> None:
    """What it prints does not mix with what it returns."""
    assert apart.read_apart(chatter, HERE, "a") == "atest_apart.py"


@pytest.mark.thorough
def test_a_file_that_ends_the_process_is_refused_and_the_next_is_read() -> None:
    """An abort is not to be caught in the process it happens in."""
    with pytest.raises(FormatError, match=r"test_apart\.py: the file is damaged or far too large"):
        apart.read_apart(die, HERE)
    assert apart.read_apart(chatter, HERE, "b") == "btest_apart.py"


@pytest.mark.skipif(os.name == "nt", reason="memory cannot be bounded there")
def test_a_file_that_takes_too_much_memory_is_refused() -> None:
    """Eight gigabytes are not given."""
    with pytest.raises(FormatError, match="4 GB of memory"):
        apart.read_apart(swell, HERE)


@pytest.mark.thorough
def test_a_file_that_takes_too_long_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """With the time it may take."""
    monkeypatch.setattr(apart, "LONGEST_S", 0.3)
    with pytest.raises(FormatError, match="longer than 0 s"):
        apart.read_apart(dawdle, HERE)


def test_a_refusal_comes_back_as_it_was() -> None:
    """With its parts, and a fault of ours as a fault."""
    with pytest.raises(PlanError) as refusal:
        apart.read_apart(refuse, HERE)
    assert (refusal.value.place, refusal.value.value) == ("row 3", 7)
    assert str(refusal.value) == "test_apart.py, row 3: no room (found 7). Allowed: a room"
    with pytest.raises(RuntimeError, match="ZeroDivisionError while reading"):
        apart.read_apart(stumble, HERE)


@pytest.mark.parametrize(
    "error", [MissingExtra("Reading plans in DXF", "dxf"), InputError("m", source="s", value=1)]
)
def test_errors_can_be_carried_from_process_to_process(error: Exception) -> None:
    """Whole."""
    again = pickle.loads(pickle.dumps(error))
    assert (str(again), vars(again)) == (str(error), vars(error))
