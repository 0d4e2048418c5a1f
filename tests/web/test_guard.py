"""Who is let in, and what every answer carries."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from moisturemap.web import Settings, create_app


def test_another_host_name_is_refused(client: TestClient) -> None:
    """A page of the internet cannot reach the app by pointing its own name here."""
    assert client.get("/api/health", headers={"host": "evil.example"}).status_code == 400


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://evil.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}],
)
def test_a_write_from_another_site_is_refused(client: TestClient, headers: dict[str, str]) -> None:
    """Only the page itself may change a job."""
    answer = client.post("/api/projects", json={"name": "x", "who": "y"}, headers=headers)
    assert answer.status_code == 403
    assert client.get("/api/projects").json()["projects"] == []


def test_the_page_itself_may_write(client: TestClient) -> None:
    """The origin of the page is that of the app."""
    headers = {"origin": "http://127.0.0.1:8650"}
    body = {"name": "x", "who": "y"}
    assert client.post("/api/projects", json=body, headers=headers).status_code == 201


def test_every_answer_is_under_a_strict_policy(client: TestClient) -> None:
    """Nothing but the app's own files may run, and nobody may frame it."""
    for path in ("/", "/app.js", "/api/health", "/api/projects/nothing"):
        headers = client.get(path).headers
        assert "script-src 'self'" in headers["content-security-policy"]
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"


def test_there_is_no_page_that_loads_from_the_internet(client: TestClient) -> None:
    """The schema is there, its usual viewer is not."""
    assert client.get("/docs").status_code == 404
    assert client.get("/redoc").status_code == 404
    assert client.get("/openapi.json").json()["openapi"].startswith("3.")


@pytest.mark.thorough
def test_an_overlarge_upload_is_refused(tmp_path: Path) -> None:
    """The limit holds whether or not the length is told beforehand."""
    app = create_app(Settings(folder=tmp_path, upload_bytes=1000))
    with TestClient(app, base_url="http://127.0.0.1") as client:
        assert client.post("/api/preview/plan", content=b"x" * 2000).status_code == 413
        in_parts = client.post("/api/projects", content=iter([b"x" * 600, b"x" * 600]))
        assert in_parts.status_code == 413


@pytest.fixture
def lan(tmp_path: Path) -> TestClient:
    """The app as another device in the network sees it."""
    settings = Settings(folder=tmp_path, lan=True, invitation="first", hosts=("10.1.2.3",))
    app = create_app(settings)
    return TestClient(
        app, base_url="http://10.1.2.3", client=("10.1.2.9", 50000), follow_redirects=False
    )


def test_an_unknown_device_is_not_let_in(lan: TestClient) -> None:
    """Without the address nothing of the app is seen."""
    assert lan.get("/api/projects").status_code == 403
    assert lan.get("/").status_code == 403


def test_a_token_works_once(lan: TestClient) -> None:
    """The first device that shows it is let in; a second is not."""
    entered = lan.get("/?token=first")
    assert entered.status_code == 303
    assert "HttpOnly" in entered.headers["set-cookie"]
    assert "SameSite=Strict" in entered.headers["set-cookie"]
    assert lan.get("/api/projects").status_code == 200
    lan.cookies.clear()
    assert lan.get("/?token=first").status_code == 403
    assert lan.get("/api/projects").status_code == 403


def test_a_device_that_is_in_can_invite_another(lan: TestClient) -> None:
    """Each invitation is a new address."""
    lan.get("/?token=first")
    addresses = lan.post("/api/invitation").json()["addresses"]
    lan.cookies.clear()
    assert lan.get(addresses[0].removeprefix("http://10.1.2.3:8650")).status_code == 303


def test_without_the_flag_nobody_is_invited(client: TestClient) -> None:
    """Loopback only is the default."""
    assert client.post("/api/invitation").status_code == 409


def _here(tmp_path: Path) -> TestClient:
    memory = tmp_path / "own" / "devices.json"
    settings = Settings(folder=tmp_path, token="printed", own_process=False, memory=memory)
    app, here = create_app(settings), ("127.0.0.1", 50000)
    return TestClient(app, base_url="http://127.0.0.1", client=here, follow_redirects=False)


def test_on_this_computer_too_only_who_has_the_address_gets_in(tmp_path: Path) -> None:
    """Another user of the same computer sees nothing; the printed address works again and again."""
    client = _here(tmp_path)
    assert client.get("/api/health").status_code == 200
    for path in ("/", "/app.js", "/api/projects", "/openapi.json"):
        assert client.get(path).status_code == 403
    assert client.get("/?token=guessed").status_code == 403
    assert client.get("/?token=%C3%A9").status_code == 403
    for _ in range(2):
        client.cookies.clear()
        assert client.get("/?token=printed").status_code == 303
        assert client.get("/api/projects").status_code == 200
    assert len(client.get("/api/devices").json()["devices"]) == 2


def test_the_printed_address_lets_in_no_other_device(tmp_path: Path) -> None:
    """Whoever reads it off the screen still needs an invitation."""
    settings = Settings(folder=tmp_path, lan=True, token="printed", hosts=("10.1.2.3",))
    other = TestClient(create_app(settings), base_url="http://10.1.2.3", client=("10.1.2.9", 50000))
    assert other.get("/?token=printed").status_code == 403


def test_devices_are_named_listed_revoked_and_known_after_a_restart(tmp_path: Path) -> None:
    """Only a fingerprint of the key is kept, in a file of the user's own."""
    client = _here(tmp_path)
    client.get("/?token=printed")
    client.put("/api/devices/this", json={"who": "Ada Marsh"})
    again = _here(tmp_path)
    again.cookies = client.cookies
    device = again.get("/api/devices").json()["devices"][0]
    assert (device["name"], device["this"]) == ("Ada Marsh", True)
    kept = tmp_path / "own" / "devices.json"
    assert not any(cookie.value in kept.read_text() for cookie in client.cookies.jar)
    assert kept.stat().st_mode & 0o077 == 0
    assert again.delete(f"/api/devices/{device['id']}").status_code == 200
    assert again.get("/api/projects").status_code == 403
