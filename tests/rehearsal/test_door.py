"""Who is let in: RFC 6265bis cookies, Host and Origin against rebinding and cross-site posts."""

import pytest
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse
from starlette.routing import Route, WebSocketRoute
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from keyer.rehearsal.door import Door

PORT = 4711
HOME = f"http://127.0.0.1:{PORT}"


async def inside(request):
    return PlainTextResponse("inside", headers={"cache-control": "public"})


async def talk(websocket):
    await websocket.accept()
    await websocket.send_text("inside")
    await websocket.close()


@pytest.fixture
def door():
    app = Starlette(
        routes=[
            Route("/", inside),
            Route("/put", inside, methods=["POST"]),
            WebSocketRoute("/live", talk),
        ]
    )
    return Door(app, PORT)


@pytest.fixture
def stranger(door):
    return TestClient(door, base_url=HOME, follow_redirects=False)


@pytest.fixture
def guest(door, stranger):
    answer = stranger.get(f"/?key={door.token}")
    assert answer.status_code == 303
    return stranger


def test_the_token_is_exchanged_for_a_cookie_that_scripts_cannot_read(door, stranger):
    answer = stranger.get(f"/?key={door.token}")
    cookie = answer.headers["set-cookie"].lower()
    assert answer.headers["location"] == "/"
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert door.token not in cookie


def test_who_has_the_cookie_is_let_in(guest):
    answer = guest.get("/")
    assert answer.text == "inside"
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert answer.headers["cache-control"] == "no-store"


@pytest.mark.parametrize("query", ["", "?key=", "?key=wrong", "?key=%ff"])
def test_no_token_or_a_wrong_one_is_refused(stranger, query):
    answer = stranger.get(f"/{query}")
    assert answer.status_code == 403
    assert "inside" not in answer.text


def test_the_token_opens_the_first_page_alone(door, stranger):
    assert stranger.post(f"/put?key={door.token}", headers={"origin": HOME}).status_code == 403


@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:80", ""]
)
def test_another_host_is_refused_cookie_or_not(guest, host):
    assert guest.get("/", headers={"host": host}).status_code == 403


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:80"])
def test_another_origin_is_refused_cookie_or_not(guest, origin):
    assert guest.get("/", headers={"origin": origin}).status_code == 403
    assert guest.post("/put", headers={"origin": origin}).status_code == 403


def test_a_post_says_its_origin(guest):
    assert guest.post("/put").status_code == 403
    assert guest.post("/put", headers={"origin": HOME}).status_code == 200


@pytest.mark.parametrize("origin", [None, "http://evil.example"])
def test_a_socket_from_elsewhere_is_refused(guest, origin):
    headers = {"origin": origin} if origin else {}
    with (
        pytest.raises(WebSocketDisconnect),
        guest.websocket_connect(f"ws://127.0.0.1:{PORT}/live", headers=headers),
    ):
        pass


def test_a_socket_of_ours_is_let_in(guest):
    headers = {"origin": HOME}
    with guest.websocket_connect(f"ws://127.0.0.1:{PORT}/live", headers=headers) as socket:
        assert socket.receive_text() == "inside"


def test_a_wrong_cookie_is_refused(stranger, door):
    stranger.cookies.set(door.cookie, "x" * 43, domain="127.0.0.1")
    assert stranger.get("/").status_code == 403
