"""The program in a process of its own: standard input and output, progress, exit codes, Ctrl-C."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time

import pytest
from commanding import PLAIN, QUICK, environment, run, write_site

import underturf as ut

posix = pytest.mark.skipif(os.name != "posix", reason="signals and terminals of POSIX")


@pytest.fixture(scope="module")
def site():
    return ut.Site.from_dict(PLAIN)


def test_a_document_is_read_from_standard_input_whether_toml_or_json(site):
    by_toml, by_json = (
        run("assess", "-", "--json", *QUICK, input=text.encode()) for text in (site.to_toml(), site.to_json())
    )
    assert (by_toml.returncode, by_json.returncode) == (0, 0)
    assert by_toml.stdout == by_json.stdout
    assert by_toml.stderr == b""
    marked = run("check", "-", input=b"\xef\xbb\xbf" + site.to_toml().encode())
    assert marked.returncode == 0


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"", "standard input is empty"),
        (b"units = \xff", "standard input is not UTF-8 text: invalid start byte at byte 8"),
        (b'{"format": ', "JSON"),
        (b"format = ", "TOML"),
        (b'units = "m"', "format"),
    ],
)
def test_what_is_no_document_is_refused(text, said):
    found = run("check", "-", input=text)
    assert found.returncode == 1
    assert said in found.stderr.decode()
    assert b"Traceback" not in found.stderr
    assert found.stdout == b""


def test_standard_output_holds_the_file_and_nothing_else(tmp_path, site):
    path = write_site(tmp_path)
    sheet = run("sheet", path, "-o", "-", "--as", "pdf", *QUICK)
    assert sheet.returncode == 0
    assert sheet.stdout.startswith(b"%PDF")
    assert sheet.stdout.rstrip().endswith(b"%%EOF")
    table = run("rank", path, "-o", "-", *QUICK)
    assert table.stdout.startswith(b"# underturf-ranking/1")
    assert b"Traceback" not in table.stderr


def test_a_document_goes_through_a_pipe(site):
    added = run(
        "add-probe",
        "-",
        "--at",
        "6",
        "4",
        "--radius",
        "0.25",
        "--depth",
        "45cm",
        "--clear",
        input=site.to_json().encode(),
    )
    assert added.returncode == 0
    later = ut.Site.from_toml(added.stdout.decode())
    assert later == site.with_probe(6.0, 4.0, 0.25, "45cm", found=False)
    assert run("check", "-", input=added.stdout).returncode == 0


def test_a_refusal_is_a_json_object_where_one_is_asked_for(tmp_path):
    path = tmp_path / "site.json"
    path.write_text(json.dumps({**PLAIN, "boundary": [[0, 0]], "units": "yards"}), encoding="utf-8")
    found = run("assess", path, "--json", text=True)
    assert found.returncode == 1
    told = json.loads(found.stdout)["error"]
    assert (told["kind"], told["exit_code"]) == ("SiteError", 1)
    assert {fault["place"] for fault in told["faults"]} >= {"units"}
    assert told["message"].strip() == found.stderr.strip()


def test_wrong_usage_has_its_own_exit_code(tmp_path):
    assert run("asess", "site.toml").returncode == 2
    assert run("assess", "site.toml", "--drwas", "3").returncode == 2
    assert run("assess", tmp_path / "none.toml").returncode == 1


def test_no_bar_where_nobody_watches(tmp_path):
    found = run("assess", write_site(tmp_path), *QUICK)
    assert found.stderr == b""


@posix
def test_a_bar_is_drawn_on_a_terminal_and_on_standard_error_alone(tmp_path):
    import pty
    import termios

    reader, terminal = pty.openpty()
    termios.tcsetwinsize(terminal, (24, 80))
    at_once = "import sys, underturf._progress as p\np.DELAY_S = 0\n"
    at_once += "from underturf.__main__ import main\nsys.exit(main(sys.argv[1:]))"
    words = ["assess", str(write_site(tmp_path)), "--draws", "20000", "--threads", "1", "--json"]
    process = subprocess.Popen(
        [sys.executable, "-c", at_once, *words], stdout=subprocess.PIPE, stderr=terminal, env=environment()
    )
    os.close(terminal)
    shown = b""
    try:
        while part := os.read(reader, 4096):
            shown += part
    except OSError:
        pass  # how Linux says that the other end is closed
    out = process.communicate(timeout=120)[0]
    os.close(reader)
    assert process.returncode == 0
    assert b"%|" in shown
    assert json.loads(out)["draws"] == 20000


@posix
@pytest.mark.parametrize(("kind", "said"), [("pdf", "pdf is no text for a terminal"), ("png", "png is no text")])
def test_what_is_no_text_does_not_go_to_a_terminal(tmp_path, kind, said):
    import pty

    reader, terminal = pty.openpty()
    words = ["sheet", str(write_site(tmp_path)), "-o", "-", "--as", kind, *QUICK]
    found = subprocess.run(
        [sys.executable, "-m", "underturf", *words],
        stdout=terminal,
        stderr=subprocess.PIPE,
        env=environment(),
        check=False,
    )
    os.close(terminal)
    os.close(reader)
    assert found.returncode == 1
    assert said in found.stderr.decode()


@posix
def test_ctrl_c_stops_soon_and_leaves_no_file(tmp_path):
    out = tmp_path / "rank.csv"
    words = [
        "rank",
        str(write_site(tmp_path)),
        "--draws",
        "600000",
        "--memory-limit-gb",
        "64",
        "--threads",
        "1",
        "-o",
        str(out),
    ]
    waiting = "import sys, underturf._sampling as s; from underturf import _core\n"
    waiting += "real = _core.sample_layouts\n"
    waiting += "def told(*a, **k):\n    print('sampling', flush=True)\n    return real(*a, **k)\n"
    waiting += "_core.sample_layouts = told\n"
    waiting += "from underturf.__main__ import main\nsys.exit(main(sys.argv[1:]))"
    process = subprocess.Popen(
        [sys.executable, "-c", waiting, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
        # What a shell starts in the background ignores Ctrl-C, and hands that down.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    assert process.stdout.readline() == b"sampling\n"
    time.sleep(0.5)
    assert process.poll() is None
    began = time.monotonic()
    process.send_signal(signal.SIGINT)
    out_said, err = process.communicate(timeout=60)
    took = time.monotonic() - began
    assert process.returncode == 130, err
    assert err.decode().strip().endswith("stopped")
    assert b"Traceback" not in err
    assert out_said == b""
    # Without the check it would be minutes; the engine's own test holds the second, here a process ends as well.
    assert took < 10.0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["site.json"]


@posix
def test_a_reader_that_goes_away_is_no_fault(tmp_path):
    process = subprocess.Popen(
        [sys.executable, "-m", "underturf", "settings"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment(),
    )
    process.stdout.close()
    with process:
        assert process.stderr.read() == b""
        assert process.wait(timeout=60) == 141


def test_a_file_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    from underturf.__main__ import main

    path = write_site(tmp_path, name="site.toml")
    before = path.read_bytes()

    def torn(self, path):
        path.write_text("half", encoding="utf-8")
        raise OSError("the disk is full")

    monkeypatch.setattr(ut.Site, "write", torn)
    assert main(["add-probe", str(path), "--at", "6", "4", "--radius", "0.2", "--depth", "0.4", "--clear"]) == 1
    assert path.read_bytes() == before
    assert [found.name for found in tmp_path.iterdir()] == ["site.toml"]
