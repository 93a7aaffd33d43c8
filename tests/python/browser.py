"""A headless browser for the tests of pages: it opens files, taps, takes pictures, prints, and tells what a page asked for.

Chromium is driven over a pipe in the protocol of its developer tools, so that no package and no port is needed.
"""

from __future__ import annotations

import base64
import itertools
import json
import os
import select
import shutil
import subprocess
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

PHONE, DESK = (390, 844), (1280, 800)

#: Names of the program on the machines that tests run on.
PROGRAMS = ("chromium", "chromium-browser", "google-chrome")

#: Longest wait for an answer of the browser, seconds.
PATIENCE_S = 60.0


def program():
    """Return the browser, or skip: `.ci/browser` installs it."""
    found = next(filter(None, map(shutil.which, PROGRAMS)), None)
    if found is None:
        pytest.skip("no chromium on this machine; .ci/browser installs it")
    return found


class Browser:
    """A running browser with one page."""

    def __init__(self, into, out):
        self._into, self._out, self._rest, self._numbers = into, out, b"", itertools.count(1)
        self.events = []
        target = self("Target.createTarget", url="about:blank")["targetId"]
        self._session = self("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for name in ("Page", "Runtime", "Network", "Log"):
            self(f"{name}.enable")

    _session = None

    def __call__(self, method, **parameters):
        """Send a command and return its answer; what happens meanwhile is kept in ``events``."""
        number = next(self._numbers)
        message = {"id": number, "method": method, "params": parameters}
        if self._session and not method.startswith("Target."):
            message["sessionId"] = self._session
        os.write(self._into, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._read()
            if answer.get("id") == number:
                assert "error" not in answer, f"{method}: {answer['error']}"
                return answer["result"]
            self.events.append(answer)

    def _read(self):
        until = time.monotonic() + PATIENCE_S
        while b"\0" not in self._rest:
            assert select.select([self._out], [], [], max(until - time.monotonic(), 0))[0], "the browser is silent"
            self._rest += os.read(self._out, 1 << 20)
        text, _, self._rest = self._rest.partition(b"\0")
        return json.loads(text)

    def look(self, size, *, dark=False, grey=False, touch=False):
        """Choose the size of the screen, its colours, and whether it is touched."""
        self("Emulation.setDeviceMetricsOverride", width=size[0], height=size[1], deviceScaleFactor=1, mobile=touch)
        self("Emulation.setTouchEmulationEnabled", enabled=touch)
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self("Emulation.setEmulatedMedia", features=[scheme])
        self("Emulation.setEmulatedVisionDeficiency", type="achromatopsia" if grey else "none")

    def open(self, path, link=""):
        """Open a file, wait until it is loaded and drawn, and forget what happened before."""
        self("Page.navigate", url="about:blank")
        self.events.clear()
        self("Page.navigate", url=f"{Path(path).resolve().as_uri()}{link}")
        until = time.monotonic() + PATIENCE_S
        while self.run("document.readyState") != "complete" or self.run("location.href") == "about:blank":
            assert time.monotonic() < until, f"{path} does not load"
            time.sleep(0.05)
        self.run("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")

    def run(self, script):
        """Run a script in the page and return its value."""
        answer = self("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def text(self, selector):
        """Return the words of an element as they are shown."""
        return self.run(f"document.querySelector({json.dumps(selector)})?.innerText ?? null")

    def tap(self, x, y):
        """Touch a place of the screen, or click where it is not touched."""
        if self.run("navigator.maxTouchPoints > 0"):
            self("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": x, "y": y}])
            self("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])
        else:
            for kind in ("mousePressed", "mouseReleased"):
                self("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)
        self.run("new Promise((done) => setTimeout(done, 350))")

    def picture(self, path=None):
        """Return a picture of the page as PNG, and write it where a path is given."""
        png = base64.b64decode(self("Page.captureScreenshot", format="png")["data"])
        if path is not None:
            Path(path).write_bytes(png)
        return png

    def printed(self):
        """Return the page as it is printed, as PDF, on the paper that it asks for."""
        how = {"preferCSSPageSize": True, "printBackground": True}
        return base64.b64decode(self("Page.printToPDF", **how)["data"])

    @property
    def asked_for(self):
        """Addresses that the page asked for, but for the file itself."""
        sent = [e["params"]["request"]["url"] for e in self.events if e.get("method") == "Network.requestWillBeSent"]
        return [url for url in sent[1:] if not url.startswith("data:")]

    @property
    def complaints(self):
        """What the page threw, and what the browser logged as an error: broken policy among it."""
        thrown = [e["params"] for e in self.events if e.get("method") == "Runtime.exceptionThrown"]
        logged = [e["params"]["entry"] for e in self.events if e.get("method") == "Log.entryAdded"]
        return thrown + [entry for entry in logged if entry["level"] == "error"]


@contextmanager
def browsing():
    """Run a browser for a while."""
    found = program()
    (into_read, into), (out, out_write) = os.pipe(), os.pipe()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as home:
        flags = ["--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--remote-debugging-pipe"]
        quiet = ["--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"]
        pipes = f'exec "$@" 3<&{into_read} 4>&{out_write}'
        words = ["bash", "-c", pipes, "bash", found, *flags, *quiet, f"--user-data-dir={home}"]
        running = subprocess.Popen(
            words, pass_fds=(into_read, out_write), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        os.close(into_read)
        os.close(out_write)
        try:
            yield Browser(into, out)
        finally:
            running.terminate()
            running.wait(timeout=20)
            os.close(into)
            os.close(out)
