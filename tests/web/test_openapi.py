"""The described interface, asked all sorts of things: refusals yes, failures of the program no."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import schemathesis

from moisturemap.web import Settings, create_app

from .conftest import TestClient, make_job

pytestmark = [pytest.mark.slow, pytest.mark.filterwarnings("ignore")]


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """The app with one job called "Harbour shop"."""
    jobs, kept = tmp_path_factory.mktemp("jobs"), tmp_path_factory.mktemp("kept")
    made = create_app(Settings(folder=jobs, kept=kept, hosts=("testserver",)))
    with TestClient(made, base_url="http://testserver") as client:
        make_job(client)
        yield made


SETTINGS = settings(
    max_examples=10,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    database=None,
    suppress_health_check=list(HealthCheck),
)


def test_nothing_asked_makes_the_program_fail(app: Any) -> None:
    """Ten made-up requests for each address; the answer is never a 500."""
    schema = schemathesis.openapi.from_asgi("/openapi.json", app)
    operations = [found.ok() for found in schema.get_all_operations()]
    # What only looks goes first, while the job is still as it was made; undo comes last.
    operations.sort(key=lambda one: ("do" in one.path.split("/")[-1], one.method.upper() != "GET"))
    for operation in operations:

        @SETTINGS
        @given(case=operation.as_strategy())
        def ask(case: Any) -> None:
            if "project" in case.path_parameters:
                case.path_parameters["project"] = "Harbour shop"
            answer = case.call()
            told = f"{case.method} {case.formatted_path} {case.query} {case.body!r}"
            fine = answer.status_code < 500 or answer.status_code == 501
            assert fine, (told[:2000], answer.content[:500])

        ask()
    assert len(operations) > 30


def test_the_folder_holds_only_project_files(app: Any) -> None:
    """Whatever jobs were asked for, nothing was written beside them."""
    folder: Path = app.state.settings.folder
    names = {path.suffix for path in folder.iterdir() if not path.name.endswith(".lock")}
    assert names <= {".gpkg"}
