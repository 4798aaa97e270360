"""Tables of a build file held against their models; what does not fit becomes a mistake."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from lugwright.buildfile.locate import KeyPath
from lugwright.buildfile.mistakes import Mistakes

_Model = TypeVar("_Model", bound=BaseModel)


def validated(
    raw: Any, path: KeyPath, model: type[_Model], who: str, mistakes: Mistakes, part: str = ""
) -> _Model | None:
    """Return the table as its model, or None with every mistake in it added."""
    if not isinstance(raw, dict):
        mistakes.add(
            "bad-value",
            path,
            part=part,
            what=f"{who} is not a table",
            found=repr(raw)[:60],
            wanted="a table of keys",
            do="write { key = value, ... }",
        )
        return None
    try:
        return model.model_validate(raw)
    except ValidationError as error:
        mistakes.add_validation(error, path, model, who, raw, part)
        return None


def table_of(data: Mapping[str, Any], key: str, mistakes: Mistakes) -> Mapping[str, Any]:
    """Return a section, empty when it is missing or no table."""
    raw = data.get(key, {})
    if isinstance(raw, dict):
        return raw
    mistakes.add(
        "bad-value",
        (key,),
        what=f"[{key}] is not a table",
        found=repr(raw)[:60],
        wanted=f"a section [{key}]",
        do=f"write it as [{key}]",
    )
    return {}
