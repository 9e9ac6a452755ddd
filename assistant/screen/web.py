"""The glance page: read-only, on loopback unless asked, live by server-sent events.

Runs in its own thread beside the job; the job hands it views and never waits for it.
"""

from __future__ import annotations

import asyncio
import hmac
import json
import secrets
import threading
from pathlib import Path
from typing import Any

import tornado.httpserver
import tornado.iostream
import tornado.netutil
import tornado.web

from assistant.errors import HosesideError

PAGE = Path(__file__).with_name("page.html")
LOOPBACK = ("127.0.0.1", "::1", "localhost")
KEEP_ALIVE = 10.0


class GlanceServer:
    """Serves the page at `url`. `token` is wanted of everyone when it is open to the network."""

    def __init__(self, host: str = "127.0.0.1", port: int = 0) -> None:
        self.token = "" if host in LOOPBACK else secrets.token_urlsafe(12)
        self._view: dict[str, Any] = {}
        self._seq = 0
        self._changed = threading.Event()
        self._listeners: set[asyncio.Event] = set()
        try:
            self._sockets = tornado.netutil.bind_sockets(port, host)
        except OSError as error:
            raise HosesideError(f"The page cannot be served at {host}:{port} ({error.strerror}); "
                                "name another address with --page.") from None
        shown = f"[{host}]" if ":" in host else host
        port = self._sockets[0].getsockname()[1]
        self.url = f"http://{shown}:{port}/" + (f"?token={self.token}" if self.token else "")
        self._loop = asyncio.new_event_loop()
        ready = threading.Event()
        self._thread = threading.Thread(target=self._serve, args=(ready,), daemon=True)
        self._thread.start()
        ready.wait(5)

    def _serve(self, ready: threading.Event) -> None:
        asyncio.set_event_loop(self._loop)
        application = tornado.web.Application(
            [(r"/", _Page, {"server": self}), (r"/events", _Events, {"server": self})],
            log_function=lambda _handler: None)
        server = tornado.httpserver.HTTPServer(application)
        server.add_sockets(self._sockets)
        self._server = server
        self._loop.call_soon(ready.set)
        self._loop.run_forever()
        self._loop.close()

    def show(self, view: dict[str, Any]) -> None:
        """Take a new view; everyone who looks gets it at once."""
        self._seq += 1
        self._view = {**view, "seq": self._seq}
        self._loop.call_soon_threadsafe(self._wake)

    def _wake(self) -> None:
        for listener in self._listeners:
            listener.set()

    def close(self) -> None:
        """Stop serving."""
        if self._thread.is_alive():
            asyncio.run_coroutine_threadsafe(self._stop(), self._loop)
            self._thread.join(5)

    async def _stop(self) -> None:
        self._server.stop()
        await self._server.close_all_connections()
        for task in asyncio.all_tasks() - {asyncio.current_task()}:
            task.cancel()
        self._loop.call_soon(self._loop.stop)


class _Guarded(tornado.web.RequestHandler):
    """Reads only; wants the token where there is one."""

    def initialize(self, server: GlanceServer) -> None:
        self.server = server

    def prepare(self) -> None:
        self.set_header("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; "
                        "script-src 'unsafe-inline'; connect-src 'self'")
        self.set_header("Cache-Control", "no-store")
        given = self.get_query_argument("token", "")
        if self.server.token and not hmac.compare_digest(given, self.server.token):
            self.set_status(403)
            self.finish("The address needs the token that Hoseside printed.")

    def data_received(self, chunk: bytes) -> None:
        """No uploads."""


class _Page(_Guarded):
    def get(self) -> None:
        self.set_header("Content-Type", "text/html; charset=utf-8")
        self.finish(PAGE.read_text(encoding="utf-8"))


class _Events(_Guarded):
    async def get(self) -> None:
        self.set_header("Content-Type", "text/event-stream")
        mine = asyncio.Event()
        mine.set()
        self.server._listeners.add(mine)
        try:
            while True:
                if mine.is_set():
                    mine.clear()
                    if self.server._view:
                        self.write(f"data: {json.dumps(self.server._view)}\n\n")
                else:
                    self.write(": still here\n\n")
                await self.flush()
                try:
                    await asyncio.wait_for(mine.wait(), KEEP_ALIVE)
                except TimeoutError:
                    continue
        except (tornado.iostream.StreamClosedError, asyncio.CancelledError):
            self._finished = True  # nobody is left to answer
        finally:
            self.server._listeners.discard(mine)
