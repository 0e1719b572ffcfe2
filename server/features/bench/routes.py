"""How a sum is asked by a script: JSON in and out, refused in the words of this program."""

from collections.abc import Callable, Coroutine
from typing import Any, get_type_hints

from fastapi import Request, Response
from fastapi.responses import JSONResponse
from fastapi.routing import APIRoute
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from server.errors import BadInput
from server.features.bench.page import Answer
from server.web.errors import bad_input_json
from server.web.json_body import LARGEST_BODY, read_json


class Fault(BaseModel):
    """One field that can't be used."""

    field: str = Field(description="Its name, such as bends[0].angle_deg; empty for the whole body")
    message: str = Field(description="What is wrong with it")
    accepts: str = Field(description="What would be accepted")


class Faults(BaseModel):
    """Why a sum was refused."""

    errors: list[Fault]


class SumRoute(APIRoute):
    """A sum for scripts. The body is read here, so that a refusal speaks in the words of this program."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        asks = get_type_hints(self.endpoint)["asked"]
        sparse = self.response_model_exclude_none

        async def handle(request: Request) -> Response:
            try:
                asked = read_json(await _body(request), asks)
                answer: Answer = await run_in_threadpool(self.endpoint, asked)
            except BadInput as refused:
                return bad_input_json(refused)
            return JSONResponse(answer.model_dump(mode="json", exclude_none=sparse))

        return handle


async def _body(request: Request) -> bytes:
    """The body, read no further than it takes to see that it is too large."""
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > LARGEST_BODY:
            break
    return bytes(body)
