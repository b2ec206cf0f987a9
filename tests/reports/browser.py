"""A headless Chromium spoken to over a pipe: how a page looks and what it complains of, with no driver to install."""

import base64
import json
import os
import select
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
    "--remote-debugging-pipe",
)
# Chromium reads commands from descriptor 3 and writes to 4: ours are put there just before it starts.
START = """
import fcntl, os, sys
ends = [fcntl.fcntl(int(end), fcntl.F_DUPFD, 10) for end in sys.argv[1:3]]
for end, place in zip(ends, (3, 4)):
    os.dup2(end, place)
os.execv(sys.argv[3], sys.argv[3:])
"""
PATIENCE = 60.0  # seconds to wait for any one answer before the test fails


class Browser:
    """One Chromium process with a profile of its own. Use as a context; `complaints` fills while pages load."""

    def __init__(self, chromium: str, profile: Path):
        self.complaints: list[str] = []
        self._loaded = False
        self._number = 0
        self._session: str | None = None
        self._rest = b""
        to_read, self._write = os.pipe()
        self._read, to_write = os.pipe()
        self._process = subprocess.Popen(
            [sys.executable, "-c", START, str(to_read), str(to_write), chromium, *FLAGS, f"--user-data-dir={profile}"],
            pass_fds=(to_read, to_write),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(to_write)

    def __enter__(self) -> "Browser":
        try:
            self._attach()
        except BaseException:
            self.__exit__()
            raise
        return self

    def _attach(self) -> None:
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Log", "Runtime", "Network"):
            self.ask(f"{domain}.enable")

    def __exit__(self, *_failure: object) -> None:
        self._process.terminate()
        self._process.wait(PATIENCE)
        os.close(self._write)
        os.close(self._read)

    def open(self, page: Path, width: int, height: int = 900, scheme: str = "light", anchor: str = "") -> None:
        """Load a file at this width in this colour scheme, and wait until it stands."""
        self.ask(
            "Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=width < 600
        )
        self.media(scheme)
        self._loaded = False
        self.ask("Page.navigate", url=page.as_uri() + anchor)
        while not self._loaded:
            self._take()

    def media(self, scheme: str, medium: str = "") -> None:
        """Show the page in this colour scheme, on screen or as printed."""
        self.ask(
            "Emulation.setEmulatedMedia", media=medium, features=[{"name": "prefers-color-scheme", "value": scheme}]
        )

    def find(self, expression: str) -> Any:
        """The value of a JavaScript expression, evaluated from outside: the page itself may run none."""
        answer = self.ask("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in answer, answer["exceptionDetails"]
        return answer["result"].get("value")

    def picture(self, file: Path) -> None:
        """Save the whole page as a PNG."""
        size = self.ask("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": size["height"], "scale": 1}
        answer = self.ask("Page.captureScreenshot", captureBeyondViewport=True, clip=clip)
        file.write_bytes(base64.b64decode(answer["data"]))

    def print(self, file: Path) -> None:
        """Save the page as printed on A4."""
        answer = self.ask("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
        file.write_bytes(base64.b64decode(answer["data"]))

    def ask(self, method: str, **parameters: Any) -> dict:
        """Send one command of the DevTools protocol and wait for its answer."""
        self._number += 1
        message: dict = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._take()
            if answer.get("id") == self._number:
                assert "error" not in answer, answer["error"]
                return answer["result"]

    def _take(self) -> dict:
        """The next message; events are noted as they pass."""
        deadline = time.monotonic() + PATIENCE
        while b"\0" not in self._rest:
            ready, _, _ = select.select([self._read], [], [], max(0, deadline - time.monotonic()))
            assert ready, "Chromium did not answer"
            part = os.read(self._read, 1 << 20)
            assert part, "Chromium ended"
            self._rest += part
        text, _, self._rest = self._rest.partition(b"\0")
        message = json.loads(text)
        self._note(message)
        return message

    def _note(self, message: dict) -> None:
        parameters = message.get("params", {})
        match message.get("method"):
            case "Page.loadEventFired":
                self._loaded = True
            case "Log.entryAdded":
                self.complaints.append(parameters["entry"]["text"])
            case "Runtime.consoleAPICalled" | "Runtime.exceptionThrown":
                self.complaints.append(json.dumps(parameters)[:300])
            case "Network.requestWillBeSent" if not parameters["request"]["url"].startswith(("file:", "data:")):
                self.complaints.append(f"asked for {parameters['request']['url']}")
