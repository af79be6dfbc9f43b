"""``serve``: where it listens, what it says, how it ends."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import socket
import subprocess
import sys

import pytest

from doors.doors import JSON, run
from showthrough import InputError
from showthrough.web.serve import bound_socket

SERVE = (sys.executable, "-m", "showthrough.cli", "serve")


@pytest.fixture
def started():
    """Start a service of its own, on a free port; it is ended afterwards."""
    processes = []

    def start(*options):
        process = subprocess.Popen(
            [*SERVE, "--port", "0", *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=os.environ,
        )
        processes.append(process)
        return process, process.stdout.readline()

    yield start
    for process in processes:
        if process.poll() is None:
            process.kill()
        process.communicate(timeout=20)


def test_one_line_says_where_to_open_it_and_it_answers_there_until_ctrl_c(started):
    process, line = started()
    found = re.search(r"http://(127\.0\.0\.1):(\d+)/", line)
    assert found, line
    assert int(found[2]) > 0
    job = {"topcoat": {"colour": "a3b84c"}, "surface": [{"colour": "6b4a2a"}]}
    connection = http.client.HTTPConnection("127.0.0.1", int(found[2]), timeout=20)
    connection.request("POST", "/api/predict", json.dumps(job), JSON)
    with connection.getresponse() as response:
        assert json.load(response)["coats"]["likely"] >= 1
    connection.close()
    # The port is in use now: the same command says so and how to go on.
    code, out, err = run("serve", "--port", found[2])
    assert (code, out) == (2, "")
    assert "cannot be used" in err
    assert "--port 0" in err
    process.send_signal(signal.SIGINT)
    phone = process.stdout.readline()
    assert phone == "For a phone in the same workshop: showthrough serve --host 0.0.0.0\n"
    out, err = process.communicate(timeout=20)
    assert (process.returncode, out, err) == (0, "", "")


def test_nobody_else_can_reach_it_unless_told_otherwise():
    with bound_socket("127.0.0.1", 0) as listener:
        assert listener.getsockname()[0] == "127.0.0.1"
    defaults = run("serve", "--help")[1]
    assert "loopback" in defaults


@pytest.mark.parametrize("port", [-1, 65536, 10**9])
def test_a_port_that_is_none_is_refused(port):
    with pytest.raises(InputError, match="between 0 and 65535"):
        bound_socket("127.0.0.1", port)


def test_a_port_in_use_is_refused_and_leaves_nothing_open():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(InputError, match="cannot be used"):
            bound_socket("127.0.0.1", other.getsockname()[1])


@pytest.mark.parametrize("host", ["192.0.2.1", "no host", "a" * 70])
def test_an_address_that_is_not_of_this_machine_is_refused(host):
    # 192.0.2.0/24 is kept for documentation (RFC 5737): no machine has it.
    with pytest.raises(InputError, match="cannot be used"):
        bound_socket(host, 0)
