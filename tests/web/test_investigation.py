"""The questions on the source of water, their answers, and what follows."""

from __future__ import annotations

import pytest

from .conftest import WHO, TestClient


@pytest.mark.thorough
def test_answers_are_kept_and_weighed(read_client: TestClient, read_job: str) -> None:
    """Put once, they are there for the next device and enter the causes."""
    client, job = read_client, read_job
    asked = client.get(f"{job}/questions").json()
    assert {"membrane", "pipes", "flood"} <= {one["key"] for one in asked["questions"]}
    assert asked["answers"] == {}
    given = {"membrane": "damaged", "seen": ["liquid", "salts"], "flood": "2025-11-02"}
    stored = client.put(f"{job}/answers", json={"answers": given, "who": WHO})
    assert stored.status_code == 200, stored.text
    assert client.get(f"{job}/questions").json()["answers"] == given
    told = client.get(f"{job}/investigation")
    assert told.status_code == 200, told.text
    causes = {row["cause"]: row for row in told.json()["causes"]}
    assert "membrane is damaged" in causes["ground"]["why_for"]
    assert told.json()["cautions"]
    assert {"wet_line", "zones", "tests"} == set(told.json()["layers"])
    words = {row["words"] for row in causes.values()}
    named = [name for row in causes.values() for name in row["cannot_be_told_from"].split("; ")]
    assert set(filter(None, named)) <= words
    assert not set(named) & set(causes)


@pytest.mark.parametrize("wrong", [{"membrane": "fine"}, {"membran": "none"}, {"flood": "soon"}])
def test_an_answer_no_question_allows_is_refused(
    client: TestClient, job: str, wrong: dict[str, str]
) -> None:
    """And nothing is kept."""
    refused = client.put(f"{job}/answers", json={"answers": wrong, "who": WHO})
    assert refused.status_code == 422
    assert client.get(f"{job}/questions").json()["answers"] == {}


def test_what_the_plan_says_of_every_room_is_not_asked(client: TestClient, job: str) -> None:
    """Nobody is asked twice."""
    drawn = client.get(f"{job}/plan").json()
    assert "membrane" in {one["key"] for one in client.get(f"{job}/questions").json()["questions"]}
    for room in drawn["plan"]["rooms"]:
        room["slab"]["membrane"] = "seen-intact"
    body = {"plan": drawn["plan"], "revision": drawn["revision"], "who": WHO}
    assert client.put(f"{job}/plan", json=body).status_code == 200
    asked = {one["key"] for one in client.get(f"{job}/questions").json()["questions"]}
    assert "membrane" not in asked
    assert "pipes" in asked
