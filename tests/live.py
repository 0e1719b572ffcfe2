"""The application behind a real socket, for real browsers."""

import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Thread

import uvicorn
from fastapi import FastAPI


@contextmanager
def served(app: FastAPI) -> Iterator[str]:
    """Serve an application on a free port of loopback; its address, without a slash at the end."""
    listening = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(app, access_log=False, log_level="warning", lifespan="off", ws="none")
    server = uvicorn.Server(config)
    thread = Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        assert thread.is_alive(), "the server did not start"
        time.sleep(0.01)
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(10)
        listening.close()
