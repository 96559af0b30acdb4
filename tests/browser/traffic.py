"""What a page and its kernel say to one another, read from the page's web sockets."""

import itertools
import json
from typing import Any

from playwright.sync_api import Page, WebSocket

# The front end asks a new kernel for widgets before any cell has imported them; the kernel remarks on that.
HARMLESS = ("No such comm target registered: jupyter.widget.control", "No such comm: ")


# What makes the kernel work: cells, and what widgets send when they are moved.
WORK = ("execute_request", "comm_open", "comm_msg")


class KernelTraffic:
    """Counts the cells sent to the kernel, knows what it still works on, keeps what it reports as errors."""

    def __init__(self, page: Page) -> None:
        self.cells_sent = 0
        self.errors: list[str] = []
        self._unfinished: set[str] = set()
        page.on("websocket", self._attach)

    @property
    def waiting(self) -> int:
        """How many messages the kernel has been sent and not yet dealt with."""
        return len(self._unfinished)

    def _attach(self, socket: WebSocket) -> None:
        if "/channels" in socket.url:
            socket.on("framesent", self._sent)
            socket.on("framereceived", self._received)

    def _sent(self, frame: bytes | str) -> None:
        header, _, _ = _read(frame)
        if header.get("msg_type") in WORK:
            self._unfinished.add(header["msg_id"])
            self.cells_sent += header["msg_type"] == "execute_request"

    def _received(self, frame: bytes | str) -> None:
        header, parent, content = _read(frame)
        match header.get("msg_type"):
            case "status" if content["execution_state"] == "idle":
                self._unfinished.discard(parent.get("msg_id", ""))
            case "error":
                self.errors.append("\n".join(content["traceback"]))
            case "stream" if content["name"] == "stderr":
                lines = content["text"].splitlines()
                self.errors += [line for line in lines if line and not line.startswith(HARMLESS)]


def _read(frame: bytes | str) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    """Header, parent header and content of a message in Jupyter's binary web socket form (version 1).

    It begins with the number of offsets and the offsets, 64 bits each, little end first; between them lie
    channel, header, parent header, metadata, content and buffers.
    """
    if isinstance(frame, str):
        return {}, {}, {}
    numbers = [int.from_bytes(frame[place : place + 8], "little") for place in range(0, 8 * 7, 8)]
    offsets = numbers[1:]
    parts = [frame[start:end] for start, end in itertools.pairwise(offsets)]
    _channel, header, parent, _metadata, content = parts[:5]
    return json.loads(header), json.loads(parent or b"{}"), json.loads(content)
