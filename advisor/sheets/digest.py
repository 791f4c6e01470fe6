"""One spelling for a sheet, and its digest: the same content gives the same digest, whatever its order."""

from __future__ import annotations

import hashlib
import json
from json.encoder import encode_basestring
from typing import Any

from pydantic import BaseModel


def canonical(value: object) -> str:
    """JSON in one spelling: keys sorted, no spaces, text as it is."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def dump(model: BaseModel) -> dict[str, Any]:
    """A sheet as plain JSON values, as it would be typed."""
    return model.model_dump(mode="json", by_alias=True, exclude_defaults=True)


def digest_of(model: BaseModel) -> str:
    """SHA-256 in hex of a case or an engine sheet, whose lists are sets: their order does not show."""
    return hashlib.sha256(_unordered(dump(model)).encode()).hexdigest()


def _unordered(value: Any) -> str:
    """Canonical JSON with the entries of every list sorted by their own canonical JSON."""
    if isinstance(value, str):
        return encode_basestring(value)
    if isinstance(value, dict):
        return (
            "{"
            + ",".join(f"{encode_basestring(key)}:{_unordered(value[key])}" for key in sorted(value))
            + "}"
        )
    if isinstance(value, list):
        return "[" + ",".join(sorted(map(_unordered, value))) + "]"
    return canonical(value)
