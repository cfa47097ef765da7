"""A real HTTP server on this machine that misbehaves in the ways real ones do.

Rule of this file: sockets and bytes, nothing pretended. Each request is noted.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


@dataclass
class Publisher:
    """What the server gives, and how.

    Fields:
        content: the archive
        breaks_after: how many bytes it sends of each of the next answers before
            it hangs up; a whole answer when the list is empty
        resumes: whether it knows byte ranges
        asked: the Range header of each request ("" for none)
    """

    content: bytes
    breaks_after: list[int] = field(default_factory=list)
    resumes: bool = True
    status: int = 200
    asked: list[str] = field(default_factory=list)
    url: str = ""


@contextmanager
def serving(publisher: Publisher) -> Iterator[Publisher]:
    """Serve until left; `publisher.url` says where."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked = self.headers.get("Range", "")
            publisher.asked.append(asked)
            content, begin = publisher.content, 0
            if publisher.status != 200:
                self.send_error(publisher.status)
                return
            if asked and publisher.resumes:
                begin = int(asked.removeprefix("bytes=").rstrip("-"))
                if begin >= len(content):
                    self.send_error(416)
                    return
                self.send_response(206)
                last = len(content) - 1
                self.send_header("Content-Range", f"bytes {begin}-{last}/{len(content)}")
            else:
                self.send_response(200)
            rest = content[begin:]
            self.send_header("Content-Length", str(len(rest)))
            self.end_headers()
            if publisher.breaks_after:
                rest = rest[: publisher.breaks_after.pop(0)]
                self.close_connection = True
            self.wfile.write(rest)

        def log_message(self, *args: object) -> None:
            """Quietly."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    publisher.url = f"http://127.0.0.1:{server.server_port}/model.zip"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.01})
    thread.start()
    try:
        yield publisher
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
