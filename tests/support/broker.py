"""A real mosquitto on a loopback port of its own, and someone who listens to it."""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import signal
import socket
import subprocess
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

from aiomqtt import Client

PROGRAM = shutil.which("mosquitto") or shutil.which("mosquitto", path="/usr/sbin:/usr/local/sbin")
WITHIN_S = 5.0


def free_port() -> int:
    """Give a loopback port that nobody listens on."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        return int(taken.getsockname()[1])


class Mosquitto:
    """A broker that can be killed and come back on its port; stopped in order it keeps its sessions.

    Args:
        folder: for its configuration.
        passwords: user and password that it asks for; None lets everyone in.
    """

    def __init__(self, folder: Path, passwords: tuple[str, str] | None = None) -> None:
        assert PROGRAM is not None, "no mosquitto"
        self.port = free_port()
        self._config = folder / "mosquitto.conf"
        lines = [
            f"listener {self.port} 127.0.0.1",
            "persistence true",
            f"persistence_location {folder}/",
            "log_dest stderr",
            "log_type information",
        ]
        if os.geteuid() == 0:
            lines.append("user root")
        if passwords is None:
            lines.append("allow_anonymous true")
        else:
            kept = folder / "passwords"
            kept.write_text(":".join(passwords) + "\n")
            kept.chmod(0o600)
            subprocess.run(["mosquitto_passwd", "-U", str(kept)], check=True, capture_output=True)
            lines += ["allow_anonymous false", f"password_file {kept}"]
        self._config.write_text("\n".join(lines) + "\n")
        self._process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Start it; returns when it listens."""
        process = subprocess.Popen(
            [str(PROGRAM), "-c", str(self._config)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        self._process = process
        assert process.stdout is not None
        said = []
        for line in process.stdout:
            said.append(line)
            if line.rstrip().endswith("running"):
                return
        self.stop()
        raise AssertionError(f"mosquitto did not start: {''.join(said)}")

    def stop(self, by: signal.Signals = signal.SIGTERM) -> None:
        """End it, by a signal."""
        process, self._process = self._process, None
        if process is not None:
            process.send_signal(by)
            process.wait(10)
            assert process.stdout is not None
            process.stdout.close()


class Listener:
    """What came under a topic, in order: (topic, content, retained)."""

    def __init__(self, client: Client) -> None:
        self._client = client

    async def next(self, topic: str | tuple[str, ...], within_s: float = WITHIN_S) -> Any:
        """Give the content of the next message whose topic ends so; TimeoutError after a while."""
        async with asyncio.timeout(within_s):
            async for message in self._client.messages:
                if str(message.topic).endswith(topic):
                    return json.loads(bytes(message.payload))  # type: ignore[arg-type]
        raise AssertionError("the broker has gone")


@asynccontextmanager
async def listening(port: int, topic: str = "#", **more: Any) -> AsyncIterator[Listener]:
    """Listen to a broker."""
    async with Client("127.0.0.1", port, **more) as client:
        await client.subscribe(topic, qos=1)
        yield Listener(client)
