"""A receiver: a real server of the standard library that keeps what it was sent and answers as it is told."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any


class Receiver:
    """`posts`: path, headers by small name and body of each; `answers`: the statuses to come, then 204."""

    def __init__(self) -> None:
        self.posts: list[tuple[str, dict[str, str], bytes]] = []
        self.answers: list[int] = []
        self.location = ""
        self.port = 0

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}/told?by=rehome"


@contextmanager
def receiving(context: Any = None) -> Iterator[Receiver]:
    """Listens on this machine; by TLS where there is a context for it."""
    receiver = Receiver()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            receiver.posts.append((self.path, {k.lower(): v for k, v in self.headers.items()}, body))
            self.send_response(receiver.answers.pop(0) if receiver.answers else 204)
            if receiver.location:
                self.send_header("Location", receiver.location)
            self.end_headers()

        def log_message(self, format: str, *args: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.handle_error = lambda *_: None  # type: ignore[method-assign]  a client that breaks off is no news
    if context is not None:
        server.socket = context.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=False)
    receiver.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True)
    thread.start()
    try:
        yield receiver
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
