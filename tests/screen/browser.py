"""A headless Chromium driven over its own debugging socket: run a script, take a picture."""

from __future__ import annotations

import base64
import json
import re
import subprocess
from pathlib import Path

import tornado.ioloop
from tornado.websocket import websocket_connect


class Browser:
    """One page in a headless Chromium."""

    def __init__(self, url: str, home: Path, size: str = "1280,720") -> None:
        self._process = subprocess.Popen(
            ["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--window-size={size}",
             "--remote-debugging-port=0", "--remote-allow-origins=*",
             "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
             f"--user-data-dir={home}", url],
            stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
        address = ""
        for line in self._process.stderr:
            if found := re.search(r"ws://(127\.0\.0\.1:\d+)/", line):
                address = found[1]
                break
        self._loop = tornado.ioloop.IOLoop(make_current=False)
        self._number = 0
        self._socket = self._loop.run_sync(lambda: self._connect(address))

    async def _connect(self, address: str):
        from tornado.httpclient import AsyncHTTPClient

        pages = json.loads((await AsyncHTTPClient().fetch(f"http://{address}/json")).body)
        page = next(p for p in pages if p["type"] == "page")
        return await websocket_connect(page["webSocketDebuggerUrl"], max_message_size=50_000_000)

    async def _call(self, method: str, **parameters):
        self._number += 1
        await self._socket.write_message(json.dumps(
            {"id": self._number, "method": method, "params": parameters}))
        while True:
            answer = json.loads(await self._socket.read_message())
            if answer.get("id") == self._number:
                return answer["result"]

    def run(self, script: str):
        """The value of a script in the page; promises are waited for."""
        found = self._loop.run_sync(lambda: self._call(
            "Runtime.evaluate", expression=script, awaitPromise=True, returnByValue=True))
        return found["result"].get("value")

    def picture(self, file: Path) -> None:
        """A PNG of what is seen."""
        found = self._loop.run_sync(lambda: self._call("Page.captureScreenshot"))
        file.write_bytes(base64.b64decode(found["data"]))

    def close(self) -> None:
        """End it."""
        self._process.terminate()
        self._process.wait(timeout=10)
