"""The errors of the library as answers a page can show."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI, Request
from fastapi.encoders import jsonable_encoder
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException

from moisturemap.errors import (
    Cancelled,
    InputError,
    MissingExtra,
    MoistureMapError,
    NotEnoughData,
    StoreError,
)
from moisturemap.web.work.lane import WorkEnded

STATUS: dict[type[MoistureMapError], int] = {
    NotEnoughData: 422,
    InputError: 422,
    MissingExtra: 501,
    StoreError: 409,
    Cancelled: 409,
}


class Stopped(MoistureMapError):
    """Somebody stopped the computation."""


class NotThere(MoistureMapError):
    """No such job, reading or hole."""


class Changed(MoistureMapError):
    """Someone else changed it meanwhile."""


def answer(status: int, message: str, **more: Any) -> JSONResponse:
    """Return a refusal as JSON: ``message`` in words, and where it stands when that is known."""
    known = {key: value for key, value in more.items() if value is not None}
    return JSONResponse({"message": message, **known}, status_code=status)


def translate(app: FastAPI) -> None:
    """Make an app answer with words wherever the library raises."""

    @app.exception_handler(MoistureMapError)
    async def refused(request: Request, error: MoistureMapError) -> JSONResponse:
        if isinstance(error, NotThere):
            return answer(404, str(error))
        if isinstance(error, (Changed, Stopped)):
            return answer(409, str(error))
        if isinstance(error, WorkEnded):
            return answer(507, str(error))
        status = next((code for kind, code in STATUS.items() if isinstance(error, kind)), 422)
        if isinstance(error, InputError):
            value = None if error.value is None else str(error.value)
            return answer(
                status,
                str(error),
                source=error.source,
                place=error.place,
                value=value,
                allowed=error.allowed,
            )
        return answer(status, str(error))

    @app.exception_handler(RequestValidationError)
    async def malformed(request: Request, error: RequestValidationError) -> JSONResponse:
        parts = [f"{'.'.join(str(x) for x in one['loc'])}: {one['msg']}" for one in error.errors()]
        fields = [{"loc": list(one["loc"]), "msg": one["msg"]} for one in error.errors()]
        return answer(422, "; ".join(parts[:3]), fields=jsonable_encoder(fields))

    @app.exception_handler(Exception)
    async def unforeseen(request: Request, error: Exception) -> JSONResponse:
        # The server logs the error itself; the page must still learn that nothing came of it.
        return answer(500, f"the program met something unforeseen ({type(error).__name__})")

    @app.exception_handler(HTTPException)
    async def plain(request: Request, error: HTTPException) -> JSONResponse:
        response = answer(error.status_code, str(error.detail))
        response.headers.update(error.headers or {})
        return response
