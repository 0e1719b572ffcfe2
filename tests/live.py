"""The application behind a real socket, for real browsers."""

import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Thread

import uvicorn
from fastapi import FastAPI


@contextmanager
def served(app: FastAPI, port: int = 0) -> Iterator[str]:
    """Serve an application on loopback, on a free port unless one is named; its address."""
    listening = socket.create_server(("127.0.0.1", port))
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
