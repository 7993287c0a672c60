"""The port and the cookie that a sheet is served with, the same from run to run."""

import socket

import pytest

from keyer.errors import SettingError
from keyer.rehearsal.serve import free_socket, session_key, usual_port


def test_a_sheets_port_is_a_dynamic_one_and_stays(tmp_path):
    ports = {usual_port(tmp_path / f"{n}.toml") for n in range(50)}
    assert min(ports) >= 49152  # RFC 6335, section 6
    assert max(ports) <= 65535
    assert len(ports) > 45
    assert usual_port(tmp_path / "1.toml") == usual_port(tmp_path / "1.toml")


def test_a_port_that_is_taken_is_refused_if_it_was_asked_for():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(SettingError, match=f"port {port}"):
            free_socket(port)
        other = free_socket(0, port)
        assert other.getsockname()[1] != port
        other.close()


def test_the_cookie_rests_on_a_secret_of_the_user_alone(tmp_path, monkeypatch):
    monkeypatch.setenv("KEYER_CACHE_DIR", str(tmp_path))
    first = session_key(5000)
    assert first == session_key(5000) != session_key(5001)
    secret = next(tmp_path.rglob("rehearsal.secret"))
    assert secret.stat().st_mode & 0o777 == 0o600
    secret.chmod(0o644)
    assert session_key(5000) is None


def test_a_name_that_is_no_utf8_has_a_port_too(tmp_path):
    assert usual_port(tmp_path / "\udcff.toml") >= 49152
