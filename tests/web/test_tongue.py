"""Sentences of answers come in the language of the page; keys and names people gave do not."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from moisturemap.language import language_of
from moisturemap.web.tongue import OWN_REASONS, language_wanted

from .conftest import WHO, make_job

GERMAN = {"accept-language": "de-DE,de;q=0.9,en;q=0.8"}


@pytest.mark.parametrize(
    ("header", "code"),
    [
        ("", "en"),
        ("de", "de"),
        ("fr-FR, de;q=0.8, en;q=0.5", "de"),
        ("en-GB,de", "en"),
        ("x", "en"),
    ],
)
def test_the_first_language_with_tables_is_spoken(header: str, code: str) -> None:
    """As the page chooses its own words."""
    assert language_wanted(header) == code


def test_a_refusal_is_said_in_german(client: TestClient) -> None:
    """With what was found and what is allowed as they were typed."""
    base = make_job(client, with_readings=False)
    body = {
        "visit": "v9",
        "instrument": "meter 1",
        "readings": [{"x": 1, "y": 1, "raw": "30"}],
        "who": WHO,
    }
    told = client.post(f"{base}/readings", json=body, headers=GERMAN).json()["message"]
    assert told == "diesen Messtermin gibt es nicht (gefunden 'v9'). Erlaubt: v1"
    assert "no such visit" in client.post(f"{base}/readings", json=body).json()["message"]


def test_a_name_that_is_a_word_of_the_tables_stays(client: TestClient) -> None:
    """A visit somebody called "readings" keeps its name; keys the page computes with stay, too."""
    base = make_job(client)
    client.post(f"{base}/visits", json={"id": "readings", "who": WHO})
    job = client.get(base, headers=GERMAN)
    assert [one["id"] for one in job.json()["visits"]] == ["readings", "v1"]
    verdict = client.get(f"{base}/verdict?visit=v1", headers=GERMAN)
    assert verdict.headers["content-language"] == "de"
    assert verdict.json()["verdict"] == "not proven"
    assert "nachgewiesen" in verdict.json()["sentence"]
    assert client.get(f"{base}/verdict?visit=v1").json()["sentence"].isascii()


def test_reasons_of_the_program_are_said_those_of_people_stay(client: TestClient) -> None:
    """The last change is told in one language."""
    assert set(language_of("de").fixed) >= OWN_REASONS
    base = make_job(client, with_readings=False)
    told = client.get(f"{base}/changes", headers=GERMAN).json()["entries"]
    assert "Messtermin begonnen" in [one["why"] for one in told]


@pytest.mark.thorough
def test_sentences_are_in_feet_where_they_are_asked_for(client: TestClient) -> None:
    """Numbers beside them stay in metres: the page computes with those."""
    base = make_job(client)
    metric = client.get(f"{base}/drill").json()
    feet = client.get(f"{base}/drill", headers={"prefer": "units=us"}).json()
    said, told = (" ".join(one["caution"] for one in plan["cautions"]) for plan in (metric, feet))
    assert re.search(r"\d mm?\b", said)
    assert re.search(r"\d in\b", told)
    assert not re.search(r"\d mm?\b", told)
    assert [one["x"] for one in metric["holes"]] == [one["x"] for one in feet["holes"]]
